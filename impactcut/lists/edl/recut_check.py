"""The check before a recut list is handed over: read back, it must be the old list as changed.

Compared are what every track shows frame by frame, by the change list too and both ways; every
event line; what stands on both sides of each transition; motion; and every note with its times.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import NamedTuple, TypeVar

from impactcut.core.programme.change_list import ChangeList
from impactcut.core.programme.sequence import SequenceEvent
from impactcut.core.recut.cutting import Recut
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListError, ListMismatchError
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.facts import (
    CLIP_NAME,
    Facts,
    JoinFact,
    LineFact,
    MotionFact,
    expected_facts,
    facts_of,
)
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.reissue import is_in_order
from impactcut.lists.edl.sequence import sequence_of
from impactcut.lists.edl.statements import Title
from impactcut.lists.track_check import REMEDY, compare_tracks


class _Read(NamedTuple):
    document: EdlDocument
    events: tuple[SequenceEvent, ...]


def check_recut(
    texts: Iterable[str], document: EdlDocument, done: Recut, changes: ChangeList
) -> None:
    """Read a recut list back and compare it with the old list, its pieces and the change list.

    Parameters
    ----------
    texts : iterable of str
        The new list, in record order.
    document : EdlDocument
        The old list.
    done : Recut
        Of its events.
    changes : ChangeList
        As read back from what is handed over.

    Raises
    ------
    ListMismatchError
        If the changes do not turn the old list into the new one, or the new one into the old; or
        an event, a transition's side, a note or a time in it is not where it must be.
    """
    read = [_read_back(text, document.record_clock) for text in texts]
    compare_tracks((event for each in read for event in each.events), done, changes)
    found = Facts()
    for each in read:
        _check_form(each)
        facts = facts_of(*each)
        found.lines += facts.lines
        found.joins += facts.joins
        found.motions += facts.motions
        found.notes += facts.notes
        found.others += facts.others
    expected = expected_facts(document, done, len(read))
    clock = document.record_clock
    _compare_counts(found.lines, expected.facts.lines, lambda fact: _named_line(fact, clock))
    _compare_counts(found.joins, expected.facts.joins, lambda fact: _named_join(fact, clock))
    _compare_counts(found.motions, expected.facts.motions, _named_motion)
    _compare_counts(found.others, expected.facts.others, repr)
    _compare_notes(found.notes, expected.facts.notes, expected.most)


def _read_back(text: str, clock: Timebase) -> _Read:
    try:
        document = parse_edl(text, clock.rate)
        events = sequence_of(document)
    except ListError as error:
        raise ListMismatchError(f"the new list cannot be read back: {error}") from error
    if document.record_clock != clock:
        raise ListMismatchError(
            f"the new list, read back, counts at {document.record_clock}, not {clock}"
        )
    return _Read(document, events)


def _check_form(read: _Read) -> None:
    """Refuse a list without a title, out of order, or whose numbers leave one out."""
    first = read.document.statements[0]
    if not isinstance(first, Title) or not first.title:
        raise ListMismatchError(f"the new list, read back, does not begin with a title; {REMEDY}")
    if not is_in_order(*read):
        raise ListMismatchError(f"the new list, read back, is not in record order; {REMEDY}")
    numbers = [0, *(event.number for event in read.document.events)]
    steps = {after - before for before, after in pairwise(numbers)}
    if numbers[1] != 1 or not steps <= {0, 1}:
        raise ListMismatchError(f"the new list, read back, lacks an event number; {REMEDY}")


Fact = TypeVar("Fact", LineFact, JoinFact, MotionFact, str)


def _compare_counts(
    found: Counter[Fact], expected: Counter[Fact], named: Callable[[Fact], str]
) -> None:
    missing, beyond = sorted((expected - found).items()), sorted((found - expected).items())
    if missing or beyond:
        fact, _ = (missing or beyond)[0]
        verb = "misses" if missing else "has, beyond what was planned,"
        raise ListMismatchError(f"the new list, read back, {verb} {named(fact)}; {REMEDY}")


def _compare_notes(found: Counter[str], least: Counter[str], most: Counter[str]) -> None:
    for text, count in sorted(least.items()):
        if found[text] < count:
            raise ListMismatchError(f"the new list, read back, lacks the note {text!r}; {REMEDY}")
    for text, count in sorted(found.items()):
        if count > most[text] and not text.startswith(f"* {CLIP_NAME}: "):
            raise ListMismatchError(
                f"the new list, read back, has the note {text!r} {count} times, which is not "
                f"planned; {REMEDY}"
            )


def _named_line(fact: LineFact, clock: Timebase) -> str:
    name = f" ({fact.name})" if fact.name else ""
    return (
        f"{fact.record.length} frames of {fact.reel or 'no reel'}{name} at "
        f"{clock.label(fact.record.first)} on {fact.track}"
    )


def _named_join(fact: JoinFact, clock: Timebase) -> str:
    out = "nothing" if fact.out_of is None else fact.out_of[0]
    return (
        f"the transition {fact.transition} from {out} to {fact.into[0]} at "
        f"{clock.label(fact.record)} on {fact.track}, with its frames on both sides"
    )


def _named_motion(fact: MotionFact) -> str:
    return f"{fact.text!r} with its event"
