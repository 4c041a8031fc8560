"""The check before a recut list is handed over: read back, it must be the old list as changed.

Compared are what every track shows frame by frame, by the change list too and both ways; and all
that a list says, as facts that are counted: every event line, what stands on both sides of each
transition, motion, and every note with its times. The facts expected of a new list are taken from
the old one and from the pieces of its events, by no way that the new list was written by.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from types import UnionType

from impactcut.core.programme.change_list import ChangeList
from impactcut.core.programme.sequence import Piece, SequenceEvent, ends_of
from impactcut.core.recut.cutting import Recut
from impactcut.core.time.frames import FrameRange
from impactcut.errors import ListMismatchError
from impactcut.lists.edl.check import read_back
from impactcut.lists.edl.document import EdlDocument, motion_events
from impactcut.lists.edl.note_times import timed_notes
from impactcut.lists.edl.reissue import BLACK, is_in_order
from impactcut.lists.edl.statements import (
    Carried,
    EventLine,
    FrameCodeMode,
    Note,
    Split,
    Statement,
    Title,
)
from impactcut.lists.track_check import REMEDY, compare_tracks

_CUT = "C 0"
_SAID = Note | Carried | Split


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
    read = [read_back(text, document.record_clock, "the new list") for text in texts]
    compare_tracks((event for _, events in read for event in events), done, changes)
    found, notes = Counter[str](), Counter[str]()
    for new, events in read:
        _check_form(new, events)
        found.update(_facts(new, events))
        notes.update(_texts(new.statements, Note))
    planned = Counter(_planned_facts(document, done, len(read)))
    missing, beyond = sorted(planned - found), sorted(found - planned)
    if missing or beyond:
        verb = "misses" if missing else "has, beyond what was planned,"
        raise ListMismatchError(
            f"the new list, read back, {verb} {(missing or beyond)[0]}; {REMEDY}"
        )
    _compare_notes(notes, *_planned_notes(document, done, len(read)))
    _check_blocks(read, document, done)


def _check_form(document: EdlDocument, events: Sequence[SequenceEvent]) -> None:
    """Refuse a list without a title, out of order, or whose numbers leave one out."""
    first = document.statements[0]
    numbers = [0, *(event.number for event in document.events)]
    steps = {after - before for before, after in pairwise(numbers)}
    faults = {
        "does not begin with a title": not isinstance(first, Title) or not first.title,
        "does not say first how it counts": not any(map(_names_mode, document.blocks[0])),
        "is not in record order": not is_in_order(document, events),
        "lacks an event number": numbers[1] != 1 or not steps <= {0, 1},
    }
    for fault, found in faults.items():
        if found:
            raise ListMismatchError(f"the new list, read back, {fault}; {REMEDY}")


def _facts(document: EdlDocument, events: Sequence[SequenceEvent]) -> Iterator[str]:
    """All that a list says whose events are given, but for its notes."""
    for line, event in zip(document.events, events, strict=True):
        whole = Piece(event, event.tracks, event.source, event.record)
        for track in event.tracks:
            yield _line(line, whole, track, _transition(line))
            if event.entered:
                before = dict(event.leaves).get(track)
                out = None if before is None else _side(events[before], events[before].source.stop)
                yield _join(line, whole, track, out)
    wholes = {
        event.index: [Piece(event, event.tracks, event.source, event.record)] for event in events
    }
    yield from _motions(document, events, wholes)
    yield from _texts(document.statements, Carried | Split)


def _planned_facts(document: EdlDocument, done: Recut, parts: int) -> Iterator[str]:
    """The same of the new list, from the old ``document`` and its pieces.

    ``parts`` are the lists that the new one is in; each has what stands above the events.
    """
    left, ends = done.left, ends_of(done.pieces)
    for line, event in zip(document.events, done.events, strict=True):
        met: set[str] = set()
        for piece in left[event.index]:
            for track in piece.tracks:
                yield _line(line, piece, track, _CUT if track in met else _transition(line))
            met |= piece.tracks
        for track in event.tracks if event.entered else ():
            yield from _planned_join(line, event, track, left, document, ends, parts > 1)
    yield from _motions(document, done.events, left)
    yield from _texts(document.statements, Carried | Split)
    for _ in range(parts - 1):
        yield from _texts(document.blocks[0], Carried | Split)


def _planned_join(
    line: EventLine,
    event: SequenceEvent,
    track: str,
    left: Mapping[int, Sequence[Piece]],
    document: EdlDocument,
    ends: Container[tuple[str, int]],
    in_parts: bool,
) -> Iterator[str]:
    """Both sides of an event's transition; a line of no length where the frame before is gone.

    In a list of several parts every transition has its own line for what it leads away from.
    """
    first = next(piece for piece in left[event.index] if track in piece.tracks)
    at = FrameRange(first.record.start, first.record.start)
    before = dict(event.leaves).get(track)
    if before is None:
        black = (track, at.start) in ends
        yield _join(line, first, track, f"{BLACK} 0" if black else None)
        if black:
            empty = Piece(event, frozenset({track}), FrameRange(0, 0), at)
            yield _line(replace(line, reel=BLACK, remainder=""), empty, track, _CUT)
        return
    last = [piece for piece in left[before] if track in piece.tracks][-1]
    out = last.source.stop if last.under is None else last.under
    yield _join(line, first, track, _side(last.event, out))
    other = document.events[before]
    if last.under is not None or (in_parts and other.number != line.number):
        empty = Piece(last.event, frozenset({track}), FrameRange(out, out), at)
        yield _line(replace(other, remainder=""), empty, track, _CUT)


def _line(line: EventLine, piece: Piece, track: str, transition: str) -> str:
    """An event line on one of its tracks; one of no length has no name."""
    name = f" ({piece.event.name})" if piece.event.name and piece.record else ""
    return (
        f"{len(piece.record)} frames of {line.reel or 'no reel'}{name} at "
        f"{line.record_clock.label(piece.record.start)} on {track}, {len(piece.source)} from "
        f"{line.source_clock.label(piece.source.start)}, entered by {transition} {line.remainder}"
    )


def _join(line: EventLine, first: Piece, track: str, out: str | None) -> str:
    """A transition on one track, and what stands on both sides of it."""
    return (
        f"the transition {_transition(line)} from {out or 'nothing'} to "
        f"{_side(first.event, first.source.start)} at "
        f"{line.record_clock.label(first.record.start)} on {track}"
    )


def _side(event: SequenceEvent, frame: int) -> str:
    return f"{event.reel} {frame % event.source_clock.day}"


def _motions(
    document: EdlDocument, events: Sequence[SequenceEvent], left: Mapping[int, Sequence[Piece]]
) -> Iterator[str]:
    """Motion statements, on each track with the first that is left of the event they are about."""
    by_line = {line.line: each for line, each in zip(document.events, events, strict=True)}
    for motion, about in motion_events(document.statements).items():
        if about is None:
            yield repr(motion.written())
            continue
        event = by_line[about.line]
        start = event.source_clock.label(event.source.start)
        source = f"{event.reel} {start} {len(event.source)}"
        for track in event.tracks:
            piece = next(each for each in left[event.index] if track in each.tracks)
            yield f"{motion.written()!r} of {source} at {piece.record} on {track}"


def _planned_notes(
    document: EdlDocument, done: Recut, parts: int
) -> tuple[Counter[str], Counter[str]]:
    """How often each note must stand in the new list at the least, and may at the most."""
    least, most = Counter[str](), Counter[str]()
    timed = timed_notes(document, done.events)
    header = document.blocks[0]
    places: list[tuple[Iterable[Statement], int]] = [(header, parts)]
    for block, numbers in document.numbered:
        places.append((block.leading, 1))
        places.append((block.body, sum(len(done.left[number]) for number in numbers)))
    for statements, often in places:
        for note in (each for each in statements if isinstance(each, Note)):
            at_time = timed.get(note.line)
            text = (note if at_time is None else at_time.moved(done.clock.moved)).written()
            least[text] += parts if statements is header and at_time is None else 1
            most[text] += often if at_time is None else 1
    for pieces in done.left.values():
        most.update(_name_of(piece) for piece in pieces)
    return least, most


def _compare_notes(found: Counter[str], least: Counter[str], most: Counter[str]) -> None:
    for text in sorted(least - found):
        raise ListMismatchError(f"the new list, read back, lacks the note {text!r}; {REMEDY}")
    for text in sorted(found - most):
        raise ListMismatchError(
            f"the new list, read back, has the note {text!r} {found[text]} times, which is not "
            f"planned; {REMEDY}"
        )


_Place = tuple[str, int, int]
"""Reel, and record and source frame since midnight, of what is left of an event."""


def _check_blocks(
    read: Sequence[tuple[EdlDocument, Sequence[SequenceEvent]]], document: EdlDocument, done: Recut
) -> None:
    """Refuse events under one number that had several, and what is said apart from its events."""
    timed = timed_notes(document, done.events)

    def texts(statements: Iterable[Statement]) -> set[str]:
        said = (each for each in statements if isinstance(each, _SAID))
        moved = (timed[s.line].moved(done.clock.moved) if s.line in timed else s for s in said)
        return {each.written() for each in moved}

    above = texts(document.blocks[0])
    said: list[tuple[set[str], set[str]]] = []
    blocks: dict[_Place, set[int]] = {}
    for at, (block, numbers) in enumerate(document.numbered):
        pieces = [piece for number in numbers for piece in done.left[number]]
        leading = texts(block.leading)
        said.append((above | leading, leading | texts(block.body) | set(map(_name_of, pieces))))
        for piece in pieces:
            place = _place(piece.event, piece.record, piece.source, document)
            blocks.setdefault(place, set()).add(at)
    for new, events in read:
        header: Sequence[Statement] = new.blocks[0]
        for block, numbers in new.numbered:
            own = events[numbers.start : numbers.stop]
            found = [blocks.get(_place(each, each.record, each.source, new), set()) for each in own]
            lasting = [those for each, those in zip(own, found, strict=True) if each.record]
            if lasting and not set.intersection(*lasting):
                number = own[0].number
                raise ListMismatchError(
                    f"the new list, read back, has events of several numbers as its {number}; "
                    f"{REMEDY}"
                )
            old = [said[at] for each in found for at in each]
            for at, statements in enumerate((header, (*block.leading, *block.body))):
                may = set[str]().union(*(each[at] for each in old))
                for text in sorted(set(_texts(statements, _SAID)) - may):
                    raise ListMismatchError(
                        f"the new list, read back, has {text!r} elsewhere than planned; {REMEDY}"
                    )
            header = ()


def _place(
    event: SequenceEvent, record: FrameRange, source: FrameRange, document: EdlDocument
) -> _Place:
    days = document.record_clock.day, event.source_clock.day
    return event.reel, record.start % days[0], source.start % days[1]


def _name_of(piece: Piece) -> str:
    """The note that a piece is given where its event's name stood in another's note."""
    return Note(keyword="FROM CLIP NAME", value=piece.event.name).written()


def _names_mode(statement: Statement) -> bool:
    return isinstance(statement, FrameCodeMode) and statement.drop_frame is not None


def _transition(line: EventLine) -> str:
    return f"{line.transition} {line.duration or 0}"


def _texts(statements: Iterable[Statement], kind: type[Statement] | UnionType) -> Iterator[str]:
    return (each.written() for each in statements if isinstance(each, kind))
