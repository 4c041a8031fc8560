"""Taking frames out of a shot and putting as many in elsewhere, so that nothing later moves.

The shot itself is lengthened at its tail or at its head, or the next shot at its head. Only a shot
lengthened at its own head keeps what follows the splice, and so the contact frame, where it was.
No frame comes in that is to go out of its clip for another hit.
Sound of the same clip in sync with the picture is treated alike; all else stays where it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from impactcut.core.grouping import grouped
from impactcut.core.programme.cutlist import Removal
from impactcut.core.programme.sequence import (
    Piece,
    SequenceEvent,
    is_picture,
    is_sound,
    laid_pieces,
)
from impactcut.core.recut.uses import RefusedUse, Use
from impactcut.core.time.frames import FrameRange, without
from impactcut.core.time.meeting import Meeting, Meetings

Hold = Literal["tail", "head", "next"]
"""What pays for the frames: the shot's own tail, its own head, or the next shot's head."""


@dataclass(frozen=True)
class Change:
    """What becomes of one event.

    Parameters
    ----------
    gaps : tuple of FrameRange
        Record frames that go, in order.
    gone : int
        How many frames they are.
    head, tail : int
        Source frames added before its in and after its out.
    earlier : int
        Frames by which it begins earlier in the programme.
    """

    gaps: tuple[FrameRange, ...] = ()
    gone: int = 0
    head: int = 0
    tail: int = 0
    earlier: int = 0


class HeldClock:
    """Where record frames come to lie in a programme whose length was held: with their picture.

    Parameters
    ----------
    pieces : iterable of Piece
        Of the new programme.
    any_track : bool
        Go by sound as well.
    """

    def __init__(self, pieces: Iterable[Piece], any_track: bool = False) -> None:
        by_event = grouped(
            (piece.event.index, piece)
            for piece in pieces
            if (any_track or any(map(is_picture, piece.tracks)))
            and len(piece.source) == len(piece.record)
        )
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


Changes = dict[int, Change]
"""By the index of the event."""
_UNCHANGED = Change()


class _ObstacleError(Exception):
    """Why frames cannot go; never leaves this module."""


def plan_hold(
    events: Sequence[SequenceEvent],
    uses: Iterable[Use],
    removals: Iterable[Removal],
    hold: Hold,
    whole_sound: bool,
) -> tuple[Changes, tuple[Use, ...], tuple[RefusedUse, ...]]:
    """What becomes of the events, which uses are taken out by it, and which cannot be.

    ``removals`` are all that is to go, shown in the programme or not.
    """
    plan = _Plan(events, removals, hold, whole_sound)
    made: list[Use] = []
    refused: list[RefusedUse] = []
    for use in uses:
        try:
            plan.changes |= plan.with_use(use)
            made.append(use)
        except _ObstacleError as obstacle:
            refused.append(RefusedUse(use.removal, use.events[0].number, str(obstacle)))
    return plan.changes, tuple(made), tuple(refused)


def hold_length(
    events: Sequence[SequenceEvent], changes: Mapping[int, Change], whole_sound: bool
) -> tuple[Piece, ...]:
    """The programme after `plan_hold`: every event's pieces, in the order of the events."""
    return tuple(
        piece
        for event in events
        for piece in _pieces(event, changes.get(event.index, _UNCHANGED), whole_sound)
    )


def _pieces(event: SequenceEvent, change: Change, whole_sound: bool) -> Iterator[Piece]:
    if change == _UNCHANGED:
        yield Piece(event, event.tracks, event.source, event.record)
        return
    tracks = _changing(event, whole_sound)
    to_source = event.source.start - event.record.start
    taken = [gap.shifted(to_source) for gap in change.gaps]
    lengthened = FrameRange(event.source.start - change.head, event.source.stop + change.tail)
    start = event.record.start - change.earlier
    yield from laid_pieces(event, tracks, without(lengthened, taken), start)
    if event.tracks - tracks:
        yield Piece(event, event.tracks - tracks, event.source, event.record)


def _changing(event: SequenceEvent, whole_sound: bool) -> frozenset[str]:
    """The tracks of an event that are cut."""
    return frozenset(t for t in event.tracks if not (whole_sound and is_sound(t)))


class _Plan:
    """What becomes of the events, use by use, in record order."""

    def __init__(
        self,
        events: Sequence[SequenceEvent],
        removals: Iterable[Removal],
        hold: Hold,
        whole_sound: bool,
    ) -> None:
        self.changes: Changes = {}
        self._hold = hold
        self._whole_sound = whole_sound
        self._starting = grouped((event.record.start, event) for event in events)
        self._ending = grouped((event.record.stop, event) for event in events)
        self._sound = Meetings(
            ((event.clip.path, event.offset), event.shown, event)
            for event in events
            if event.clip is not None and not any(map(is_picture, event.tracks))
        )
        self._to_go = Meetings((each.clip.path, each.frames, each) for each in removals)

    def with_use(self, use: Use) -> Changes:
        """The changes of the events that a use is about, it included."""
        if len(use.events) > 1:
            first, last = use.events[0].number, use.events[-1].number
            raise _ObstacleError(
                f"they lie across the edit between events {first} and {last}; only a ripple can "
                "take them out"
            )
        shots = [use.events[0], *([] if self._whole_sound else self._sound_in_sync(use))]
        cut = [shot for shot in shots if self._change(shot).gaps[-1:] != (use.record,)]
        made: Changes = {}
        for shot in cut:
            change = self._change(shot)
            _check_cut(shot, change, use.record)
            made[shot.index] = replace(
                change, gaps=(*change.gaps, use.record), gone=change.gone + len(use.record)
            )
        return made | self._paying(cut, made, len(use.record))

    def _change(self, event: SequenceEvent, made: Mapping[int, Change] | None = None) -> Change:
        if made is not None and event.index in made:
            return made[event.index]
        return self.changes.get(event.index, _UNCHANGED)

    def _paying(self, cut: Sequence[SequenceEvent], made: Changes, count: int) -> Changes:
        """The changes of the events that frames are put in at."""
        if self._hold == "next":
            return {
                shot.index: self._lengthened_head(shot, self._change(shot, made), count, count)
                for shot in self._next_shots(cut)
            }
        if self._hold == "head":
            return {s.index: self._lengthened_head(s, made[s.index], count, 0) for s in cut}
        return {s.index: self._lengthened_tail(s, made[s.index], count) for s in cut}

    def _sound_in_sync(self, use: Use) -> list[SequenceEvent]:
        """Sound of the same clip that runs in sync with the picture, and holds all the frames."""
        shot, frames = use.events[0], use.removal.frames
        assert shot.clip is not None
        return [
            event
            for event in self._sound.of((shot.clip.path, shot.offset), frames)
            if event.shown.start <= frames.start and frames.stop <= event.shown.stop
        ]

    def _lengthened_tail(self, event: SequenceEvent, change: Change, count: int) -> Change:
        tail = change.tail + count
        if event.fade_out or any(other.entered for other in self._following(event)):
            raise _ObstacleError(
                f"event {event.number}, which would be lengthened, ends in a transition"
            )
        _, spare = event.spare
        if spare < tail:
            raise _no_handle(event, "after its out", spare, tail)
        stop = event.shown.stop
        self._check_come(event, FrameRange(stop, stop + tail), self._following(event))
        return replace(change, tail=tail)

    def _lengthened_head(
        self, event: SequenceEvent, change: Change, count: int, earlier: int
    ) -> Change:
        head = change.head + count
        if event.fixed:
            raise _ObstacleError(f"event {event.number}, which would be lengthened, {event.fixed}")
        if event.entered:
            raise _ObstacleError(
                f"event {event.number}, which would be lengthened, begins with a transition"
            )
        if earlier:
            self._check_edit(event)
        _require_clip(event)
        spare, _ = event.spare
        if spare < head:
            raise _no_handle(event, "before its in", spare, head)
        start = event.shown.start
        self._check_come(event, FrameRange(start - head, start), self._before(event))
        return replace(change, head=head, earlier=change.earlier + earlier)

    def _check_edit(self, event: SequenceEvent) -> None:
        """Refuse to begin an event earlier than one of no length that stands at its in."""
        for other in self._starting[event.record.start]:
            if other.tracks & event.tracks and not other.record:
                raise _ObstacleError(
                    f"event {other.number}, of no length, stands at the in of event "
                    f"{event.number}, which would be lengthened; hold the length another way"
                )

    def _check_come(
        self, event: SequenceEvent, come: FrameRange, beside: Iterable[SequenceEvent]
    ) -> None:
        """Refuse to bring in frames that are to go, or picture that an event beside has."""
        for other in beside:
            seen = any(map(is_picture, other.tracks & event.tracks))
            if seen and other.clip == event.clip and come.meets(other.shown):
                raise _ObstacleError(
                    f"event {event.number}, which would be lengthened, would show frames of event "
                    f"{other.number} again; hold the length another way"
                )
        assert event.clip is not None
        for removal in self._to_go.of(event.clip.path, come):
            raise _ObstacleError(
                f"event {event.number}, which would be lengthened, would show frames that are to "
                f"go for hit {removal.called}; hold the length another way"
            )

    def _following(self, event: SequenceEvent) -> list[SequenceEvent]:
        """The events that begin at an event's out on one of its tracks."""
        starting = self._starting.get(event.record.stop, ())
        return [other for other in starting if other.tracks & event.tracks]

    def _before(self, event: SequenceEvent) -> list[SequenceEvent]:
        """The events that end at an event's in on one of its tracks."""
        ending = self._ending.get(event.record.start, ())
        return [other for other in ending if other.tracks & event.tracks]

    def _next_shots(self, cut: Sequence[SequenceEvent]) -> list[SequenceEvent]:
        """The events that follow the cut ones on all their tracks, and on no others."""
        found: dict[int, SequenceEvent] = {}
        freed: dict[int, frozenset[str]] = {}
        for shot in cut:
            after = [event for event in self._following(shot) if event.record]
            covered = frozenset(track for event in after for track in event.tracks)
            if _changing(shot, self._whole_sound) - covered:
                raise _ObstacleError(
                    f"no event follows event {shot.number} at its out on all its tracks; hold the "
                    "length another way"
                )
            for event in after:
                freed[event.index] = freed.get(event.index, frozenset()) | shot.tracks
                if _changing(event, self._whole_sound) & shot.tracks:
                    found[event.index] = event
        for event in found.values():
            self._check_room(event, freed[event.index])
        return list(found.values())

    def _check_room(self, event: SequenceEvent, freed: frozenset[str]) -> None:
        """Refuse to begin an event earlier on a track on which nothing makes room for it."""
        tight = _changing(event, self._whole_sound) - freed
        if tight:
            raise _ObstacleError(
                f"event {event.number}, which would be lengthened, uses {sorted(tight)[0]} as "
                "well, where nothing makes room for it"
            )


def _check_cut(shot: SequenceEvent, change: Change, frames: FrameRange) -> None:
    if any(gap.meets(frames) for gap in change.gaps[-1:]):
        raise _ObstacleError(f"other frames have been taken out of event {shot.number} there")
    if shot.fixed:
        raise _ObstacleError(f"event {shot.number} {shot.fixed}")
    if shot.in_transition(frames):
        raise _ObstacleError(f"a transition covers them in event {shot.number}")
    if change.gone + len(frames) == len(shot.record):
        raise _ObstacleError(f"nothing would be left of event {shot.number}")


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
