"""Writing somebody's EDL anew after frames went out of it; what was not touched stays as it was."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from impactcut.core.sequence import Piece, SequenceEvent, is_picture, is_sound
from impactcut.core.timebase import DROP_RATES, Timebase
from impactcut.lists.ascii_text import fit, to_ascii
from impactcut.lists.edl import EVENTS_IN_A_LIST, TITLE_WIDTH
from impactcut.lists.edl_blocks import Block, blocks_of
from impactcut.lists.edl_document import EdlDocument
from impactcut.lists.edl_statements import (
    EventLine,
    ExtraAudio,
    FrameCodeMode,
    Note,
    Statement,
    Title,
    write_statements,
)

_USUAL_DIGITS = 3


@dataclass(frozen=True)
class _Unit:
    """Statements under one event number."""

    record_in: int
    statements: tuple[Statement, ...]


def reissue(document: EdlDocument, pieces: Sequence[Piece], title: str) -> tuple[str, ...]:
    """The text of a list after its events were cut and moved.

    Events stand in record order and are numbered from 1; reels, notes and everything unknown stay
    verbatim. A list of more than 999 events goes on in a second one, unless its event numbers had
    more than three digits before.

    Parameters
    ----------
    document : EdlDocument
        The list, all of it understood.
    pieces : sequence of Piece
        What is left of each of its events, in the order of the events.
    title : str

    Returns
    -------
    tuple of str
    """
    header, blocks = blocks_of(document.statements)
    units = sorted(_units(blocks, pieces), key=lambda unit: unit.record_in)
    digits = max(event.digits for event in document.events)
    most = EVENTS_IN_A_LIST if digits <= _USUAL_DIGITS else 10**digits - 1
    parts = [units[at : at + most] for at in range(0, len(units), most)]
    texts = []
    for number, part in enumerate(parts, 1):
        said = f" PART {number} OF {len(parts)}" if len(parts) > 1 else ""
        named = fit(to_ascii(title).strip(), TITLE_WIDTH - len(said)) + said
        top = [Title(title=named), *(each for each in header if not isinstance(each, Title))]
        texts.append(write_statements(_with_modes(top, _numbered(part), document.record_clock)))
    return tuple(texts)


def is_in_order(document: EdlDocument, events: Sequence[SequenceEvent]) -> bool:
    """Whether the list, whose events are given in its order, stands in record order."""
    starts, at = [], 0
    for block in blocks_of(document.statements)[1]:
        starts.append(events[at].record.start)
        at += len(block.events)
    return all(first <= second for first, second in pairwise(starts))


def timecoded_notes(document: EdlDocument) -> tuple[int, ...]:
    """Lines of the notes that hold a timecode, which is carried as it stands."""
    return tuple(
        note.line
        for note in document.statements
        if isinstance(note, Note) and re.search(r"\d\d:\d\d:\d\d[:;]\d\d", note.value, re.ASCII)
    )


def _units(blocks: Iterable[Block], pieces: Sequence[Piece]) -> Iterator[_Unit]:
    by_event: dict[int, list[Piece]] = {}
    for piece in pieces:
        by_event.setdefault(piece.event.index, []).append(piece)
    index = 0
    for block in blocks:
        lines = [by_event[index + at] for at in range(len(block.events))]
        index += len(lines)
        for part in _parts(lines):
            restricted = [_restricted(left, part) for left in lines]
            yield from _block_units(block, restricted)


def _parts(lines: Iterable[Sequence[Piece]]) -> list[frozenset[str]]:
    """The tracks of a block: all together, or apart where they were parted; picture first."""
    pieces = [piece for left in lines for piece in left]
    parts = [frozenset(track for piece in pieces for track in piece.tracks)]
    for piece in pieces:
        if piece.tracks != piece.event.tracks:
            halves = ((part & piece.tracks, part - piece.tracks) for part in parts)
            parts = [half for both in halves for half in both if half]
    return sorted(parts, key=lambda part: not any(map(is_picture, part)))


def _restricted(left: Iterable[Piece], tracks: frozenset[str]) -> list[Piece]:
    kept = (replace(p, tracks=p.tracks & tracks) for p in left if p.tracks & tracks)
    return sorted(kept, key=lambda piece: piece.record)


def _block_units(block: Block, lines: Sequence[Sequence[Piece]]) -> Iterator[_Unit]:
    """A unit of the first pieces with all that stood in the block, and one for each other piece."""
    first = {id(line): left[0] for line, left in zip(block.events, lines, strict=True) if left}
    statements = [*block.leading]
    piece: Piece | None = None
    for statement in block.body:
        if isinstance(statement, EventLine):
            piece = first.get(id(statement))
            statements += [] if piece is None else [_line(statement, piece)]
        elif isinstance(statement, ExtraAudio):
            statements += _extra_audio(statement, piece)
        else:
            statements.append(statement)
    yield _Unit(min(each.record.start for each in first.values()), tuple(statements))
    for line, left in zip(block.events, lines, strict=True):
        for later in left[1:]:
            yield _Unit(later.record.start, tuple(_later_statements(block, line, later)))


def _extra_audio(extra: ExtraAudio, piece: Piece | None) -> Iterator[ExtraAudio]:
    """An AUD line with those of its tracks that the piece has."""
    tracks = frozenset() if piece is None else extra.tracks & piece.tracks
    if tracks == extra.tracks:
        yield extra
    elif tracks:
        yield ExtraAudio(tracks=tracks)


def _later_statements(block: Block, line: EventLine, piece: Piece) -> Iterator[Statement]:
    yield replace(_line(line, piece), transition="C", duration=None)
    notes = block.after(line)
    if any(each.transition != "C" for each in block.events):
        if piece.event.name:
            yield Note(keyword="FROM CLIP NAME", value=piece.event.name)
        notes = tuple(each for each in notes if not _names_a_clip(each))
    for each in notes:
        if isinstance(each, ExtraAudio):
            yield from _extra_audio(each, piece)
        elif isinstance(each, Note):
            yield each


def _names_a_clip(statement: Statement) -> bool:
    clips = ("FROM CLIP NAME", "TO CLIP NAME")
    return isinstance(statement, Note) and statement.keyword in clips


def _line(line: EventLine, piece: Piece) -> EventLine:
    tracks = line.tracks & piece.tracks
    day = line.record_clock.day
    record = piece.record.shifted(-(piece.record.start // day) * day)
    same = (piece.source, record) == (line.source, line.record)
    if not line.tracks or tracks == line.tracks:
        return line if same else line.placed(line.number, piece.source, record)
    placed = line.placed(line.number, piece.source, record)
    return replace(placed, channels=_channels(tracks), tracks=tracks)


def _channels(tracks: frozenset[str]) -> str:
    """The channel field for tracks; NONE where they all stand in AUD lines."""
    if tracks == {"V", "A1"}:
        return "B"
    first_two = "AA" if {"A1", "A2"} <= tracks else ""
    others = tracks - ({"A1", "A2"} if first_two else set())
    sound = sorted(filter(is_sound, others), key=lambda track: int(track[1:]))
    named = first_two + "".join("A" if track == "A1" else track for track in sound)
    picture = "".join(sorted(filter(is_picture, tracks)))
    return "/".join(filter(None, (named, picture))) or "NONE"


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
    yield from header
    if not any(isinstance(each, FrameCodeMode) for each in header):
        yield FrameCodeMode(drop_frame=record_clock.drop_frame)
    drop = record_clock.drop_frame
    for statement in statements:
        if isinstance(statement, FrameCodeMode) and statement.drop_frame is not None:
            drop = statement.drop_frame and record_clock.rate in DROP_RATES
        if isinstance(statement, EventLine) and statement.source_clock.drop_frame != drop:
            drop = statement.source_clock.drop_frame
            yield FrameCodeMode(drop_frame=drop)
        yield statement
