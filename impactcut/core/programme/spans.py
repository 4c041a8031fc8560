"""What a programme shows, track by track, and what a change list makes of it.

Nothing here knows how a change list came about: this is the check that it says what was done.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import accumulate, pairwise

from impactcut.core.grouping import grouped, in_runs
from impactcut.core.programme.change_list import Adjustment
from impactcut.core.programme.sequence import Piece, SequenceEvent
from impactcut.core.time.frames import FrameRange
from impactcut.errors import ListMismatchError


@dataclass(frozen=True, order=True)
class Span:
    """A run of one reel's frames on one track.

    ``source`` and ``record`` are of one length unless the source does not run at its own speed;
    such a span moves but is never cut. Where ``source`` is empty nobody knows what frames it
    takes; such a span can be cut. ``source_day`` is the count of source frames in 24 hours.
    """

    track: str
    record: FrameRange
    reel: str
    source: FrameRange
    source_day: int = field(compare=False)

    @property
    def rigid(self) -> bool:
        """Whether record and source frames do not go one by one."""
        return len(self.source) != len(self.record)

    @property
    def untimed(self) -> bool:
        """Whether nobody knows its source frames."""
        return not self.source


def spans_of_events(events: Iterable[SequenceEvent]) -> tuple[Span, ...]:
    """The spans of a programme as its list states it."""
    return tuple(
        Span(track, event.record, event.reel, event.source, event.source_clock.day)
        for event in events
        for track in sorted(event.tracks)
        if event.record
    )


def spans_of_pieces(pieces: Iterable[Piece]) -> tuple[Span, ...]:
    """The spans of a programme that was recut."""
    return tuple(
        Span(track, piece.record, piece.event.reel, piece.source, piece.event.source_clock.day)
        for piece in pieces
        for track in sorted(piece.tracks)
        if piece.record
    )


def apply_changes(spans: Iterable[Span], adjustments: Sequence[Adjustment]) -> tuple[Span, ...]:
    """The new version, from the old one.

    Raises
    ------
    ListMismatchError
        If the adjustments cannot be carried out on these spans.
    """
    return _edited(spans, [(change.tracks, _done(change)) for change in adjustments])


def undo_changes(spans: Iterable[Span], adjustments: Sequence[Adjustment]) -> tuple[Span, ...]:
    """The old version, from the new one.

    Raises
    ------
    ListMismatchError
        If the adjustments cannot be taken back on these spans.
    """
    return _edited(spans, [(change.tracks, _undone(change)) for change in adjustments])


def merged_spans(spans: Iterable[Span], day: int) -> tuple[Span, ...]:
    """The same frames in as few spans as they make, with times since midnight, in order.

    ``day`` is the count of record frames in 24 hours.
    """
    runs = in_runs(sorted(spans), _runs_on)
    return tuple(sorted(since_midnight(_joined(run), day) for run in runs))


def since_midnight(span: Span, day: int) -> Span:
    """The span with its times since midnight; ``day`` is that of its record times."""
    if 0 <= span.record.start < day and 0 <= span.source.start < span.source_day:
        return span
    return replace(
        span,
        record=span.record.shifted(-(span.record.start // day) * day),
        source=span.source.shifted(-(span.source.start // span.source_day) * span.source_day),
    )


def _joined(run: Sequence[Span]) -> Span:
    first, frames = run[0], sum(len(span.source) for span in run)
    return replace(
        first,
        record=FrameRange(first.record.start, run[-1].record.stop),
        source=FrameRange(first.source.start, first.source.start + frames),
    )


def _runs_on(first: Span, second: Span) -> bool:
    return (
        (first.track, first.reel) == (second.track, second.reel)
        and first.record.stop == second.record.start
        and ((first.untimed and second.untimed) or _in_step(first, second))
    )


def _in_step(first: Span, second: Span) -> bool:
    follows = (second.source.start - first.source.stop) % first.source_day == 0
    return follows and not (first.rigid or second.rigid)


@dataclass(frozen=True)
class _Edit:
    """Record frames that go, and as many frames of ``source`` (None: of nothing) as come in."""

    gone: FrameRange
    brought: int
    reel: str
    source: FrameRange | None
    source_day: int


def _done(change: Adjustment) -> _Edit:
    brought = change.frames if change.extends else 0
    return _Edit(change.record, brought, change.reel, change.source, _source_day(change))


def _undone(change: Adjustment) -> _Edit:
    at, day = change.new_record, _source_day(change)
    if change.extends:
        return _Edit(FrameRange(at, at + change.frames), 0, change.reel, change.source, day)
    unknown = None if change.operation == "close gap" else FrameRange(0, 0)
    return _Edit(FrameRange(at, at), change.frames, change.reel, change.source or unknown, day)


def _source_day(change: Adjustment) -> int:
    """Source frames in 24 hours; any count where no source is known, as none of it is counted."""
    return 1 if change.source_clock is None else change.source_clock.day


def _edited(
    spans: Iterable[Span], edits: Sequence[tuple[frozenset[str], _Edit]]
) -> tuple[Span, ...]:
    by_track = grouped((span.track, span) for span in spans)
    return tuple(
        span
        for track in sorted(by_track.keys() | frozenset().union(*(tracks for tracks, _ in edits)))
        for span in _edited_track(
            track, by_track.get(track, ()), [edit for tracks, edit in edits if track in tracks]
        )
    )


def _edited_track(track: str, spans: Iterable[Span], edits: Sequence[_Edit]) -> Iterator[Span]:
    if any(before.gone.stop > after.gone.start for before, after in pairwise(edits)):
        raise ListMismatchError(f"the adjustments of {track} are out of order or overlap")
    moves = [0, *accumulate(edit.brought - len(edit.gone) for edit in edits)]
    stops = [edit.gone.stop for edit in edits]
    for edit, move in zip(edits, moves, strict=False):
        if edit.brought and edit.source is not None:
            at = edit.gone.start + move
            record = FrameRange(at, at + edit.brought)
            yield Span(track, record, edit.reel, edit.source, edit.source_day)
    for span in spans:
        index = bisect_right(stops, span.record.start)
        yield from _moved_parts(span, edits, moves, index)


def _moved_parts(
    span: Span, edits: Sequence[_Edit], moves: Sequence[int], index: int
) -> Iterator[Span]:
    """What the edits leave of a span; ``index`` is the first that ends inside or after it."""
    at = span.record.start
    while index < len(edits) and edits[index].gone.start < span.record.stop:
        yield from _part(span, at, edits[index].gone.start, moves[index])
        at = edits[index].gone.stop
        index += 1
    yield from _part(span, at, span.record.stop, moves[index])


def _part(span: Span, start: int, stop: int, move: int) -> Iterator[Span]:
    if start >= stop:
        return
    whole = (start, stop) == (span.record.start, span.record.stop)
    if span.rigid and not span.untimed and not whole:
        raise ListMismatchError(
            f"{span.reel} at record frame {span.record.start} does not run at its own speed, and "
            "cannot be cut"
        )
    record = FrameRange(start + move, stop + move)
    if whole:
        yield replace(span, record=record)
        return
    source = FrameRange(start, stop).shifted(span.source.start - span.record.start)
    yield replace(span, record=record, source=span.source if span.untimed else source)
