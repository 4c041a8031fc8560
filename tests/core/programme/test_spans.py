"""Spans are joined only where one frame follows the other in record and source."""

from __future__ import annotations

from impactcut.core.programme.spans import Span, merged_spans
from impactcut.core.time.frames import FrameRange

DAY = 24 * 86_400


def span(record: int, source: int, frames: int, track: str = "V", reel: str = "A1") -> Span:
    return Span(
        track, FrameRange(record, record + frames), reel, FrameRange(source, source + frames)
    )


def frames_of(spans: tuple[Span, ...]) -> set[tuple[str, str, int, int]]:
    return {
        (each.track, each.reel, each.record.start + n, each.source.start + n)
        for each in spans
        for n in range(len(each.record))
    }


def test_joining_changes_no_frame() -> None:
    apart = (
        span(0, 100, 10), span(10, 110, 5), span(15, 117, 5), span(20, 121, 5),
        span(25, 126, 5, reel="B1"), span(30, 131, 5, "A1", "B1"), span(36, 137, 4, "A1", "B1"),
    )  # fmt: skip
    joined = merged_spans(apart, DAY)
    assert frames_of(joined) == frames_of(apart)
    assert len(joined) == len(apart) - 1


def test_a_source_that_runs_across_midnight_is_one() -> None:
    halves = (span(0, DAY - 5, 5), span(5, 0, 5))
    assert merged_spans(halves, DAY) == (span(0, DAY - 5, 10),)


def test_what_does_not_go_frame_by_frame_is_not_joined() -> None:
    fast = Span("V", FrameRange(0, 10), "A1", FrameRange(0, 20))
    assert merged_spans((fast, span(10, 20, 5)), DAY) == (fast, span(10, 20, 5))
