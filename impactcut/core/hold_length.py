"""Taking frames out of a shot and putting as many in elsewhere, so that nothing later moves.

The shot itself is lengthened at its tail or at its head, or the next shot at its head. Only a shot
lengthened at its own head keeps what follows the splice, and so the contact frame, where it was.
Sound of the same clip in sync with the picture is treated alike; all else stays where it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from impactcut.core.frames import FrameRange, without
from impactcut.core.meeting import Meeting
from impactcut.core.sequence import Piece, SequenceEvent, is_picture, is_sound, with_out_under
from impactcut.core.uses import RefusedUse, Use

Hold = Literal["tail", "head", "next"]
"""What pays for the frames: the shot's own tail, its own head, or the next shot's head."""


@dataclass(frozen=True)
class Change:
    """What becomes of one event.

    Parameters
    ----------
    gaps : tuple of FrameRange
        Record frames that go.
    head, tail : int
        Source frames added before its in and after its out.
    earlier : int
        Frames by which it begins earlier in the programme.
    """

    gaps: tuple[FrameRange, ...] = ()
    head: int = 0
    tail: int = 0
    earlier: int = 0


class HeldClock:
    """Where record frames come to lie in a programme whose length was held: with their picture.

    Parameters
    ----------
    pieces : iterable of Piece
        Of the new programme.
    """

    def __init__(self, pieces: Iterable[Piece]) -> None:
        by_event: dict[int, list[Piece]] = {}
        for piece in pieces:
            if any(map(is_picture, piece.tracks)) and len(piece.source) == len(piece.record):
                by_event.setdefault(piece.event.index, []).append(piece)
        self._pictures = Meeting((found[0].event.record, found) for found in by_event.values())

    def moved(self, frame: int) -> int:
        """New place of a record frame; one that goes, that of the first frame kept after it."""
        for pieces in self._pictures.of(FrameRange(frame, frame + 1)):
            for piece in pieces:
                event = piece.event
                to_record = event.record.start - event.source.start
                place = frame - piece.source.start - to_record
                if place < len(piece.record):
                    return piece.record.start + max(0, place)
        return frame


Changes = dict[SequenceEvent, Change]
_UNCHANGED = Change()


class _ObstacleError(Exception):
    """Why frames cannot go; never leaves this module."""


def plan_hold(
    events: Sequence[SequenceEvent], uses: Iterable[Use], hold: Hold, whole_sound: bool
) -> tuple[Changes, tuple[Use, ...], tuple[RefusedUse, ...]]:
    """What becomes of the events, which uses are taken out by it, and which cannot be."""
    changes: Changes = {}
    made: list[Use] = []
    refused: list[RefusedUse] = []
    for use in uses:
        try:
            changes = _with_use(changes, use, events, hold, whole_sound)
            made.append(use)
        except _ObstacleError as obstacle:
            refused.append(RefusedUse(use.removal, use.events[0].number, str(obstacle)))
    return changes, tuple(made), tuple(refused)


def hold_length(
    events: Sequence[SequenceEvent], changes: Mapping[SequenceEvent, Change], whole_sound: bool
) -> tuple[Piece, ...]:
    """The programme after `plan_hold`: every event's pieces, in the order of the events."""
    return tuple(
        piece
        for event in events
        for piece in _pieces(event, changes.get(event, _UNCHANGED), whole_sound)
    )


def _pieces(event: SequenceEvent, change: Change, whole_sound: bool) -> Iterator[Piece]:
    if change == _UNCHANGED:
        yield Piece(event, event.tracks, event.source, event.record)
        return
    tracks = _changing(event, whole_sound)
    to_source = event.source.start - event.record.start
    taken = [gap.shifted(to_source) for gap in change.gaps]
    lengthened = FrameRange(event.source.start - change.head, event.source.stop + change.tail)
    at = event.record.start - change.earlier
    pieces = []
    for kept in without(lengthened, taken):
        pieces.append(Piece(event, tracks, kept, FrameRange(at, at + len(kept))))
        at += len(kept)
    yield from with_out_under(pieces)
    if event.tracks - tracks:
        yield Piece(event, event.tracks - tracks, event.source, event.record)


def _changing(event: SequenceEvent, whole_sound: bool) -> frozenset[str]:
    """The tracks of an event that are cut."""
    return frozenset(t for t in event.tracks if not (whole_sound and is_sound(t)))


def _with_use(
    changes: Changes, use: Use, events: Sequence[SequenceEvent], hold: Hold, whole_sound: bool
) -> Changes:
    if len(use.events) > 1:
        first, last = use.events[0].number, use.events[-1].number
        raise _ObstacleError(
            f"they lie across the edit between events {first} and {last}; only a ripple can take "
            "them out"
        )
    shots = [use.events[0], *([] if whole_sound else _sound_in_sync(use, events))]
    changes = dict(changes)
    cut = [shot for shot in shots if use.record not in changes.get(shot, _UNCHANGED).gaps]
    for shot in cut:
        change = changes.get(shot, _UNCHANGED)
        changes[shot] = replace(change, gaps=(*change.gaps, use.record))
        _check_cut(shot, changes[shot], use.record)
    return _paid_for(changes, cut, len(use.record), events, hold, whole_sound)


def _paid_for(
    changes: Changes,
    cut: Sequence[SequenceEvent],
    count: int,
    events: Sequence[SequenceEvent],
    hold: Hold,
    whole_sound: bool,
) -> Changes:
    if hold == "tail":
        return changes | {shot: _lengthened_tail(shot, changes, count, events) for shot in cut}
    if hold == "head":
        return changes | {shot: _lengthened_head(shot, changes, count, 0) for shot in cut}
    following = _next_shots(cut, events, whole_sound)
    return changes | {shot: _lengthened_head(shot, changes, count, count) for shot in following}


def _sound_in_sync(use: Use, events: Iterable[SequenceEvent]) -> list[SequenceEvent]:
    """Sound of the same clip that runs in sync with the picture, and holds all the frames."""
    shot, frames = use.events[0], use.removal.frames
    return [
        event
        for event in events
        if event.clip == shot.clip
        and not any(map(is_picture, event.tracks))
        and event.offset == shot.offset
        and event.shown.start <= frames.start
        and frames.stop <= event.shown.stop
    ]


def _check_cut(shot: SequenceEvent, change: Change, frames: FrameRange) -> None:
    if shot.fixed:
        raise _ObstacleError(f"event {shot.number} {shot.fixed}")
    if shot.fade and shot.faded.meets(frames):
        raise _ObstacleError(f"a transition covers them in event {shot.number}")
    if not without(shot.record, change.gaps):
        raise _ObstacleError(f"nothing would be left of event {shot.number}")


def _lengthened_head(event: SequenceEvent, changes: Changes, count: int, earlier: int) -> Change:
    change = changes.get(event, _UNCHANGED)
    head = change.head + count
    if event.fixed:
        raise _ObstacleError(f"event {event.number}, which would be lengthened, {event.fixed}")
    if event.entered:
        raise _ObstacleError(
            f"event {event.number}, which would be lengthened, begins with a transition"
        )
    _require_clip(event)
    if event.shown.start < head:
        raise _no_handle(event, "before its in", event.shown.start, head)
    return replace(change, head=head, earlier=change.earlier + earlier)


def _lengthened_tail(
    event: SequenceEvent, changes: Changes, count: int, events: Iterable[SequenceEvent]
) -> Change:
    change = changes.get(event, _UNCHANGED)
    tail = change.tail + count
    if any(other.entered and _follows(other, event) for other in events):
        raise _ObstacleError(
            f"event {event.number}, which would be lengthened, ends in a transition"
        )
    assert event.clip is not None
    spare = event.clip.frames - event.shown.stop
    if spare < tail:
        raise _no_handle(event, "after its out", spare, tail)
    return replace(change, tail=tail)


def _follows(event: SequenceEvent, before: SequenceEvent) -> bool:
    return event.record.start == before.record.stop and bool(event.tracks & before.tracks)


def _next_shots(
    cut: Sequence[SequenceEvent], events: Iterable[SequenceEvent], whole_sound: bool
) -> list[SequenceEvent]:
    """The events that follow the cut ones on all their tracks, and on no others."""
    listed = [event for event in events if event.record]
    found: dict[SequenceEvent, None] = {}
    for shot in cut:
        after = [event for event in listed if _follows(event, shot)]
        covered = frozenset(track for event in after for track in event.tracks)
        open_tracks = _changing(shot, whole_sound) - covered
        if open_tracks:
            raise _ObstacleError(
                f"no event follows event {shot.number} at its out on all its tracks; hold the "
                "length another way"
            )
        found |= dict.fromkeys(e for e in after if _changing(e, whole_sound) & shot.tracks)
    for event in found:
        _check_room(event, cut, whole_sound)
    return list(found)


def _check_room(event: SequenceEvent, cut: Sequence[SequenceEvent], whole_sound: bool) -> None:
    """Refuse to begin an event earlier on a track on which nothing makes room for it."""
    freed = frozenset(t for shot in cut if _follows(event, shot) for t in shot.tracks)
    tight = _changing(event, whole_sound) - freed
    if tight:
        raise _ObstacleError(
            f"event {event.number}, which would be lengthened, uses {sorted(tight)[0]} as well, "
            "where nothing makes room for it"
        )


def _require_clip(event: SequenceEvent) -> None:
    if event.clip is None:
        raise _ObstacleError(
            f"event {event.number}, which would be lengthened, is of no clip of the project, so "
            "the length of its media is unknown; scan its clip, or hold the length another way"
        )


def _no_handle(event: SequenceEvent, where: str, spare: int, needed: int) -> _ObstacleError:
    return _ObstacleError(
        f"event {event.number} has {spare} spare frames {where}, and {needed} are needed"
    )
