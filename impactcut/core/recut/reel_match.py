"""Which clip of the project each event of somebody's programme shows.

By the reels or clip names that the user gives for clips; else by file name, told apart by reel;
else by reel. In every case the clip must hold the event's source timecode at the event's rate and
way of counting: a name alone proves nothing. Black is of no clip. A timeline may count a source
from 0 instead of by its timecode: what says that its media begins at 0 does; of what says nothing
that is taken where the clip's timecode does not hold it, and the clip is named and not only its
reel.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from impactcut.core.grouping import grouped
from impactcut.core.programme.sequence import SequenceEvent
from impactcut.core.takes.clip import Clip

Index = Mapping[str, frozenset[Clip]]


_BLACK = frozenset({"bl", "black", "bars"})
"""Reels that are no footage, whatever clip name stands beside them (CMX3600 lists in use)."""


def is_black(reel: str) -> bool:
    """Whether a reel name stands for black or colour bars."""
    return reel.casefold() in _BLACK


@dataclass(frozen=True)
class ClipNames:
    """A clip, and what a list may call it; case does not count.

    Parameters
    ----------
    names : frozenset of str
        Its file name, whole and as a list may write it.
    """

    clip: Clip
    names: frozenset[str]
    reels: frozenset[str]


@dataclass(frozen=True)
class Match:
    """An event with its clip, if it has one, or why that is in doubt.

    Parameters
    ----------
    event : SequenceEvent
        Its ``clip`` filled in where one was found.
    doubt : str
        Empty for a clip that was found, and for an event of no clip of the project.
    rivals : tuple of Clip
        The clips that the doubt is about.
    """

    event: SequenceEvent
    doubt: str = ""
    rivals: tuple[Clip, ...] = ()


def match_events(
    events: Iterable[SequenceEvent],
    known: Sequence[ClipNames],
    given: Mapping[str, Clip] | None = None,
    timeline: bool = False,
) -> tuple[Match, ...]:
    """Find the clip of each event.

    Parameters
    ----------
    known : sequence of ClipNames
        The project's clips.
    given : mapping of str to Clip
        By reel or clip name as the list has it, in lower case: the user's word.
    timeline : bool
        The events are a timeline's, whose sources may count from 0; an EDL has timecode.
    """
    by_name = _index((name, each.clip) for each in known for name in each.names)
    by_reel = _index((reel, each.clip) for each in known for reel in each.reels)
    return tuple(_match(event, by_name, by_reel, given or {}, timeline) for event in events)


def _index(pairs: Iterable[tuple[str, Clip]]) -> Index:
    found = grouped((name.casefold(), clip) for name, clip in pairs)
    return {name: frozenset(clips) for name, clips in found.items() if name}


def _match(
    event: SequenceEvent,
    by_name: Index,
    by_reel: Index,
    given: Mapping[str, Clip],
    timeline: bool,
) -> Match:
    if is_black(event.reel):
        return Match(event)
    named, reeled = _pools(event, by_name, by_reel, given)
    begins = None if event.media is None else event.media.start
    for from_zero in ways_to_count(begins) if timeline else (False,):
        for pool in named if from_zero else (*named, reeled):
            holding = [
                shows
                for clip in _in_order(pool)
                if _holds(clip, shows := replace(event, clip=clip, from_zero=from_zero))
            ]
            if len(holding) == 1:
                return Match(holding[0])
            if holding:
                rivals = tuple(shows.clip for shows in holding if shows.clip is not None)
                paths = " or ".join(clip.path for clip in rivals)
                return Match(event, f"could be of {paths}; say which with --reels", rivals)
    rivals = _in_order(clip for pool in (*named, reeled) for clip in pool)
    return Match(event, _why_not(event, rivals, timeline), rivals) if rivals else Match(event)


def _pools(
    event: SequenceEvent, by_name: Index, by_reel: Index, given: Mapping[str, Clip]
) -> tuple[Sequence[Collection[Clip]], Collection[Clip]]:
    """Clips that the event may be of: by name, the surest first, and by reel alone."""
    name, reel = event.name.casefold(), event.reel.casefold()
    said = given.get(name) or given.get(reel)
    if said is not None:
        return [(said,)], ()
    named, reeled = by_name.get(name, frozenset()), by_reel.get(reel, frozenset())
    return [named & reeled, named], reeled


def ways_to_count(begins: float | None) -> tuple[bool, ...]:
    """Whether a timeline may count a source from 0; the likelier first.

    ``begins``: where it says that the source's media begins, in any unit; None where it does not.
    """
    if begins is None:
        return False, True
    return (False,) if begins else (True, False)


def _in_order(clips: Iterable[Clip]) -> tuple[Clip, ...]:
    return tuple(sorted(set(clips), key=lambda clip: clip.path))


def _holds(clip: Clip, event: SequenceEvent) -> bool:
    return clip.timebase == event.source_clock and event.shown.stop <= clip.frames


def _why_not(event: SequenceEvent, rivals: Sequence[Clip], timeline: bool) -> str:
    clip = rivals[0]
    if clip.timebase != event.source_clock:
        return (
            f"names {clip.name}, which counts {clip.timebase}, while the list counts "
            f"{event.source_clock}; state the list's --rate, or scan the clip with the right one"
        )
    first = event.source_clock.label(event.source.start)
    remedy = "say which clip it is with --reels"
    if not timeline and event.source.stop <= clip.frames:
        remedy = "if it counts from 0, write the list anew with the timecode of its sources"
    return (
        f"names {clip.name}, but its source from {first} lies outside that clip "
        f"({clip.source_label(0)} to {clip.source_label(clip.frames)}); {remedy}"
    )
