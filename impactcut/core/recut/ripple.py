"""Taking frames out of a programme so that everything later moves up, on all channels."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence

from impactcut.core.grouping import grouped
from impactcut.core.programme.sequence import (
    UNDER_TRANSITION,
    Piece,
    SequenceEvent,
    is_sound,
    laid_pieces,
)
from impactcut.core.recut.uses import RefusedUse, Use
from impactcut.core.time.frames import FrameRange, Gaps, without
from impactcut.core.time.meeting import Meeting


class _Followers:
    """Where on each track the next event begins."""

    def __init__(self, events: Iterable[SequenceEvent]) -> None:
        starts = grouped((track, event.record.start) for event in events for track in event.tracks)
        self._starts = {track: sorted(places) for track, places in starts.items()}

    def after(self, event: SequenceEvent, track: str) -> int | None:
        """Record frame at which the next event begins on a track; None if none does."""
        places = self._starts[track]
        at = bisect_left(places, event.record.stop)
        return places[at] if at < len(places) else None

    def begins_inside(self, event: SequenceEvent, tracks: Iterable[str]) -> bool:
        """Whether another event begins inside the event on one of ``tracks``."""
        first, last = event.record.start, event.record.stop
        return any(
            bisect_right(self._starts[track], first) < bisect_left(self._starts[track], last)
            for track in tracks
        )


def plan_ripple(
    events: Sequence[SequenceEvent], uses: Iterable[Use], whole_sound: bool
) -> tuple[tuple[Use, ...], tuple[RefusedUse, ...]]:
    """Which uses can be taken out together, and which cannot, in record order."""
    made: list[Use] = []
    refused: list[RefusedUse] = []
    plan = _Plan(events, whole_sound)
    for use in uses:
        obstacle = plan.obstacle(use.record)
        if obstacle is None:
            plan.take_out(use.record)
            made.append(use)
        else:
            refused.append(RefusedUse(use.removal, use.events[0].number, obstacle))
    return tuple(made), tuple(refused)


class _Plan:
    """What has been taken out so far, in record order, and what that leaves of each event."""

    def __init__(self, events: Sequence[SequenceEvent], whole_sound: bool) -> None:
        self._whole_sound = whole_sound
        self._followers = _Followers(events)
        self._events = Meeting((event.record, event) for event in events)
        self._crowded = Meeting(self._rooms(events)) if whole_sound else None
        self._gaps: list[FrameRange] = []
        self._gone: dict[int, int] = {}
        self._taken: dict[tuple[int, str], int] = {}

    def _rooms(
        self, events: Iterable[SequenceEvent]
    ) -> Iterator[tuple[FrameRange, tuple[SequenceEvent, str, int]]]:
        """For each whole track of each event, from its in to the next one's, and its spare room."""
        for event in events:
            for track in _whole_tracks(event, True):
                following = self._followers.after(event, track)
                if following is not None:
                    room = FrameRange(event.record.start, following)
                    yield room, (event, track, following - event.record.stop)

    def take_out(self, frames: FrameRange) -> None:
        """Reckon with frames that go."""
        if self._gaps[-1:] == [frames]:
            return
        self._gaps.append(frames)
        for event in self._events.of(frames):
            gone = len(frames.shared(event.record))
            self._gone[event.index] = self._gone.get(event.index, 0) + gone
        for (event, track, _), taken in self._newly_taken(frames):
            self._taken[event.index, track] = taken

    def _newly_taken(
        self, frames: FrameRange
    ) -> Iterator[tuple[tuple[SequenceEvent, str, int], int]]:
        """Whole tracks that the frames crowd, and the frames that went before their next event."""
        for place in () if self._crowded is None else self._crowded.of(frames):
            event, track, spare = place
            room = FrameRange(event.record.start, event.record.stop + spare)
            gone = len(frames.shared(room))
            yield place, self._taken.get((event.index, track), 0) + gone

    def obstacle(self, frames: FrameRange) -> str | None:
        """Why frames cannot go; None if they can. Earlier frames have been asked for before."""
        if self._gaps[-1:] == [frames]:
            return None
        if self._gaps and self._gaps[-1].meets(frames):
            return "frames of another track have been taken out at the same place"
        reasons = {
            event.index: reason
            for event in self._events.of(frames)
            if (reason := self._held_up(event, frames))
        }
        for (event, _, spare), taken in self._newly_taken(frames):
            left = min(len(event.record), len(event.record) + spare - taken)
            if reason := _cut_short(event, left):
                reasons.setdefault(event.index, reason)
        return reasons[min(reasons)] if reasons else None

    def _held_up(self, event: SequenceEvent, frames: FrameRange) -> str:
        """Why an event that the frames meet cannot lose them; empty if it can, or need not."""
        whole = _whole_tracks(event, self._whole_sound)
        if whole and self._followers.begins_inside(event, whole):
            return f"another event begins inside event {event.number} on the same track"
        if event.tracks == whole:
            return ""
        if event.fixed:
            return f"event {event.number} {event.fixed}{_way_out(event, self._followers)}"
        if event.in_transition(frames):
            return f"a transition covers them in event {event.number}"
        gone = self._gone.get(event.index, 0) + len(frames.shared(event.record))
        if gone == len(event.record):
            return f"nothing would be left of event {event.number}"
        return ""


def _cut_short(event: SequenceEvent, left: int) -> str:
    """Why whole sound of which so many frames would be left cannot be; empty if it can."""
    if left <= 0:
        return f"nothing would be left of event {event.number}"
    if event.fade_out and left < len(event.record):
        return f"the end of event {event.number} would have to go, and a transition covers it"
    if event.fixed and not event.untimed and left < len(event.record):
        return f"the end of event {event.number} would have to go, and it {event.fixed}"
    return ""


def ripple(events: Sequence[SequenceEvent], clock: Gaps, whole_sound: bool) -> tuple[Piece, ...]:
    """The programme without a clock's gaps: every event's pieces, in the order of the events.

    Parameters
    ----------
    whole_sound : bool
        Do not split sound: it keeps its in and its length, and gives up frames at its end only
        on a track whose next event would begin in it.
    """
    followers = _Followers(events)
    return tuple(
        piece for event in events for piece in _pieces(event, clock, followers, whole_sound)
    )


def _pieces(
    event: SequenceEvent, clock: Gaps, followers: _Followers, whole_sound: bool
) -> Iterator[Piece]:
    if not clock.inside(event.record):
        start = clock.moved(event.record.start)
        record = FrameRange(start, start + len(event.record))
        yield Piece(event, event.tracks, event.source, record)
        return
    whole = _whole_tracks(event, whole_sound)
    if event.tracks - whole:
        to_source = event.source.start - event.record.start
        kept = without(event.record, clock.inside(event.record))
        sources = [frames.shifted(to_source) for frames in kept]
        start = clock.moved(event.record.start)
        yield from laid_pieces(event, event.tracks - whole, sources, start)
    if whole:
        yield from _uncut(event, whole, clock, followers)


def _whole_tracks(event: SequenceEvent, whole_sound: bool) -> frozenset[str]:
    """The tracks on which an event is not split; a gap under a transition is no sound."""
    whole = whole_sound and event.fixed != UNDER_TRANSITION
    return frozenset(filter(is_sound, event.tracks)) if whole else frozenset()


def _uncut(
    event: SequenceEvent, tracks: frozenset[str], clock: Gaps, followers: _Followers
) -> Iterator[Piece]:
    """The event whole, on each track but for what the next event there needs of its end."""
    start = clock.moved(event.record.start)
    by_length: dict[int, set[str]] = {}
    for track in tracks:
        by_length.setdefault(_room(event, track, clock, followers), set()).add(track)
    for length, alike in sorted(by_length.items(), reverse=True):
        whole = length == len(event.record) or event.untimed
        first = event.source.start
        source = event.source if whole else FrameRange(first, first + length)
        yield Piece(event, frozenset(alike), source, FrameRange(start, start + length))


def _room(event: SequenceEvent, track: str, clock: Gaps, followers: _Followers) -> int:
    """Frames that a whole event has on a track until the next begins, its own length at most."""
    next_start = followers.after(event, track)
    if next_start is None:
        return len(event.record)
    return min(len(event.record), clock.moved(next_start) - clock.moved(event.record.start))


def _way_out(event: SequenceEvent, followers: _Followers) -> str:
    """What can be done where sound that cannot be cut is in the way."""
    if not all(map(is_sound, event.tracks)) or followers.begins_inside(event, event.tracks):
        return ""
    whole = "" if event.fixed == UNDER_TRANSITION else "leave sound whole (--whole-sound), or "
    return f"; {whole}hold the length (--hold)"
