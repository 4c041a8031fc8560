"""What a programme shows, track by track, and what a change list makes of it.

Nothing here knows how a change list came about: this is the check that it says what was done.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from impactcut.core.change_list import Adjustment
from impactcut.core.frames import FrameRange
from impactcut.core.sequence import Piece, SequenceEvent


@dataclass(frozen=True, order=True)
class Span:
    """A run of one reel's frames on one track.

    ``source`` and ``record`` are of one length unless the source does not run at its own speed;
    such a span moves but is never cut.
    """

    track: str
    record: FrameRange
    reel: str
    source: FrameRange

    @property
    def rigid(self) -> bool:
        """Whether record and source frames do not go one by one."""
        return len(self.source) != len(self.record)


def spans_of_events(events: Iterable[SequenceEvent]) -> tuple[Span, ...]:
    """The spans of a programme as its list states it."""
    return tuple(
        Span(track, event.record, event.reel, event.source)
        for event in events
        for track in sorted(event.tracks)
        if event.record
    )


def spans_of_pieces(pieces: Iterable[Piece]) -> tuple[Span, ...]:
    """The spans of a programme that was recut."""
    return tuple(
        Span(track, piece.record, piece.event.reel, piece.source)
        for piece in pieces
        for track in sorted(piece.tracks)
        if piece.record
    )


def apply_changes(spans: Iterable[Span], adjustments: Sequence[Adjustment]) -> tuple[Span, ...]:
    """The new version, from the old one."""

    def done(spans: list[Span], change: Adjustment) -> list[Span]:
        if change.extends:
            return _with_frames(spans, change, change.record.start)
        return _without_frames(spans, change.record)

    return _each_track(spans, adjustments, done)


def undo_changes(spans: Iterable[Span], adjustments: Sequence[Adjustment]) -> tuple[Span, ...]:
    """The old version, from the new one."""

    def undone(spans: list[Span], change: Adjustment) -> list[Span]:
        at = change.new_record
        if change.extends:
            return _without_frames(spans, FrameRange(at, at + change.frames))
        return _with_frames(spans, change, at)

    return _each_track(spans, adjustments, undone)


def merged_spans(spans: Iterable[Span], day: int) -> tuple[Span, ...]:
    """The same frames in as few spans as they make, with times since midnight, in order."""
    joined: list[Span] = []
    for span in sorted(spans):
        last = joined[-1] if joined else None
        if last is not None and _runs_on(last, span, day):
            joined[-1] = replace(
                last,
                record=FrameRange(last.record.start, span.record.stop),
                source=FrameRange(last.source.start, last.source.stop + len(span.source)),
            )
        else:
            joined.append(span)
    return tuple(sorted(_since_midnight(span, day) for span in joined))


def _since_midnight(span: Span, day: int) -> Span:
    return replace(
        span,
        record=span.record.shifted(-(span.record.start // day) * day),
        source=span.source.shifted(-(span.source.start // day) * day),
    )


def _runs_on(first: Span, second: Span, day: int) -> bool:
    return (
        (first.track, first.reel) == (second.track, second.reel)
        and first.record.stop == second.record.start
        and (second.source.start - first.source.stop) % day == 0
        and not (first.rigid or second.rigid)
    )


def _each_track(
    spans: Iterable[Span],
    adjustments: Sequence[Adjustment],
    change: Callable[[list[Span], Adjustment], list[Span]],
) -> tuple[Span, ...]:
    """Carry out adjustments from the last to the first, so that earlier places still hold."""
    tracks: dict[str, list[Span]] = {}
    for span in spans:
        tracks.setdefault(span.track, []).append(span)
    for adjustment in reversed(adjustments):
        for track in adjustment.tracks & tracks.keys():
            tracks[track] = change(tracks[track], adjustment)
    return tuple(span for track in sorted(tracks) for span in tracks[track])


def _without_frames(spans: Iterable[Span], frames: FrameRange) -> list[Span]:
    result = []
    for span in spans:
        before, rest = _split(span, frames.start)
        _, after = (None, None) if rest is None else _split(rest, frames.stop)
        result += [before] if before is not None else []
        result += [_moved(after, -len(frames))] if after is not None else []
    return result


def _with_frames(spans: Iterable[Span], change: Adjustment, at: int) -> list[Span]:
    result = []
    track = ""
    for span in spans:
        track = span.track
        before, after = _split(span, at)
        result += [before] if before is not None else []
        result += [_moved(after, change.frames)] if after is not None else []
    if change.source is not None:
        record = FrameRange(at, at + change.frames)
        result.append(Span(track, record, change.reel, change.source))
    return result


def _split(span: Span, at: int) -> tuple[Span | None, Span | None]:
    """The parts of a span before and from a record frame on."""
    if span.record.stop <= at:
        return span, None
    if span.record.start >= at:
        return None, span
    if span.rigid:
        raise ValueError(f"{span.reel} at {span.record.start} does not run at its own speed")
    source_at = span.source.start + at - span.record.start
    return (
        replace(
            span,
            record=FrameRange(span.record.start, at),
            source=FrameRange(span.source.start, source_at),
        ),
        replace(
            span,
            record=FrameRange(at, span.record.stop),
            source=FrameRange(source_at, span.source.stop),
        ),
    )


def _moved(span: Span, frames: int) -> Span:
    return replace(span, record=span.record.shifted(frames))
