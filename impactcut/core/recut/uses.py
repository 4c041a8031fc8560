"""Where somebody's programme uses the frames that are to go."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from impactcut.core.programme.cutlist import Removal
from impactcut.core.programme.sequence import SequenceEvent, is_picture
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.meeting import Meetings


@dataclass(frozen=True)
class Use:
    """Frames that are to go, at one place in the programme.

    Parameters
    ----------
    events : tuple of SequenceEvent
        The picture that shows them: one event, or several that run on from one another.
    record : FrameRange
        Where they lie.
    """

    removal: Removal
    events: tuple[SequenceEvent, ...]
    record: FrameRange


@dataclass(frozen=True)
class RefusedUse:
    """Frames that were to go at one place and stay: why, and in which event (by its number)."""

    removal: Removal
    number: int
    reason: str


@dataclass(frozen=True)
class Uses:
    """Every place of every removal.

    Parameters
    ----------
    found : tuple of Use
        In record order.
    refused : tuple of RefusedUse
        Places that show only some of the frames, show them under a transition, or cannot be cut.
    absent : tuple of Removal
        Shown nowhere in the programme.
    """

    found: tuple[Use, ...]
    refused: tuple[RefusedUse, ...]
    absent: tuple[Removal, ...]


def find_uses(events: Sequence[SequenceEvent], removals: Iterable[Removal]) -> Uses:
    """Find every event, or run of events, of picture that shows all frames of a removal."""
    showing = Meetings(_shots(events))
    found: list[Use] = []
    refused: list[RefusedUse] = []
    absent: list[Removal] = []
    for removal in removals:
        results = list(_places(removal, showing.of(removal.clip.path, removal.frames)))
        uses = {tuple(e.index for e in u.events): u for u in results if isinstance(u, Use)}
        found += uses.values()
        refused += (each for each in results if isinstance(each, RefusedUse))
        if not results:
            absent.append(removal)
    ordered = sorted(found, key=lambda use: (use.record, use.removal.clip.path))
    return Uses(tuple(ordered), tuple(refused), tuple(absent))


def _shots(events: Iterable[SequenceEvent]) -> Iterator[tuple[str, FrameRange, SequenceEvent]]:
    """Picture by clip and by the frames that it shows, those under a transition included."""
    for event in events:
        if event.clip is not None and any(map(is_picture, event.tracks)):
            shown = event.shown
            reach = FrameRange(shown.start - event.underhang, shown.stop + event.overhang)
            yield event.clip.path, reach, event


def _places(removal: Removal, shots: Iterable[SequenceEvent]) -> Iterator[Use | RefusedUse]:
    frames = removal.frames
    shots = sorted(shots, key=lambda shot: shot.index)
    for shot in shots:
        number = shot.number
        if not frames.meets(shot.shown):
            way = "go out of" if frames.start >= shot.shown.stop else "come into"
            yield RefusedUse(removal, number, f"they {way} sight under a transition")
        elif shot.fixed:
            yield RefusedUse(removal, number, f"it {shot.fixed}")
        elif run := _run_through(shot, shots, frames):
            yield Use(removal, run, frames.shifted(shot.offset))
        else:
            yield RefusedUse(removal, number, _partly(frames, shot.shown))


def _run_through(
    shot: SequenceEvent, shots: Iterable[SequenceEvent], frames: FrameRange
) -> tuple[SequenceEvent, ...]:
    """Events that together show all the frames at one place; none where some are not shown."""
    beside = [
        other
        for other in shots
        if other.offset == shot.offset
        and other.tracks & shot.tracks
        and not other.fixed
        and other.shown.meets(frames)
    ]
    run = tuple(sorted(beside, key=lambda other: other.record))
    joined = all(a.record.stop == b.record.start for a, b in pairwise(run))
    whole = run[0].shown.start <= frames.start and frames.stop <= run[-1].shown.stop
    return run if joined and whole else ()


def _partly(frames: FrameRange, shown: FrameRange) -> str:
    there = len(frames.shared(shown))
    return f"it shows only {there} of the {len(frames)} frames, so there is no such splice in it"
