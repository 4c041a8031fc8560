"""Taking frames out of a programme so that everything later moves up, on all channels."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from impactcut.core.frames import FrameRange, count_before, without
from impactcut.core.sequence import Piece, SequenceEvent, is_sound, with_out_under
from impactcut.core.uses import RefusedUse, Use


@dataclass(frozen=True)
class RippleClock:
    """Where record frames come to lie once ``gaps`` are taken out of the programme.

    Parameters
    ----------
    gaps : tuple of FrameRange
        In order; none meet.
    """

    gaps: tuple[FrameRange, ...]

    def moved(self, frame: int) -> int:
        """New place of a record frame; one that goes, that of the first frame kept after it."""
        return frame - count_before(frame, self.gaps)

    def moved_range(self, frames: FrameRange) -> FrameRange:
        """New place of a range of record frames."""
        return FrameRange(self.moved(frames.start), self.moved(frames.stop))


class _Followers:
    """Where on each track the next event begins."""

    def __init__(self, events: Iterable[SequenceEvent]) -> None:
        starts: dict[str, list[int]] = {}
        for event in events:
            for track in event.tracks:
                starts.setdefault(track, []).append(event.record.start)
        self._starts: Mapping[str, list[int]] = {
            track: sorted(places) for track, places in starts.items()
        }

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
    followers = _Followers(events)
    for use in uses:
        gaps = tuple(dict.fromkeys(each.record for each in made))
        obstacle = _obstacle(use.record, gaps, events, followers, whole_sound)
        if obstacle is None:
            made.append(use)
        else:
            refused.append(RefusedUse(use.removal, use.events[0].number, obstacle))
    return tuple(made), tuple(refused)


def ripple(
    events: Sequence[SequenceEvent], clock: RippleClock, whole_sound: bool
) -> tuple[Piece, ...]:
    """The programme without a clock's gaps: every event's pieces, in the order of the events.

    Parameters
    ----------
    events : sequence of SequenceEvent
    clock : RippleClock
    whole_sound : bool
        Do not split sound: it keeps its in and its length, and gives up frames at its end only
        on a track whose next event would begin in it.
    """
    followers = _Followers(events)
    return tuple(
        piece for event in events for piece in _pieces(event, clock, followers, whole_sound)
    )


def _pieces(
    event: SequenceEvent, clock: RippleClock, followers: _Followers, whole_sound: bool
) -> Iterator[Piece]:
    if not any(gap.meets(event.record) for gap in clock.gaps) or not event.record:
        yield Piece(event, event.tracks, event.source, _carried(event, clock))
        return
    whole = _whole_tracks(event, whole_sound)
    if event.tracks - whole:
        yield from _cut(event, event.tracks - whole, clock)
    if whole:
        yield from _uncut(event, whole, clock, followers)


def _whole_tracks(event: SequenceEvent, whole_sound: bool) -> frozenset[str]:
    return frozenset(filter(is_sound, event.tracks)) if whole_sound else frozenset()


def _carried(event: SequenceEvent, clock: RippleClock) -> FrameRange:
    start = clock.moved(event.record.start)
    return FrameRange(start, start + len(event.record))


def _cut(event: SequenceEvent, tracks: frozenset[str], clock: RippleClock) -> Iterator[Piece]:
    to_source = event.source.start - event.record.start
    kept = without(event.record, clock.gaps)
    pieces = [Piece(event, tracks, k.shifted(to_source), clock.moved_range(k)) for k in kept]
    yield from with_out_under(pieces)


def _uncut(
    event: SequenceEvent, tracks: frozenset[str], clock: RippleClock, followers: _Followers
) -> Iterator[Piece]:
    """The event whole, on each track but for what the next event there needs of its end."""
    start = clock.moved(event.record.start)
    by_length: dict[int, set[str]] = {}
    for track in tracks:
        by_length.setdefault(_room(event, track, clock, followers), set()).add(track)
    for length, alike in sorted(by_length.items(), reverse=True):
        whole = length == len(event.record)
        source = event.source if whole else FrameRange(*_first(event.source, length))
        yield Piece(event, frozenset(alike), source, FrameRange(start, start + length))


def _first(frames: FrameRange, count: int) -> tuple[int, int]:
    return frames.start, frames.start + count


def _room(event: SequenceEvent, track: str, clock: RippleClock, followers: _Followers) -> int:
    """Frames that a whole event has on a track until the next begins, its own length at most."""
    next_start = followers.after(event, track)
    if next_start is None:
        return len(event.record)
    return min(len(event.record), clock.moved(next_start) - clock.moved(event.record.start))


def _obstacle(
    frames: FrameRange,
    gaps: tuple[FrameRange, ...],
    events: Iterable[SequenceEvent],
    followers: _Followers,
    whole_sound: bool,
) -> str | None:
    if frames in gaps:
        return None
    if any(gap.meets(frames) for gap in gaps):
        return "frames of another track have been taken out at the same place"
    clock = RippleClock((*gaps, frames))
    reasons = (
        _held_up(event, frames, clock, followers, whole_sound) for event in events if event.record
    )
    return next(filter(None, reasons), None)


def _held_up(
    event: SequenceEvent,
    frames: FrameRange,
    clock: RippleClock,
    followers: _Followers,
    whole_sound: bool,
) -> str:
    """Why an event cannot lose the frames; empty if it can, or need not."""
    whole = _whole_tracks(event, whole_sound)
    if whole and event.record.meets(frames) and followers.begins_inside(event, whole):
        return f"another event begins inside event {event.number} on the same track"
    if whole:
        left = min(_room(event, track, clock, followers) for track in whole)
        if not left:
            return f"nothing would be left of event {event.number}"
        if event.fixed and left < len(event.record):
            return f"the end of event {event.number} would have to go, and it {event.fixed}"
    if event.tracks == whole or not event.record.meets(frames):
        return ""
    if event.fixed:
        return f"event {event.number} {event.fixed}{_way_out(event, followers)}"
    if event.fade and event.faded.meets(frames):
        return f"a transition covers them in event {event.number}"
    if not without(event.record, clock.gaps):
        return f"nothing would be left of event {event.number}"
    return ""


def _way_out(event: SequenceEvent, followers: _Followers) -> str:
    """What can be done where sound that cannot be cut is in the way."""
    if not all(map(is_sound, event.tracks)) or followers.begins_inside(event, event.tracks):
        return ""
    return "; leave sound whole (--whole-sound), or hold the length (--hold)"
