"""Writing somebody's EDL anew after frames went out of it; what was not touched stays as it was."""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from impactcut.core.grouping import grouped
from impactcut.core.programme.sequence import Piece, SequenceEvent, ends_of, is_picture
from impactcut.core.recut.cutting import Recut
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import DROP_RATES, Timebase
from impactcut.lists.edl.document import Block, EdlDocument, motion_events
from impactcut.lists.edl.note_times import NAMES, TimedNote, timed_notes
from impactcut.lists.edl.sequence import cut_name
from impactcut.lists.edl.statements import (
    EventLine,
    ExtraAudio,
    FrameCodeMode,
    Motion,
    Note,
    Statement,
    Title,
    channel_field,
    write_statements,
)
from impactcut.lists.edl.write import EVENTS_IN_A_LIST, part_title

BLACK = "BL"
"""The reel of black, from which a transition leads where it has nothing else to lead from."""
_USUAL_DIGITS = 3


@dataclass(frozen=True)
class _Unit:
    """Statements under one event number."""

    record_in: int
    statements: tuple[Statement, ...]


def reissue(document: EdlDocument, done: Recut, title: str) -> tuple[str, ...]:
    """The text of a list after its events were cut and moved.

    Events stand in record order and are numbered from 1; reels, notes and everything unknown stay
    verbatim, but for times of the programme in notes: they move along, and such a note is written
    once, with the piece that it is about. A list of more than 999 events goes on in a second one,
    unless its event numbers had more than three digits before.

    Parameters
    ----------
    document : EdlDocument
        The list, all of it understood.
    done : Recut
        Of its events.
    """
    timed = timed_notes(document, done.events)
    units = _units(document, done, timed)
    digits = max(event.digits for event in document.events)
    most = EVENTS_IN_A_LIST if digits <= _USUAL_DIGITS else 10**digits - 1
    if len(units) > most:
        units = _units(document, done, timed, in_parts=True)
    parts = [units[at : at + most] for at in range(0, len(units), most)]
    texts = []
    for number, part in enumerate(parts, 1):
        above = _header(document.blocks[0], timed, done, number == 1)
        top = [part_title(title, number, len(parts)), *above]
        texts.append(write_statements(_with_modes(top, _numbered(part), document.record_clock)))
    return tuple(texts)


def is_in_order(document: EdlDocument, events: Sequence[SequenceEvent]) -> bool:
    """Whether the list, whose events are given in its order, stands in record order."""
    starts = [min(events[at].record.start for at in places) for _, places in document.numbered]
    return all(first <= second for first, second in pairwise(starts))


def _header(
    header: Iterable[Statement], timed: Mapping[int, TimedNote], done: Recut, first: bool
) -> Iterator[Statement]:
    """What stands above the events but for the title; timed notes in the first of several only."""
    for each in header:
        note = timed.get(each.line)
        if note is not None and first:
            yield note.moved(done.clock.moved)
        elif note is None and not isinstance(each, Title):
            yield each


def _units(
    document: EdlDocument, done: Recut, timed: Mapping[int, TimedNote], in_parts: bool = False
) -> list[_Unit]:
    """The units in record order; ``in_parts``: each must say itself what its transition leaves."""
    left, ends = done.left, ends_of(done.pieces)
    found: list[_Unit] = []
    for block, numbers in document.numbered:
        plain = block.without(timed)
        units: list[_Unit] = []
        for part in _parts(left[number] for number in numbers):
            writer = _BlockWriter(plain, numbers, part, document.events, left, ends, in_parts)
            units += writer.units(foremost=not units)
        for statement in (*block.leading, *block.body):
            if statement.line in timed:
                _place(units, timed[statement.line], done)
        found += units
    return sorted(found, key=lambda unit: unit.record_in)


def _place(units: list[_Unit], note: TimedNote, done: Recut) -> None:
    """Put a note into the unit that shows its first frame, or the last before that."""
    frame = min((done.clock.moved(frame) for _, frame in note.places), default=0)
    before = [at for at, unit in enumerate(units) if unit.record_in <= frame]
    at = max(before, key=lambda at: (units[at].record_in, -at), default=0)
    statements = units[at].statements
    start = next(at for at, each in enumerate(statements) if isinstance(each, EventLine)) + 1
    later = (n for n in range(start, len(statements)) if statements[n].line > note.note.line)
    place = next(later, len(statements))
    moved = note.moved(done.clock.moved)
    units[at] = replace(units[at], statements=(*statements[:place], moved, *statements[place:]))


def _parts(lines: Iterable[Sequence[Piece]]) -> list[frozenset[str]]:
    """The tracks of a block: all together, or apart where they were parted; picture first."""
    pieces = [piece for left in lines for piece in left]
    parts = [frozenset(track for piece in pieces for track in piece.tracks)]
    for piece in pieces:
        if piece.tracks != piece.event.tracks:
            halves = ((part & piece.tracks, part - piece.tracks) for part in parts)
            parts = [half for both in halves for half in both if half]
    return sorted(parts, key=lambda part: not any(map(is_picture, part)))


@dataclass(frozen=True)
class _BlockWriter:
    """Writes what is left of the events of one number, on some of their tracks.

    The first piece of an event keeps the event's place in the block. Where a transition follows
    in the block, the last does: it is what goes on under the transition. All others get a number
    of their own.
    """

    _block: Block
    _numbers: range
    _tracks: frozenset[str]
    _lines: Sequence[EventLine]
    _left: Mapping[int, Sequence[Piece]]
    _ends: Container[tuple[str, int]]
    _in_parts: bool

    @cached_property
    def _own(self) -> Mapping[int, Sequence[Piece]]:
        """Pieces of each event on the tracks, in record order."""
        return {
            index: [
                replace(piece, tracks=piece.tracks & self._tracks)
                for piece in self._left[index]
                if piece.tracks & self._tracks
            ]
            for index in self._numbers
        }

    @cached_property
    def _led(self) -> Mapping[int, Sequence[int]]:
        """The events of the block that lead away from each."""
        return grouped(
            (before, index)
            for index in self._numbers
            for before in {before for _, before in self._leaves(index)} & set(self._numbers)
        )

    def units(self, foremost: bool) -> Iterator[_Unit]:
        """The units, that of the block first.

        ``foremost`` is true for the first tracks of the block that are written: what is neither a
        note nor about their sources stands there only. Where a line of the block has nothing on
        the tracks, what stands below it goes below the next that has; its notes do so only in a
        transition.
        """
        others: list[_Unit] = []
        statements = [
            each for each in self._block.leading if foremost or isinstance(each, FrameCodeMode)
        ]
        waiting: list[Statement] = []
        records: list[int] = []
        numbers = iter(self._numbers)
        piece: Piece | None = None
        for statement in self._block.body:
            if isinstance(statement, EventLine):
                index = next(numbers)
                piece, apart = self._staying(index)
                others += (
                    _Unit(each.record.start, tuple(_statements_apart(self._block, statement, each)))
                    for each in apart
                )
                if piece is None:
                    for led in self._led.get(index, ()):
                        statements += self._outgoing(led, index)
                else:
                    statements += self._outgoing(index, None)
                    statements += (_line(statement, piece), *self._name_lost(index, waiting))
                    records.append(piece.record.start)
            elif isinstance(statement, ExtraAudio):
                statements += _extra_audio(statement, piece)
            elif isinstance(statement, Motion):
                statements += [statement] if self._moves(statement, foremost) else []
            elif isinstance(statement, FrameCodeMode):
                # Where a line is left out, modes are put in as they are needed.
                statements += [statement] if all(self._own.values()) else []
            elif self._is_kept(statement, index, foremost):
                waiting.append(statement)
            if any(isinstance(each, EventLine) for each in statements):
                statements += waiting
                waiting = []
        yield _Unit(min(records), tuple(statements))
        yield from others

    def _is_kept(self, statement: Statement, index: int, foremost: bool) -> bool:
        """Whether what stands below an event of the block is written with these tracks."""
        if not isinstance(statement, Note):
            return foremost
        if not self._block.is_transition:
            return bool(self._own[index])
        return self._leads or statement.keyword != "SOURCE FILE"

    def _name_lost(self, index: int, waiting: Iterable[Statement]) -> Iterator[Note]:
        """The name of a cut's clip where it stood below a line that these tracks have not.

        Or where ``waiting`` statements, of such a line, would name it otherwise.
        """
        name = self._own[index][0].event.name
        below = [*waiting]
        for at in range(index, self._numbers.stop):
            if at > index and self._own[at]:
                break
            said = self._block.after(self._lines[at])
            below += (each for each in said if self._is_kept(each, at, foremost=False))
        parted = not all(self._own.values()) and not self._leads
        if name and parted and cut_name(below) != name:
            yield Note(keyword="FROM CLIP NAME", value=name)

    @cached_property
    def _leads(self) -> bool:
        """Whether something else than a cut leads to one of the events on these tracks."""
        return any(self._lines[at].transition != "C" for at in self._numbers if self._own[at])

    def _moves(self, motion: Motion, foremost: bool) -> bool:
        """Whether a motion statement is about an event on these tracks."""
        about = motion_events(self._block.body)[motion]
        own = (index for index in self._numbers if self._lines[index] is about)
        return foremost if about is None else any(self._own[index] for index in own)

    def _leaves(self, index: int) -> Sequence[tuple[str, int]]:
        """What an event's transition leads away from, by track."""
        return [
            (track, before)
            for piece in self._own[index][:1]
            for track, before in piece.event.leaves
            if track in piece.tracks
        ]

    def _staying(self, index: int) -> tuple[Piece | None, Sequence[Piece]]:
        """The piece that keeps the event's line in the block, and those that do not."""
        pieces = self._own[index]
        if not pieces:
            return None, ()
        if index not in self._led:
            return pieces[0], pieces[1:]
        if pieces[-1].under is None:
            return pieces[-1], pieces[:-1]
        return None, pieces

    def _outgoing(self, index: int, beside: int | None) -> Iterator[Statement]:
        """Lines of no length for what goes on under the transition of an event.

        That is the event ``beside`` it in the block, or, where None, those of other numbers.

        They are written where the frames before it were taken out: the transition then stands
        beside the frame that it stood beside, not beside the last that is left.
        """
        found: dict[tuple[int, int], set[str]] = {}
        for track, before in self._leaves(index):
            last = [piece for piece in self._left[before] if track in piece.tracks][-1]
            meant = before not in self._numbers if beside is None else before == beside
            if meant and (last.under is not None or (beside is None and self._in_parts)):
                out = last.source.stop if last.under is None else last.under
                found.setdefault((before, out), set()).add(track)
        record = self._own[index][0].record.start % self._lines[index].record_clock.day
        for (before, out), tracks in found.items():
            yield from _empty_line(self._lines[before], out, record, tracks)
        if beside is None and (bare := self._come_to_lie_beside(index)):
            black = replace(self._lines[index], reel=BLACK)
            yield from _empty_line(black, 0, record, bare)

    def _come_to_lie_beside(self, index: int) -> frozenset[str]:
        """Tracks on which a transition led away from nothing, and now something ends there."""
        first = self._own[index][0]
        if not first.event.entered:
            return frozenset()
        bare = first.tracks - {track for track, _ in first.event.leaves}
        return frozenset(track for track in bare if (track, first.record.start) in self._ends)


def _empty_line(
    line: EventLine, source: int, record: int, tracks: Collection[str]
) -> Iterator[Statement]:
    """A line of no length on some tracks of another's, with its AUD line if it needs one."""
    in_field = frozenset(track for track in tracks if track in line.tracks)
    placed = line.placed(line.number, FrameRange(source, source), FrameRange(record, record))
    yield replace(
        placed,
        transition="C",
        duration=None,
        channels=channel_field(in_field),
        tracks=in_field,
        remainder="",
    )
    if beyond := frozenset(tracks) - in_field:
        yield ExtraAudio(tracks=beyond)


def _extra_audio(extra: ExtraAudio, piece: Piece | None) -> Iterator[ExtraAudio]:
    """An AUD line with those of its tracks that the piece has."""
    tracks = frozenset() if piece is None else extra.tracks & piece.tracks
    if tracks == extra.tracks:
        yield extra
    elif tracks:
        yield ExtraAudio(tracks=tracks)


def _statements_apart(block: Block, line: EventLine, piece: Piece) -> Iterator[Statement]:
    """The statements of a piece under a number of its own."""
    yield replace(_line(line, piece), transition="C", duration=None)
    notes = block.after(line)
    if block.is_transition:
        notes = tuple(each for each in notes if not _names_a_clip(each))
    if piece.event.name and cut_name(notes) != piece.event.name:
        yield Note(keyword="FROM CLIP NAME", value=piece.event.name)
    for each in notes:
        if isinstance(each, ExtraAudio):
            yield from _extra_audio(each, piece)
        elif isinstance(each, Note):
            yield each


def _names_a_clip(statement: Statement) -> bool:
    return isinstance(statement, Note) and statement.keyword in NAMES


def _line(line: EventLine, piece: Piece) -> EventLine:
    tracks = line.tracks & piece.tracks
    day = line.record_clock.day
    record = piece.record.shifted(-(piece.record.start // day) * day)
    same = (piece.source, record) == (line.source, line.record)
    if not line.tracks or tracks == line.tracks:
        return line if same else line.placed(line.number, piece.source, record)
    placed = line.placed(line.number, piece.source, record)
    return replace(placed, channels=channel_field(tracks), tracks=tracks)


def _numbered(units: Iterable[_Unit]) -> Iterator[Statement]:
    for number, unit in enumerate(units, 1):
        for statement in unit.statements:
            if isinstance(statement, EventLine) and statement.number != number:
                yield statement.placed(number, statement.source, statement.record)
            else:
                yield statement


def _with_modes(
    header: Sequence[Statement], statements: Iterable[Statement], record_clock: Timebase
) -> Iterator[Statement]:
    """The statements, with a frame-code mode wherever the source count would be another one."""
    drop = record_clock.drop_frame
    modes = (each.drop_frame for each in header if isinstance(each, FrameCodeMode))
    stated = [] if any(mode is not None for mode in modes) else [FrameCodeMode(drop_frame=drop)]
    for statement in (*header, *stated, *statements):
        if isinstance(statement, FrameCodeMode) and statement.drop_frame is not None:
            drop = statement.drop_frame and record_clock.rate in DROP_RATES
        clock = statement.source_clock if isinstance(statement, EventLine | Motion) else None
        if clock is not None and clock.drop_frame != drop:
            drop = clock.drop_frame
            yield FrameCodeMode(drop_frame=drop)
        yield statement
