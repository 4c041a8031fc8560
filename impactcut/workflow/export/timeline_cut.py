"""Somebody's cut as an OpenTimelineIO timeline, for `impactcut.workflow.export.recutting`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.change_list import ChangeList
from impactcut.core.programme.sequence import named_tracks
from impactcut.core.recut.cutting import Recut
from impactcut.core.recut.recut_marks import marks_of_recut
from impactcut.core.recut.reel_match import Match
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase, parse_timebase
from impactcut.core.words import counted
from impactcut.errors import ListFormatError, RateError
from impactcut.lists.edl.document import ListWarning
from impactcut.lists.edl.sequence import list_names
from impactcut.lists.otio.own import list_metadata
from impactcut.lists.otio.recut_check import check_timeline
from impactcut.lists.otio.reissue import reissue_timeline
from impactcut.lists.otio.sequence import (
    TimelineSequence,
    matched_timeline,
    nests_sound,
    read_timeline,
)
from impactcut.workflow.export.conform_lists import judging_of
from impactcut.workflow.export.matching_list import given_clips
from impactcut.workflow.files.list_files import blaming
from impactcut.workflow.files.refusals import Refusal
from impactcut.workflow.files.timeline_files import BUNDLE, bundle_with, read_timeline_file
from impactcut.workflow.files.writing import Content

_EVENT = re.compile(r"\bevent (\d+)")


@dataclass(frozen=True)
class TimelineCut:
    """A timeline that is to be recut.

    Parameters
    ----------
    sequence : TimelineSequence
        Read from it.
    stated : Timebase or None
        That the user stated for it.
    """

    path: Path
    text: str
    sequence: TimelineSequence
    stated: Timebase | None

    @property
    def title(self) -> str:
        """Of the timeline, else the name of its file."""
        return self.sequence.timeline.name.strip() or self.path.stem

    @property
    def warnings(self) -> tuple[ListWarning, ...]:
        """None: what is not understood of a timeline is refused."""
        return ()

    def clock(self, matches: Sequence[Match]) -> Timebase:
        """What the programme counts in: as was stated, else as its clips; a timeline says no more
        than the rate.
        """
        drop = any(m.event.clip is not None and m.event.clip.drop_frame for m in matches)
        return self.stated or Timebase(self.sequence.rate, drop)

    def matched(self, clips: Sequence[Clip], reels: Path | None) -> tuple[Match, ...]:
        """The events with their clips; those of no clip are labelled as the programme is."""
        given = given_clips(reels, clips)
        matches = matched_timeline(self.sequence, list_names(clips), given)
        clock = self.clock(matches)
        return tuple(
            match
            if match.event.clip is not None
            else replace(match, event=replace(match.event, source_clock=clock))
            for match in matches
        )

    def files(
        self, target: Path, done: Recut, changes: ChangeList, hits: Sequence[HitEntry]
    ) -> dict[str, Content]:
        """The new timeline with marks of hits, by name, read back and compared."""
        title, marks = changes.new_title, marks_of_recut(done, hits)
        own = list_metadata(changes.timebase, judging_of(hits))
        text = reissue_timeline(read_timeline(self.text), done, title, marks, own)
        check_timeline(text, self.sequence, done, changes, title, marks)
        if self.path.suffix.lower() == BUNDLE:
            return {target.name: bundle_with(self.path, text)}
        return {target.name: text.encode("utf-8", "surrogatepass")}

    def notes(
        self, done: Recut, changes: ChangeList, _files: int, refusals: Sequence[Refusal]
    ) -> tuple[str, ...]:
        """What is switched off or counts from 0, and which clips the numbers of refusals mean."""
        clips = (each.clip for each in done.events if each.clip is not None and each.from_zero)
        notes = [
            f"the timeline counts {clip.name} from 0 and not by its timecode, which begins at "
            f"{clip.source_label(0)}: its frames are taken from the file's first on"
            for clip in dict.fromkeys(clips)
            if clip.source_start
        ]
        if self.sequence.off:
            count = counted(len(self.sequence.off), "clip")
            notes.append(f"switched off, so not looked at for hits: {count}")
        texts = (f"{each.name} {each.error}" for each in refusals)
        numbers = sorted({int(found) for text in texts for found in _EVENT.findall(text)})
        if numbers:
            named = (self._named(done, number, changes.timebase) for number in numbers)
            notes.append(
                "events of a timeline are its clips, counted track by track, nested ones last: "
                f"{'; '.join(named)}"
            )
        return tuple(notes)

    def _named(self, done: Recut, number: int, clock: Timebase) -> str:
        event = done.events[number - 1]
        nested = "" if event.tracks <= self.sequence.outer else ", nested"
        return (
            f"event {number} is {event.name or event.reel or 'without a name'} at "
            f"{clock.label(event.record.start)} on {named_tracks(event.tracks)}{nested}"
        )


def open_timeline(source: Path, rate: str | None, held: bool, whole_sound: bool) -> TimelineCut:
    """Read the timeline in a file.

    Raises
    ------
    ListFormatError
        If it cannot be read, or its sound, which is to stay whole, is nested.
    RateError
        If another rate was stated than it has.
    """
    stated = None if rate is None else parse_timebase(rate)
    text = read_timeline_file(source)
    with blaming(source):
        sequence = read_timeline(text, held)
    if stated is not None and stated.rate != sequence.rate:
        raise RateError(
            f"{source}: counts {Timebase(sequence.rate)} frames a second, not {stated}; leave "
            "--rate out, as a timeline states it"
        )
    if whole_sound and nests_sound(sequence):
        raise ListFormatError(
            f"{source}: sound in nested stacks cannot be left whole; leave --whole-sound out"
        )
    return TimelineCut(source, text, sequence, stated)
