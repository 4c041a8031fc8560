"""Marks as a plain CSV that any program can read which takes marks: a row for each, in order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from impactcut.core.programme.cutlist import Removal
from impactcut.core.programme.marks import ProgrammeMark
from impactcut.core.time.frames import frames_in_words
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.reasons import verdict_words
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.csv_text import read_csv, well_formed, write_csv
from impactcut.lists.tables.clock_cells import check_label, count_mode, rate_cell

COLUMNS = (
    "mark", "kind", "hit", "clip", "reel", "timecode", "frame", "record", "record_frame", "note",
    "rate", "count_mode",
)  # fmt: skip


def render_marks_csv(marks: Sequence[ProgrammeMark], clock: Timebase) -> str:
    """The CSV text of marks (RFC 4180, to be stored as UTF-8), with its header row.

    ``timecode`` is the source's, ``frame`` counts from the clip's first frame as 0, ``record`` and
    ``record_frame`` are in the programme.
    """
    return write_csv(COLUMNS, _rows(marks, clock))


def check_marks_csv(text: str, marks: Sequence[ProgrammeMark], clock: Timebase) -> None:
    """Read the text of `render_marks_csv` back and compare it with the plan.

    Raises
    ------
    ListMismatchError
        If it is not the plan, or a timecode and the frames beside it disagree.
    """
    wanted = [tuple(map(str, row)) for row in _rows(marks, clock)]
    try:
        found = list(read_csv(text, COLUMNS))
        for row, mark in zip(found, marks, strict=False):
            cells = dict(zip(COLUMNS, row, strict=True))
            check_label(clock, cells["record"], "record", int(cells["record_frame"]))
            source = mark.clip.source_start + int(cells["frame"])
            check_label(mark.clip.timebase, cells["timecode"], "timecode", source)
    except (ListFormatError, ValueError) as error:
        raise ListMismatchError(f"the marks cannot be read back: {error}") from error
    if found != wanted:
        raise ListMismatchError(
            "the marks, read back, are not those planned; do not use them, and report this"
        )


def mark_name(mark: ProgrammeMark) -> str:
    """What a mark is called."""
    return f"hit {mark.called}" if mark.kind == "contact" else f"splice of hit {mark.called}"


def trim_words(removal: Removal) -> str:
    """What a trim takes, gives and shows."""
    trim = removal.trim
    taste = ", proposed by taste" if removal.standing == "proposed by taste" else ""
    return (
        f"{frames_in_words(trim.count)} out, {trim.speed_gain:.2f}x as fast, "
        f"{verdict_words(trim)}{taste}"
    )


def _rows(marks: Iterable[ProgrammeMark], clock: Timebase) -> list[list[str | int]]:
    return [
        [
            number, mark.kind, mark.called, well_formed(mark.clip.name),
            well_formed(mark.clip.reel), mark.clip.source_label(mark.frame), mark.frame,
            clock.label(mark.record), mark.record, well_formed(_note(mark)), rate_cell(clock),
            count_mode(clock),
        ]
        for number, mark in enumerate(marks, 1)
    ]  # fmt: skip


def _note(mark: ProgrammeMark) -> str:
    words = [] if mark.removal is None else [trim_words(mark.removal)]
    if mark.moved:
        words.insert(0, "contact frame taken out: the nearest that is left")
    if mark.removal is not None and mark.removal.decision and mark.removal.decision.note:
        words.append(mark.removal.decision.note)
    return "; ".join(words)
