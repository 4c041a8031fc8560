"""Where somebody's programme uses the frames that are to go."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from impactcut.core.clip import Clip
from impactcut.core.cutlist import Removal
from impactcut.core.frames import FrameRange
from impactcut.core.sequence import SequenceEvent, is_picture


@dataclass(frozen=True)
class Use:
    """Frames that are to go, at one place in the programme.

    Parameters
    ----------
    removal : Removal
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
    by_clip: dict[Clip, list[SequenceEvent]] = {}
    for event in events:
        if event.clip is not None and any(map(is_picture, event.tracks)):
            by_clip.setdefault(event.clip, []).append(event)
    found: list[Use] = []
    refused: list[RefusedUse] = []
    absent: list[Removal] = []
    for removal in removals:
        results = list(_places(removal, by_clip))
        uses = {each.events: each for each in results if isinstance(each, Use)}
        found += uses.values()
        refused += (each for each in results if isinstance(each, RefusedUse))
        if not results:
            absent.append(removal)
    ordered = sorted(found, key=lambda use: (use.record, use.removal.clip.path))
    return Uses(tuple(ordered), tuple(refused), tuple(absent))


def _places(
    removal: Removal, by_clip: Mapping[Clip, Sequence[SequenceEvent]]
) -> Iterator[Use | RefusedUse]:
    events = by_clip.get(removal.clip, ())
    for event in events:
        shown = event.shown
        under = FrameRange(shown.stop, shown.stop + event.overhang)
        if shown and removal.frames.meets(shown) and event.fixed:
            yield RefusedUse(removal, event.number, f"it {event.fixed}")
        elif shown and removal.frames.meets(shown):
            run = _run_through(event, events, removal.frames)
            if run:
                yield Use(removal, run, event.record_of(removal.frames))
            else:
                yield RefusedUse(removal, event.number, _partly(removal.frames, shown))
        elif removal.frames.meets(under):
            yield RefusedUse(removal, event.number, "they go out of sight under a transition")


def _run_through(
    event: SequenceEvent, events: Sequence[SequenceEvent], frames: FrameRange
) -> tuple[SequenceEvent, ...]:
    """Events that together show all the frames at one place; none where some are not shown."""
    beside = [
        other
        for other in events
        if other.offset == event.offset
        and other.tracks & event.tracks
        and other.shown
        and not other.fixed
        and other.shown.meets(frames)
    ]
    run = sorted(beside, key=lambda other: other.record)
    joined = all(first.record.stop == second.record.start for first, second in pairwise(run))
    whole = run[0].shown.start <= frames.start and frames.stop <= run[-1].shown.stop
    return tuple(run) if joined and whole else ()


def _partly(frames: FrameRange, shown: FrameRange) -> str:
    there = min(frames.stop, shown.stop) - max(frames.start, shown.start)
    return f"it shows only {there} of the {len(frames)} frames, so there is no such splice in it"
