"""Times of the programme in the notes of an EDL, such as ``* LOC:`` locators: read, and moved."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from impactcut.core.programme.sequence import SequenceEvent
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.lines import label_spans, labelled_frame
from impactcut.lists.edl.statements import Note

LOCATOR = "LOC"
"""Keyword of a note whose first timecode is always a record time (CMX3600 lists in use)."""
NAMES = frozenset({"FROM CLIP NAME", "SOURCE FILE", "TO CLIP NAME"})
"""Keywords of notes that name a clip, whatever is in its name."""


@dataclass(frozen=True)
class TimedNote:
    """A note about places of the programme.

    Parameters
    ----------
    places : tuple of (slice, int)
        Where in the note's text each record time stands, and the record frame that it names.
    """

    note: Note
    places: tuple[tuple[slice, int], ...]
    clock: Timebase

    def moved(self, move: Callable[[int], int]) -> Note:
        """The note with its times where ``move`` puts their frames."""
        text = self.note.text or ""
        for place, frame in self.places:
            label = self.clock.label(move(frame))
            in_its_form = zip(text[place], label, strict=True)
            text = (
                text[: place.start]
                + "".join(new if new.isdigit() else old for old, new in in_its_form)
                + text[place.stop :]
            )
        if text == self.note.text:
            return self.note
        return replace(self.note, text=text, value=text.partition(":")[2].strip())


def timed_notes(document: EdlDocument, events: Sequence[SequenceEvent]) -> Mapping[int, TimedNote]:
    """The notes that hold record times, by their lines.

    Beside ``LOC`` notes these are notes with a timecode within the programme that does not lie
    within the source of one of the events it stands by: what could be either is left alone, and
    so is the name of a clip.

    Parameters
    ----------
    events : sequence of SequenceEvent
        The document's.
    """
    span = FrameRange(
        min(event.record.start for event in events), max(event.record.stop for event in events)
    )
    clock = document.record_clock
    found = [_timed(each, (), span, clock) for each in document.blocks[0] if isinstance(each, Note)]
    for block, places in document.numbered:
        own = events[places.start : places.stop]
        notes = (each for each in (*block.leading, *block.body) if isinstance(each, Note))
        found += (_timed(each, own, span, clock) for each in notes)
    return {note.note.line: note for note in found if note is not None}


def other_times(document: EdlDocument, timed: Mapping[int, TimedNote]) -> tuple[int, ...]:
    """The lines of notes that hold timecodes and are not among the timed ones."""
    return tuple(
        each.line
        for each in document.statements
        if isinstance(each, Note) and each.line not in timed and any(label_spans(each.text or ""))
    )


def _timed(
    note: Note, events: Iterable[SequenceEvent], span: FrameRange, clock: Timebase
) -> TimedNote | None:
    if note.keyword in NAMES:
        return None
    places: list[tuple[slice, int]] = []
    for place in label_spans(note.text or ""):
        frame = labelled_frame((note.text or "")[place], clock)
        first_of_locator = note.keyword == LOCATOR and not places
        if frame is None:
            continue
        here = _on_the_day_of(span, frame, clock)
        inside = span.start <= here <= span.stop
        sourced = any(frame in event.source for event in events)
        if first_of_locator or (inside and not sourced):
            places.append((place, here))
    if places or note.keyword == LOCATOR:
        return TimedNote(note, tuple(places), clock)
    return None


def _on_the_day_of(span: FrameRange, frame: int, clock: Timebase) -> int:
    """A frame, 24 hours on if it is nearer to the end of a programme that runs across midnight."""
    later = frame + clock.day
    across = span.stop >= clock.day
    return later if across and span.start - frame > later - span.stop else frame
