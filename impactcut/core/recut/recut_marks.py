"""Marks of somebody's programme that was recut: every contact that it shows, and every splice."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence

from impactcut.core.fight.entries import HitEntry
from impactcut.core.grouping import grouped
from impactcut.core.programme.cutlist import Removal
from impactcut.core.programme.programme_marks import ProgrammeMark
from impactcut.core.programme.sequence import Piece, SequenceEvent, is_picture
from impactcut.core.recut.cutting import Recut
from impactcut.core.recut.uses import Use
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange

Marks = Mapping[int, Sequence[ProgrammeMark]]
"""The marks on each event, by its index."""
_Run = tuple[FrameRange, int]
"""Frames of a clip that an event still shows, and the record frame of the first."""


def marks_of_recut(done: Recut, hits: Iterable[HitEntry]) -> Marks:
    """The marks of a recut programme, in the order of each event's frames.

    A contact that went stands where its splice does: on the first frame kept after it, or, where
    that was the end of a shot, on the last before it.
    """
    runs = grouped(
        (piece.event.index, (piece.shown, piece.record.start))
        for piece in done.pieces
        if _is_picture(piece)
    )
    ordered = sorted(hits, key=lambda hit: (hit.impact.contact, hit.id))
    by_clip = grouped((hit.clip, hit) for hit in ordered)
    uses = grouped((event.index, use) for use in done.made for event in use.events)
    return {
        index: sorted(marks, key=lambda mark: (mark.frame, mark.kind, mark.hit.id))
        for index, marks in grouped(_all(done, runs, by_clip, uses)).items()
    }


def source_frame(event: SequenceEvent, mark: ProgrammeMark) -> int:
    """The source frame of a mark, as its event counts."""
    return event.source.start + mark.frame - event.shown.start


def _all(
    done: Recut,
    runs: Mapping[int, Sequence[_Run]],
    by_clip: Mapping[Clip, Sequence[HitEntry]],
    uses: Mapping[int, Sequence[Use]],
) -> Iterator[tuple[int, ProgrammeMark]]:
    for use in done.made:
        index, frame, record = _splice(use, runs)
        yield index, ProgrammeMark("splice", use.removal.hit, frame, record, use.removal)
        for hit in _within(by_clip.get(use.removal.clip, ()), use.removal.frames):
            removal = _removal(hit, [use])
            yield index, ProgrammeMark("contact", hit, frame, record, removal, moved=True)
    for index, kept in runs.items():
        clip = _clip(done.events[index])
        for frames, record in kept:
            for hit in _within(by_clip.get(clip, ()), frames):
                contact = hit.impact.contact
                removal = _removal(hit, uses.get(index, ()))
                place = record + contact - frames.start
                yield index, ProgrammeMark("contact", hit, contact, place, removal)


def _is_picture(piece: Piece) -> bool:
    shown = piece.event.clip is not None and piece.event.at_own_speed
    return shown and any(map(is_picture, piece.tracks))


def _clip(event: SequenceEvent) -> Clip:
    assert event.clip is not None
    return event.clip


def _splice(use: Use, runs: Mapping[int, Sequence[_Run]]) -> tuple[int, int, int]:
    """Index of the event that a splice is marked in, frame of the clip, and record frame."""
    gone = use.removal.frames
    last = use.events[-1].index
    for frames, record in runs[last]:
        if frames.start >= gone.stop:
            return last, frames.start, record
    before = [
        (event.index, frames.stop - 1, record + len(frames) - 1)
        for event in use.events
        for frames, record in runs[event.index]
        if frames.stop <= gone.start
    ]
    return before[-1]


def _within(hits: Sequence[HitEntry], frames: FrameRange) -> Sequence[HitEntry]:
    """The hits, in the order of their contacts, that have theirs in the frames."""
    first, stop = (
        bisect_left(hits, at, key=lambda hit: hit.impact.contact)
        for at in (frames.start, frames.stop)
    )
    return hits[first:stop]


def _removal(hit: HitEntry, uses: Iterable[Use]) -> Removal | None:
    removals = (use.removal for use in uses if use.removal.hit.id == hit.id)
    return next(removals, None)
