"""What an EDL says, as facts to be counted: as the old list and its pieces have it, and as read.

The facts expected of a new list are taken from the old one and from the pieces of its events, by
no way that the new list was written by.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from impactcut.core.programme.sequence import Piece, SequenceEvent, ends_of
from impactcut.core.recut.cutting import Recut
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.lists.edl.document import EdlDocument, motion_events
from impactcut.lists.edl.marks import marks_of
from impactcut.lists.edl.statements import Carried, EventLine, Motion, Note, Split, Statement

BLACK = "BL"
CLIP_NAME = "FROM CLIP NAME"
"""Keyword of the note that a piece is given where its event's name stood in another's note."""

_CUT = "C 0"


class Place(NamedTuple):
    """Frames since midnight: the first, and how many."""

    first: int
    length: int


class LineFact(NamedTuple):
    """An event line on one of its tracks; ``name`` is left empty for a line of no length."""

    track: str
    record: Place
    reel: str
    source: Place
    drop_frame: bool
    transition: str
    name: str
    remainder: str


class JoinFact(NamedTuple):
    """A transition on one track: where it is, and what stands on both sides of it."""

    track: str
    record: int
    transition: str
    out_of: tuple[str, int] | None
    into: tuple[str, int]


class MotionFact(NamedTuple):
    """A motion statement, and the event that it is about."""

    text: str
    reel: str
    source: Place
    record: Place


@dataclass
class Facts:
    """What a list says.

    Parameters
    ----------
    lines : Counter of LineFact
    joins : Counter of JoinFact
    motions : Counter of MotionFact
    notes : Counter of str
        How often each note stands there.
    others : Counter of str
        Lines that are no event, note, title or mode, nor AUD.
    """

    lines: Counter[LineFact] = field(default_factory=Counter)
    joins: Counter[JoinFact] = field(default_factory=Counter)
    motions: Counter[MotionFact] = field(default_factory=Counter)
    notes: Counter[str] = field(default_factory=Counter)
    others: Counter[str] = field(default_factory=Counter)


def facts_of(document: EdlDocument, events: Sequence[SequenceEvent]) -> Facts:
    """What a list says whose events are given."""
    facts = Facts()
    for line, event in zip(document.events, events, strict=True):
        whole = Piece(event, event.tracks, event.source, event.record)
        facts.lines.update(_lines(line, whole, _transition(line)))
        for track in event.tracks if event.entered else ():
            before = dict(event.leaves).get(track)
            out = None if before is None else _side(events[before], events[before].source.stop)
            facts.joins[_join(line, whole, track, out)] += 1
    by_line = {line.line: each for line, each in zip(document.events, events, strict=True)}
    for motion, about in motion_events(document.statements).items():
        moving = None if about is None else by_line[about.line]
        facts.motions[_motion(motion, moving, None if moving is None else moving.record)] += 1
    facts.notes.update(_texts(document.statements, Note))
    facts.others.update(_others(document.statements))
    return facts


@dataclass(frozen=True)
class Expected:
    """What a new list must say.

    Parameters
    ----------
    facts : Facts
        With every note as often as it must stand there at the least.
    most : Counter of str
        How often each note may stand there at the most.
    """

    facts: Facts
    most: Counter[str]


def expected_facts(document: EdlDocument, done: Recut, parts: int) -> Expected:
    """What the new list must say, from the old ``document`` and its pieces.

    Parameters
    ----------
    document : EdlDocument
    done : Recut
    parts : int
        Lists that the new one is in; each has what stands above the events.
    """
    facts, most, ends = Facts(), Counter[str](), ends_of(done.pieces)
    left: dict[int, list[Piece]] = {}
    for piece in sorted(done.pieces, key=lambda piece: piece.record):
        left.setdefault(piece.event.index, []).append(piece)
    for line, event in zip(document.events, done.events, strict=True):
        met: set[str] = set()
        for piece in left[event.index]:
            head = piece.tracks - met
            for tracks, transition in ((head, _transition(line)), (piece.tracks & met, _CUT)):
                facts.lines.update(_lines(line, piece, transition, tracks))
            met |= piece.tracks
        _expect_joins(facts, line, event, left, document, ends, parts > 1)
    by_line = {line.line: each for line, each in zip(document.events, done.events, strict=True)}
    for motion, about in motion_events(document.statements).items():
        moving = None if about is None else by_line[about.line]
        record = None if moving is None else left[moving.index][0].record
        facts.motions[_motion(motion, moving, record)] += 1
    _expect_notes(facts, most, document, done, left, parts)
    header = document.blocks[0]
    for text, count in Counter(_others(document.statements)).items():
        facts.others[text] = count
    for text in _others(header):
        facts.others[text] += parts - 1
    return Expected(facts, most)


def _expect_joins(
    facts: Facts,
    line: EventLine,
    event: SequenceEvent,
    left: Mapping[int, Sequence[Piece]],
    document: EdlDocument,
    ends: Container[tuple[str, int]],
    in_parts: bool,
) -> None:
    """Both sides of an event's transition; a line of no length where the frame before is gone.

    In a list of several parts every transition has its own line for what it leads away from.
    """
    if not event.entered:
        return
    for track in event.tracks:
        first = next(piece for piece in left[event.index] if track in piece.tracks)
        at = FrameRange(first.record.start, first.record.start)
        before = dict(event.leaves).get(track)
        if before is None:
            black = (track, at.start) in ends
            facts.joins[_join(line, first, track, (BLACK, 0) if black else None)] += 1
            if black:
                empty = Piece(event, frozenset({track}), FrameRange(0, 0), at)
                facts.lines.update(_lines(replace(line, reel=BLACK), empty, _CUT, remainder=""))
            continue
        last = [piece for piece in left[before] if track in piece.tracks][-1]
        out = last.source.stop if last.under is None else last.under
        facts.joins[_join(line, first, track, _side(last.event, out))] += 1
        other = document.events[before]
        apart = in_parts and other.number != line.number
        if last.under is not None or apart:
            empty = Piece(last.event, frozenset({track}), FrameRange(out, out), at)
            facts.lines.update(_lines(other, empty, _CUT, remainder=""))


def _expect_notes(
    facts: Facts,
    most: Counter[str],
    document: EdlDocument,
    done: Recut,
    left: Mapping[int, Sequence[Piece]],
    parts: int,
) -> None:
    marks = marks_of(document, done.events)
    header, blocks = document.blocks
    index = 0
    places: list[tuple[Iterable[Statement], int]] = [(header, parts)]
    for block in blocks:
        numbers = range(index, index + len(block.events))
        index = numbers.stop
        places.append((block.leading, 1))
        places.append((block.body, sum(len(left[number]) for number in numbers)))
    for statements, often in places:
        for note in (each for each in statements if isinstance(each, Note)):
            mark = marks.get(note.line)
            text = (note if mark is None else mark.moved(done.clock.moved)).written()
            facts.notes[text] += parts if statements is header and mark is None else 1
            most[text] += often if mark is None else 1


def _lines(
    line: EventLine,
    piece: Piece,
    transition: str,
    tracks: Iterable[str] | None = None,
    remainder: str | None = None,
) -> Iterator[LineFact]:
    name = piece.event.name if piece.record else ""
    for track in piece.tracks if tracks is None else tracks:
        yield LineFact(
            track=track,
            record=_place(piece.record, line.record_clock),
            reel=line.reel,
            source=_place(piece.source, line.source_clock),
            drop_frame=line.source_clock.drop_frame,
            transition=transition,
            name=name,
            remainder=line.remainder if remainder is None else remainder,
        )


def _join(line: EventLine, first: Piece, track: str, out: tuple[str, int] | None) -> JoinFact:
    record = first.record.start % line.record_clock.day
    return JoinFact(track, record, _transition(line), out, _side(first.event, first.source.start))


def _side(event: SequenceEvent, frame: int) -> tuple[str, int]:
    return event.reel, frame % event.source_clock.day


def _motion(motion: Motion, event: SequenceEvent | None, record: FrameRange | None) -> MotionFact:
    if event is None or record is None:
        return MotionFact(motion.written(), "", Place(0, 0), Place(0, 0))
    return MotionFact(
        motion.written(),
        event.reel,
        _place(event.source, event.source_clock),
        Place(record.start, len(record)),
    )


def _place(frames: FrameRange, clock: Timebase) -> Place:
    return Place(frames.start % clock.day, len(frames))


def _transition(line: EventLine) -> str:
    return f"{line.transition} {line.duration or 0}"


def _texts(statements: Iterable[Statement], kind: type[Statement]) -> Iterator[str]:
    return (each.written() for each in statements if isinstance(each, kind))


def _others(statements: Iterable[Statement]) -> Iterator[str]:
    kinds = (Carried, Split)
    return (each.written() for each in statements if isinstance(each, kinds))
