"""The check before a recut list is handed over: read back, it must be the old list as changed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import zip_longest

from impactcut.core.change_list import ChangeList
from impactcut.core.sequence import SequenceEvent
from impactcut.core.spans import Span, apply_changes, merged_spans, spans_of_events, undo_changes
from impactcut.core.timebase import Timebase
from impactcut.errors import ListError, ListMismatchError
from impactcut.lists.edl_read import parse_edl
from impactcut.lists.edl_sequence import sequence_of


def check_recut(texts: Iterable[str], old: Sequence[SequenceEvent], changes: ChangeList) -> None:
    """Read a recut list back and compare it with the old list and the change list, both ways.

    Parameters
    ----------
    texts : iterable of str
        The new list, in record order.
    old : sequence of SequenceEvent
    changes : ChangeList
        As read back from what is handed over.

    Raises
    ------
    ListMismatchError
        If the changes do not turn the old list into the new one, or the new one into the old.
    """
    day = changes.timebase.day
    new = tuple(span for text in texts for span in _read_back(text, changes.timebase))
    before = spans_of_events(old)
    made = apply_changes(before, changes.adjustments)
    _compare(merged_spans(new, day), merged_spans(made, day), changes.timebase)
    undone = undo_changes(made, changes.adjustments)
    _compare(merged_spans(undone, day), merged_spans(before, day), changes.timebase)


def _read_back(text: str, clock: Timebase) -> Iterator[Span]:
    try:
        document = parse_edl(text, clock.rate)
        events = sequence_of(document)
    except ListError as error:
        raise ListMismatchError(f"the new list cannot be read back: {error}") from error
    if document.record_clock != clock:
        raise ListMismatchError(
            f"the new list, read back, counts at {document.record_clock}, not {clock}"
        )
    yield from spans_of_events(events)


def _compare(found: Iterable[Span], wanted: Iterable[Span], clock: Timebase) -> None:
    for seen, planned in zip_longest(found, wanted):
        if seen != planned:
            raise ListMismatchError(
                f"the new list, read back, shows {_named(seen, clock)} where "
                f"{_named(planned, clock)} was planned; do not use it, and report this"
            )


def _named(span: Span | None, clock: Timebase) -> str:
    if span is None:
        return "nothing"
    return (
        f"{len(span.record)} frames of {span.reel or 'no reel'} at "
        f"{clock.label(span.record.start)} on {span.track}"
    )
