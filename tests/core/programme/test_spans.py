"""Spans are joined only where one frame follows the other in record and source."""

from __future__ import annotations

from dataclasses import replace

from impactcut.core.programme.spans import Span, merged_spans
from impactcut.core.time.frames import FrameRange

DAY = 24 * 86_400


def span(record: int, source: int, frames: int, track: str = "V", reel: str = "A1") -> Span:
    shown = FrameRange(record, record + frames)
    return Span(track, shown, reel, FrameRange(source, source + frames), DAY)


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


def test_a_source_that_counts_otherwise_than_the_programme_has_a_midnight_of_its_own() -> None:
    drop_day = 2_589_408  # of 29.97 drop-frame (SMPTE ST 12-1); 2 592 000 without
    halves = [replace(span(0, drop_day - 5, 5), source_day=drop_day), span(5, 0, 5)]
    whole = merged_spans(halves, 2_592_000)
    assert whole == (span(0, drop_day - 5, 10),)
    late = replace(span(0, drop_day, 5), source_day=drop_day)
    assert merged_spans([late], 2_592_000) == (span(0, 0, 5),)


def test_what_does_not_go_frame_by_frame_is_not_joined() -> None:
    fast = Span("V", FrameRange(0, 10), "A1", FrameRange(0, 20), DAY)
    assert merged_spans((fast, span(10, 20, 5)), DAY) == (fast, span(10, 20, 5))
