"""The check before an EDL is handed over: read back, it must show the plan frame by frame."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import zip_longest

from impactcut.core.programme.assemble import place_clips
from impactcut.core.programme.cutlist import CutList
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange, without
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.sequence import sequence_of
from impactcut.lists.edl.write import SoundLines, tracks_of_clip
from impactcut.lists.reels import reel_names


@dataclass(frozen=True)
class Run:
    """Frames of one reel that follow one another both in the source and in the programme.

    ``source`` and ``record`` are the first frame's timecodes, as counts of frames since midnight.
    """

    reel: str
    source: int
    record: int
    length: int


def check_edl(texts: Iterable[str], cut: CutList, sound: SoundLines | None = None) -> None:
    """Read lists back and compare every frame they show, on every track, with the plan.

    The plan is taken from the clips and their removals, not from the events that were written.

    Raises
    ------
    ListMismatchError
        If a frame is missing, is there although it was to go, or lies elsewhere.
    """
    found = _by_track(_read_runs(texts, cut.timebase))
    plan = _by_track(_planned_runs(cut, reel_names(cut.clips), sound))
    for track in sorted(found.keys() | plan.keys()):
        read = _merged(found.get(track, ()), cut.timebase)
        planned = _merged(plan.get(track, ()), cut.timebase)
        for seen, wanted in zip_longest(read, planned):
            if seen != wanted:
                raise ListMismatchError(
                    f"the EDL of {cut.title!r}, read back, shows {_named(seen, cut.timebase)} on "
                    f"{track} where {_named(wanted, cut.timebase)} was planned; do not use it, "
                    "and report this"
                )


_Runs = Iterator[tuple[frozenset[str], Run]]
"""Runs with the tracks that they lie on."""


def _by_track(runs: _Runs) -> Mapping[str, list[Run]]:
    found: dict[str, list[Run]] = {}
    for tracks, run in runs:
        for track in tracks:
            found.setdefault(track, []).append(run)
    return found


def _read_runs(texts: Iterable[str], timebase: Timebase) -> _Runs:
    for number, text in enumerate(texts, 1):
        document = _read_back(number, text, timebase)
        for event in sequence_of(document):
            if len(event.source) != len(event.record):
                raise ListMismatchError(
                    f"event {event.number} of list {number}, read back, does not play at its own "
                    "speed; do not use the list, and report this"
                )
            run = Run(event.reel, event.source.start, event.record.start, len(event.source))
            yield event.tracks, run


def _read_back(number: int, text: str, timebase: Timebase) -> EdlDocument:
    try:
        document = parse_edl(text, timebase.rate)
    except ListFormatError as error:
        raise ListMismatchError(f"list {number} cannot be read back: {error}") from error
    if document.unread:
        fault = document.unread[0]
        raise ListMismatchError(f"line {fault.line} of list {number}, read back, {fault.reason}")
    if document.record_clock != timebase:
        raise ListMismatchError(
            f"list {number}, read back, counts at {document.record_clock}, not {timebase}"
        )
    return document


def _planned_runs(cut: CutList, reels: Mapping[Clip, str], sound: SoundLines | None) -> _Runs:
    record = cut.record_start
    for clip, place in place_clips(cut).items():
        for kept in without(FrameRange(0, clip.frames), place.removed):
            run = Run(reels[clip], clip.source_start + kept.start, record, len(kept))
            yield tracks_of_clip(clip, sound), run
            record += len(kept)


def _merged(runs: Iterable[Run], timebase: Timebase) -> Iterator[Run]:
    """The same frames in as few runs as they make, empty ones left out."""
    day = timebase.day
    joined: Run | None = None
    for run in runs:
        run = replace(run, source=run.source % day, record=run.record % day)
        if not run.length:
            continue
        if joined is not None and _follows(joined, run, day):
            joined = replace(joined, length=joined.length + run.length)
            continue
        if joined is not None:
            yield joined
        joined = run
    if joined is not None:
        yield joined


def _follows(first: Run, second: Run, day: int) -> bool:
    return (
        second.reel == first.reel
        and second.source == (first.source + first.length) % day
        and second.record == (first.record + first.length) % day
    )


def _named(run: Run | None, timebase: Timebase) -> str:
    if run is None:
        return "nothing"
    source, record = timebase.label(run.source), timebase.label(run.record)
    return f"{run.length} frames of {run.reel} from {source} at {record}"
