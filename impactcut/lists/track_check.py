"""Whether the tracks of a new list, read back, show what was planned."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import zip_longest

from impactcut.core.programme.assemble import place_clips
from impactcut.core.programme.change_list import ChangeList
from impactcut.core.programme.cutlist import CutList
from impactcut.core.programme.sequence import SequenceEvent
from impactcut.core.programme.spans import (
    Span,
    apply_changes,
    merged_spans,
    spans_of_events,
    undo_changes,
)
from impactcut.core.recut.cutting import Recut
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListMismatchError

REMEDY = "do not use it, and report this"


def compare_tracks(events: Iterable[SequenceEvent], done: Recut, changes: ChangeList) -> None:
    """Compare the events of a new list with the old one and its changes, both ways.

    Raises
    ------
    ListMismatchError
        If a track does not show at some frame what the changes make of the old list, or the old
        list does not come back when they are taken back.
    """
    clock = changes.timebase
    before = spans_of_events(done.events)
    made = apply_changes(before, changes.adjustments)
    compare_spans("the new list", spans_of_events(events), made, clock)
    undone = undo_changes(made, changes.adjustments)
    compare_spans("the new list", undone, before, clock)


def compare_spans(
    name: str, found: Iterable[Span], wanted: Iterable[Span], clock: Timebase
) -> None:
    """Compare every frame that a list shows, on every track, with the plan.

    Raises
    ------
    ListMismatchError
        If a frame is missing, is there although it was to go, or lies elsewhere; ``name`` is what
        the message calls the list.
    """
    both = (merged_spans(spans, clock.day) for spans in (found, wanted))
    for seen, planned in zip_longest(*both):
        if seen != planned:
            raise ListMismatchError(
                f"{name}, read back, shows {_named(seen, clock)} where {_named(planned, clock)} "
                f"was planned; {REMEDY}"
            )


def planned_spans(
    cut: CutList, reels: Mapping[Clip, str], tracks: Callable[[Clip], Iterable[str]]
) -> Iterator[Span]:
    """What a programme is to show, by its clips and removals and not by its events."""
    at = cut.record_start
    for clip, place in place_clips(cut).items():
        for kept in place.kept:
            shown = kept.shifted(at - kept.start)
            at = shown.stop
            for track in tracks(clip):
                source = kept.shifted(clip.source_start)
                yield Span(track, shown, reels[clip], source, clip.timebase.day)


def _named(span: Span | None, clock: Timebase) -> str:
    if span is None:
        return "nothing"
    return (
        f"{len(span.record)} frames of {span.reel or 'no reel'} at "
        f"{clock.label(span.record.start)} on {span.track}"
    )
