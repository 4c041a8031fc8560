"""Two versions of a programme compared, each of whole shots end to end, for a change list.

Frames that went out of the old version may come back in the new one, and shots may come and go.
Nothing is asked of how the one became the other.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise

from impactcut.core.grouping import grouped, in_runs
from impactcut.core.programme.change_list import EXTENSIONS, Adjustment, ChangeList, Operation
from impactcut.core.programme.sequence import SequenceEvent
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.meeting import Meeting, Meetings
from impactcut.core.time.timebase import Timebase


@dataclass(frozen=True)
class Said:
    """On whose word source frames of a reel and clip went out."""

    reel: str
    name: str
    source: FrameRange
    words: str


@dataclass(frozen=True)
class _Shot:
    """Events of one source that follow one another in source and record."""

    events: tuple[SequenceEvent, ...]

    @property
    def key(self) -> tuple[str, str, Timebase, frozenset[str]]:
        """What makes it the same shot in another version."""
        first = self.events[0]
        return first.reel, first.name, first.source_clock, first.tracks

    @property
    def runs(self) -> list[FrameRange]:
        return [event.source for event in self.events]


@dataclass(frozen=True)
class _Step:
    """Frames that go, or come in, before record frame ``at`` of the old version."""

    operation: Operation
    event: SequenceEvent
    source: FrameRange
    at: int


def version_changes(
    titles: tuple[str, str],
    timebase: Timebase,
    record_start: int,
    old: Sequence[SequenceEvent],
    new: Sequence[SequenceEvent],
    said: tuple[Iterable[Said], Iterable[Said]] = ((), ()),
) -> ChangeList:
    """Compare two versions of a programme.

    Parameters
    ----------
    titles : tuple of str
        Of the old version, and of the new.
    record_start : int
        Of both.
    old, new : sequence of SequenceEvent
        In record order, each beginning where the one before it ends; at their own speed.
    said : tuple of iterable of Said
        Why frames are out of the old version, and of the new.
    """
    tracks: frozenset[str] = frozenset().union(*(event.tracks for event in (*old, *new)))
    out, now = map(_words, said)
    adjustments: list[Adjustment] = []
    offset = 0
    for step in _steps(_shots(old), _shots(new), record_start):
        comes = step.operation in EXTENSIONS
        record = FrameRange(step.at, step.at + (0 if comes else len(step.source)))
        new_record = step.at - offset
        offset += -len(step.source) if comes else len(step.source)
        event = step.event
        adjustments.append(
            Adjustment(
                step.operation,
                event.tracks,
                record,
                new_record,
                len(step.source),
                offset,
                0 if step.operation == "add clip" else event.number,
                event.reel,
                event.name,
                step.source,
                event.source_clock,
                _note(step, out, now),
            )
        )
        if beside := tracks - event.tracks:
            gap: Operation = "open gap" if comes else "close gap"
            note = "where the picture beside it has no sound"
            adjustments.append(
                Adjustment(gap, beside, record, new_record, len(step.source), offset, note=note)
            )
    return ChangeList(
        *titles, timebase, record_start, _length(old), _length(new), tuple(adjustments)
    )


def _length(events: Iterable[SequenceEvent]) -> int:
    return sum(len(event.record) for event in events)


_Words = Meetings[tuple[str, str], str]
"""Why frames of a reel and clip are out of a version."""


def _words(said: Iterable[Said]) -> _Words:
    return Meetings(((each.reel, each.name), each.source, each.words) for each in said)


def _why(step: _Step, words: _Words) -> str:
    """Why the frames of a step are out; empty where nothing is said of them."""
    return "; ".join(sorted(set(words.of((step.event.reel, step.event.name), step.source))))


def _note(step: _Step, out: _Words, now: _Words) -> str:
    if step.operation == "add clip":
        return "not in the old version"
    if step.operation == "remove clip":
        return "no longer in the programme"
    if step.operation in EXTENSIONS:
        why = _why(step, out)
        return f"back in; it was out: {why}" if why else "back in"
    return _why(step, now) or "no longer in the clip"


def _shots(events: Sequence[SequenceEvent]) -> list[_Shot]:
    return [_Shot(tuple(run)) for run in in_runs(events, _runs_on)]


def _runs_on(before: SequenceEvent, event: SequenceEvent) -> bool:
    same = _Shot((before,)).key == _Shot((event,)).key
    return same and before.source.stop <= event.source.start


def _steps(old: Sequence[_Shot], new: Sequence[_Shot], start: int) -> Iterator[_Step]:
    """What is to be done, in record order of the old version."""
    at = start
    pairs = [(-1, -1), *_same_shots(old, new), (len(old), len(new))]
    for (old_before, new_before), (old_at, new_at) in pairwise(pairs):
        for shot in old[old_before + 1 : old_at]:
            for event in shot.events:
                yield _Step("remove clip", event, event.source, event.record.start)
                at = event.record.stop
        for shot in new[new_before + 1 : new_at]:
            for event in shot.events:
                yield _Step("add clip", event, event.source, at)
        if old_at < len(old):
            yield from _within(old[old_at], new[new_at].runs)
            at = old[old_at].events[-1].record.stop


def _within(shot: _Shot, runs: Sequence[FrameRange]) -> Iterator[_Step]:
    """What one shot gains and loses."""
    had = shot.runs
    first, last = had[0].start, had[-1].stop
    ends = sorted({end for run in chain(had, runs) for end in (run.start, run.stop)})
    old = Meeting((each.source, each) for each in shot.events)
    new = Meeting((run, run) for run in runs)
    event = shot.events[0]
    at = event.record.start
    for start, stop in pairwise(ends):
        source = FrameRange(start, stop)
        was, will_be = old.of(source), new.of(source)
        event = was[0] if was else event
        if was and not will_be:
            yield _Step(_removal(source, shot, runs), event, source, at)
        elif will_be and not was:
            yield _Step(_return(source, first, last), event, source, at)
        at += len(source) if was else 0


def _removal(source: FrameRange, shot: _Shot, runs: Sequence[FrameRange]) -> Operation:
    if source.start <= shot.runs[0].start or source.stop <= runs[0].start:
        return "trim head"
    if source.stop >= shot.runs[-1].stop or source.start >= runs[-1].stop:
        return "trim tail"
    return "remove inside"


def _return(source: FrameRange, first: int, last: int) -> Operation:
    if source.stop <= first:
        return "extend head"
    return "extend tail" if source.start >= last else "put back"


def _same_shots(old: Sequence[_Shot], new: Sequence[_Shot]) -> list[tuple[int, int]]:
    """Pairs of shots that both versions have, as many as keep their order in both."""
    places = grouped((shot.key, index) for index, shot in enumerate(new))
    both = []
    for index, shot in enumerate(old):
        if places.get(shot.key):
            both.append((index, places[shot.key].pop(0)))
    return _longest_rising(both)


def _longest_rising(pairs: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """The longest run of pairs, rising in the first, whose second places rise, too."""
    tails: list[int] = []
    ends: list[int] = []
    before: list[int | None] = []
    for index, (_, place) in enumerate(pairs):
        length = bisect_left(tails, place)
        before.append(ends[length - 1] if length else None)
        tails[length : length + 1] = [place]
        ends[length : length + 1] = [index]
    found = []
    at = ends[-1] if ends else None
    while at is not None:
        found.append(pairs[at])
        at = before[at]
    return found[::-1]
