"""The check before an EDL is handed over: read back, it must show the plan frame by frame."""

from __future__ import annotations

from collections.abc import Iterable

from impactcut.core.programme.cutlist import CutList
from impactcut.core.programme.sequence import SequenceEvent
from impactcut.core.programme.spans import since_midnight, spans_of_events
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListError, ListMismatchError
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.sequence import sequence_of
from impactcut.lists.edl.write import SoundLines, tracks_of
from impactcut.lists.reels import reel_names
from impactcut.lists.track_check import compare_spans, planned_spans


def check_edl(texts: Iterable[str], cut: CutList, sound: SoundLines | None = None) -> None:
    """Read lists back and compare every frame they show, on every track, with the plan.

    The plan is taken from the clips and their removals, not from the events that were written.

    Raises
    ------
    ListMismatchError
        If a frame is missing, is there although it was to go, or lies elsewhere.
    """
    clock = cut.timebase
    read = (read_back(text, clock, f"list {n}") for n, text in enumerate(texts, 1))
    shown = spans_of_events(event for _, events in read for event in events)
    reels = reel_names(cut.clips)
    planned = planned_spans(cut, reels, lambda clip: tracks_of(clip.has_sound, sound))
    found, wanted = (
        [since_midnight(span, clock.day) for span in spans] for spans in (shown, planned)
    )
    compare_spans(f"the EDL of {cut.title!r}", found, wanted, clock)


def read_back(
    text: str, clock: Timebase, name: str
) -> tuple[EdlDocument, tuple[SequenceEvent, ...]]:
    """A list as it is to be handed over, and its events.

    Raises
    ------
    ListMismatchError
        If it cannot be read, not all of it is understood, or it counts otherwise than ``clock``;
        ``name`` is what the message calls it.
    """
    try:
        document = parse_edl(text, clock.rate)
        events = sequence_of(document)
    except ListError as error:
        raise ListMismatchError(f"{name} cannot be read back: {error}") from error
    if document.record_clock != clock:
        raise ListMismatchError(
            f"{name}, read back, counts at {document.record_clock}, not {clock}"
        )
    return document, events
