"""Whether the tracks of a new list, read back, are those of the old one as changed."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import zip_longest

from impactcut.core.programme.change_list import ChangeList
from impactcut.core.programme.sequence import SequenceEvent
from impactcut.core.programme.spans import (
    Span,
    apply_changes,
    merged_spans,
    spans_of_events,
    undo_changes,
)
from impactcut.core.recut.cutting import Recut
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
    day = changes.timebase.day
    before = spans_of_events(done.events)
    made = apply_changes(before, changes.adjustments)
    _compare(merged_spans(spans_of_events(events), day), merged_spans(made, day), changes.timebase)
    undone = undo_changes(made, changes.adjustments)
    _compare(merged_spans(undone, day), merged_spans(before, day), changes.timebase)


def _compare(found: Iterable[Span], wanted: Iterable[Span], clock: Timebase) -> None:
    for seen, planned in zip_longest(found, wanted):
        if seen != planned:
            raise ListMismatchError(
                f"the new list, read back, shows {_named(seen, clock)} where "
                f"{_named(planned, clock)} was planned; {REMEDY}"
            )


def _named(span: Span | None, clock: Timebase) -> str:
    if span is None:
        return "nothing"
    return (
        f"{len(span.record)} frames of {span.reel or 'no reel'} at "
        f"{clock.label(span.record.start)} on {span.track}"
    )
