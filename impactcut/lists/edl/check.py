"""The check before an EDL is handed over: read back, it must show the plan frame by frame."""

from __future__ import annotations

from collections.abc import Iterable

from impactcut.core.programme.cutlist import CutList
from impactcut.core.programme.spans import since_midnight, spans_of_events
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, ListMismatchError
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
    read = (_read_back(number, text, clock) for number, text in enumerate(texts, 1))
    shown = spans_of_events(event for document in read for event in sequence_of(document))
    reels = reel_names(cut.clips)
    planned = planned_spans(cut, reels, lambda clip: tracks_of(clip.has_sound, sound))
    found, wanted = (
        [since_midnight(span, clock.day) for span in spans] for spans in (shown, planned)
    )
    compare_spans(f"the EDL of {cut.title!r}", found, wanted, clock)


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
