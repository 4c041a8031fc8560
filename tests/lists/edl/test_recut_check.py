"""The check before a recut list is handed over: faults put into the writer, each caught by it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from impactcut.core.programme.change_list import change_list
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.time.frames import FrameRange
from impactcut.errors import ListMismatchError
from impactcut.lists.edl import reissue as edl_reissue
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.recut_check import check_recut
from impactcut.lists.edl.reissue import reissue
from impactcut.lists.edl.statements import (
    Carried,
    EventLine,
    ExtraAudio,
    FrameCodeMode,
    Motion,
    Note,
    Statement,
    Title,
)
from tests.helpers.lists.list_clips import DF30, make_clip, make_removal
from tests.helpers.lists.recut_lists import matched

A = make_clip("S12_T2_A.mov", reel="A1", timebase=DF30, frames=600)
B = make_clip("S12_T3_B.mov", reel="B1", timebase=DF30, frames=600, start=3600)
CUT = """\
TITLE: QUAY
FCM: DROP FRAME
001  A1       AA/V  C        00:00:01;00 00:00:03;00 01:00:00;00 01:00:02;00
* FROM CLIP NAME: S12_T2_A.mov
* LOC: 01:00:00;12 RED     LANDS
* LOC: 01:00:01;20 RED     FALLS
* COMMENT: NIGHT
AUD  3    4
002  A1       V     C        00:00:05;00 00:00:07;00 01:00:02;00 01:00:04;00
* FROM CLIP NAME: S12_T2_A.mov
002  B1       V     D    012 00:02:02;00 00:02:04;00 01:00:04;00 01:00:06;00
EFFECTS NAME IS CROSS DISSOLVE
* TO CLIP NAME: S12_T3_B.mov
* COMMENT: RAIN ON GLASS
003  B1       V     C        00:02:04;00 00:02:04;00 01:00:06;00 01:00:06;00
003  A1       V     W001 010 00:00:10;00 00:00:12;00 01:00:06;00 01:00:08;00
* FROM CLIP NAME: S12_T3_B.mov
* TO CLIP NAME: S12_T2_A.mov
FCM: NON-DROP FRAME
004  RAIN     A5    C        00:00:00:00 00:00:08:00 01:00:00;00 01:00:08;00
* COMMENT: FROM THE ROOF
FCM: DROP FRAME
005  X9       V     C        00:00:10;00 00:00:14;00 01:00:08;00 01:00:10;00
M2   X9             060.0                00:00:10;00
* COMMENT: FAST
"""
TRIMS = [
    make_removal(A, 44, 2),
    make_removal(A, 160, 1, hit=2),
    make_removal(A, 207, 3, hit=3),
    make_removal(B, 90, 2, hit=4),
]
"""Inside event 1; inside and at the tail of the shot that dissolves; inside the one it leads to."""


@pytest.fixture
def cut() -> tuple[EdlDocument, Recut]:
    document, matches = matched(CUT, A, B, rate=DF30.rate)
    done = recut([match.event for match in matches], TRIMS)
    assert len(done.made) == 4 and not done.refused
    return document, done


def handed_over(document: EdlDocument, done: Recut) -> tuple[str, ...]:
    texts = reissue(document, done, "QUAY 2")
    changes = change_list(("QUAY", "QUAY 2"), DF30, done.events, done.pieces)
    check_recut(texts, document, done, changes)
    return texts


def test_a_list_without_a_fault_passes(cut: tuple[EdlDocument, Recut]) -> None:
    (text,) = handed_over(*cut)
    assert text.count(" D    012 ") == text.count(" W001 010 ") == text.count("M2 ") == 1


Statements = list[Statement]
Fault = Callable[[Statements], Statements]


def _only(kind: type[Statement], at: int, change: Callable[..., Statement | None]) -> Fault:
    """The statements with one of a kind, counted from 0, changed or left out."""

    def faulty(statements: Statements) -> Statements:
        places = [n for n, each in enumerate(statements) if isinstance(each, kind)]
        made = change(statements[places[at]])
        return [*statements[: places[at]], *([made] if made else []), *statements[places[at] + 1 :]]

    return faulty


def _shifted(line: EventLine, source: int, record: int) -> EventLine:
    return line.placed(line.number, line.source.shifted(source), line.record.shifted(record))


def _noted(words: str, change: Callable[[Note], list[Note]]) -> Fault:
    def faulty(statements: Statements) -> Statements:
        found: Statements = []
        for each in statements:
            is_meant = isinstance(each, Note) and words in each.written()
            found += change(each) if is_meant and isinstance(each, Note) else [each]
        assert found != statements
        return found

    return faulty


def _numbered_alike(statements: Statements) -> Statements:
    """The second and third numbers made one."""
    return [
        each.placed(each.number - (each.number > 2), each.source, each.record)
        if isinstance(each, EventLine)
        else each
        for each in statements
    ]


def _swapped(statements: Statements) -> Statements:
    lines = [n for n, each in enumerate(statements) if isinstance(each, EventLine)]
    swapped = list(statements)
    first, second = lines[0], lines[1]
    swapped[first], swapped[second] = statements[second], statements[first]
    return swapped


FAULTS: dict[str, Fault] = {
    "an event a frame later": _only(EventLine, 3, lambda line: _shifted(line, 0, 1)),
    "another frame of the source": _only(EventLine, 3, lambda line: _shifted(line, 1, 0)),
    "an event missing": _only(EventLine, 1, lambda line: None),
    "what goes on under a transition missing": _only(EventLine, 7, lambda line: None),
    "a line of no length missing": _only(EventLine, 12, lambda line: None),
    "another reel": _only(EventLine, 2, lambda line: replace(line, text=None, reel="A2")),
    "another channel": _only(EventLine, 2, lambda line: replace(line, text=None, channels="A")),
    "a longer transition": _only(EventLine, 8, lambda line: replace(line, text=None, duration=13)),
    "a cut for a transition": _only(
        EventLine, 8, lambda line: replace(line, text=None, transition="C", duration=None)
    ),
    "no channels above the second": _only(ExtraAudio, 0, lambda line: None),
    "a mode missing": _only(FrameCodeMode, 1, lambda line: None),
    "a motion statement missing": _only(Motion, 0, lambda line: None),
    "the effect's name missing": _only(Carried, 0, lambda line: None),
    "the title missing": _only(Title, 0, lambda line: None),
    "a mark that has not moved": _noted(
        "FALLS", lambda note: [replace(note, text="* LOC: 01:00:01;20 RED     FALLS")]
    ),
    "a mark twice": _noted("LANDS", lambda note: [note, note]),
    "a mark missing": _noted("LANDS", lambda note: []),
    "a note missing": _noted("RAIN ON GLASS", lambda note: []),
    "a note that was never there": _noted(
        "RAIN ON GLASS", lambda note: [note, Note(keyword="COMMENT", value="AT 01:00:04;00")]
    ),
    "another clip's name": _noted(
        "TO CLIP NAME: S12_T3_B", lambda note: [replace(note, text="* TO CLIP NAME: C.mov")]
    ),
    "one number for two": _numbered_alike,
    "out of order": _swapped,
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_in_what_is_written_is_caught(
    cut: tuple[EdlDocument, Recut], monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    write = edl_reissue.write_statements
    written: list[str] = []

    def faulty(statements: Statements) -> str:
        statements = list(statements)
        broken = FAULTS[fault](statements)
        assert write(broken) != write(statements), "the fault changes nothing"
        written.append(write(broken))
        return written[-1]

    monkeypatch.setattr(edl_reissue, "write_statements", faulty)
    with pytest.raises(ListMismatchError):
        handed_over(*cut)
    assert written


def _first_stays(self: edl_reissue._BlockWriter, index: int) -> tuple[object, object]:
    pieces = self._own[index]
    return (pieces[0], pieces[1:]) if pieces else (None, ())


def _as_it_stood(units: list[edl_reissue._Unit], mark: edl_reissue.TimedNote, done: Recut) -> None:
    units[0] = replace(units[0], statements=(*units[0].statements, mark.note))


@pytest.mark.parametrize(
    ("part", "faulty"),
    [
        ("_BlockWriter._staying", _first_stays),
        ("_BlockWriter._outgoing", lambda self, index, beside: iter(())),
        ("_BlockWriter._moves", lambda self, motion, foremost: False),
        ("_place", _as_it_stood),
        ("_place", lambda units, mark, done: None),
        ("_extra_audio", lambda extra, piece: iter(())),
        ("_empty_line", lambda line, source, record, tracks: iter(())),
        ("_line", lambda line, piece: line),
        ("_statements_apart", lambda block, line, piece: iter([edl_reissue._line(line, piece)])),
        ("_with_modes", lambda header, statements, record_clock: (*header, *statements)),
        ("_numbered", lambda units: (each for unit in units for each in unit.statements)),
    ],
)
def test_a_fault_in_the_writer_is_caught(
    cut: tuple[EdlDocument, Recut],
    monkeypatch: pytest.MonkeyPatch,
    part: str,
    faulty: Callable[..., object],
) -> None:
    monkeypatch.setattr(f"impactcut.lists.edl.reissue.{part}", faulty)
    with pytest.raises(ListMismatchError):
        handed_over(*cut)


def test_the_old_error_of_a_transition_torn_apart_is_named(
    cut: tuple[EdlDocument, Recut], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(edl_reissue._BlockWriter, "_staying", _first_stays)
    monkeypatch.setattr(edl_reissue._BlockWriter, "_outgoing", lambda self, index, beside: iter(()))
    document, matches = matched(CUT, A, B, rate=DF30.rate)
    done = recut([match.event for match in matches], [make_removal(A, 160, 1, hit=2)])
    with pytest.raises(ListMismatchError, match=r"order|transition D 12 from A1"):
        handed_over(document, done)


def test_pieces_that_lie_elsewhere_than_the_change_list_says_are_caught(
    cut: tuple[EdlDocument, Recut],
) -> None:
    document, done = cut
    *others, last = done.pieces
    moved = replace(last, record=FrameRange(last.record.start + 1, last.record.stop + 1))
    changes = change_list(("QUAY", "QUAY 2"), DF30, done.events, done.pieces)
    wrong = replace(done, pieces=(*others, moved))
    with pytest.raises(ListMismatchError):
        check_recut(reissue(document, wrong, "QUAY 2"), document, wrong, changes)
