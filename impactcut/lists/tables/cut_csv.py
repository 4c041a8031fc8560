"""The cut list as CSV: one row for each removed range, integer frames beside every timecode."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from fractions import Fraction
from typing import Any

from impactcut.core.programme.cutlist import CutList
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.csv_text import read_csv, write_csv
from impactcut.lists.edl.write import SoundLines
from impactcut.lists.tables.clock_cells import check_label, is_drop
from impactcut.lists.tables.cut_rows import CutRow, cut_rows

COLUMNS = tuple(field.name for field in fields(CutRow))
_LABELS = ("source_in", "source_out", "record_old", "record_new")
_FROM_CELL: dict[object, Callable[[str], object]] = {
    "int": int,
    "float": float,
    "str": str,
    "Fraction": Fraction,
}


def render_cut_csv(cut: CutList, sound: SoundLines | None = None) -> str:
    """The CSV text of a cut list (RFC 4180, to be stored as UTF-8), with its header row."""
    return write_csv(COLUMNS, (list(_cells(row)) for row in cut_rows(cut, sound)))


def parse_cut_csv(text: str) -> tuple[CutRow, ...]:
    """Read the text of `render_cut_csv` back.

    Raises
    ------
    ListFormatError
        If it is not such a text, or a timecode and the frames beside it disagree.
    """
    return tuple(
        _read_row(number, dict(zip(COLUMNS, cells, strict=True)))
        for number, cells in enumerate(read_csv(text, COLUMNS), 2)
    )


def check_cut_csv(text: str, cut: CutList, sound: SoundLines | None = None) -> None:
    """Read a CSV cut list back and compare it with the plan.

    Raises
    ------
    ListMismatchError
        If it is not the plan.
    """
    try:
        found = parse_cut_csv(text)
    except ListFormatError as error:
        raise ListMismatchError(f"the CSV cut list cannot be read back: {error}") from error
    wanted = cut_rows(cut, sound)
    if found != wanted:
        raise ListMismatchError(
            f"the CSV cut list of {cut.title!r}, read back, is not the plan; "
            "do not use it, and report this"
        )


def _cells(row: CutRow) -> Iterator[str | int]:
    for column in COLUMNS:
        value = getattr(row, column)
        if isinstance(value, Fraction):
            yield f"{value.numerator}/{value.denominator}"
        else:
            yield f"{value:.3f}" if isinstance(value, float) else value


def _read_row(number: int, cells: Mapping[str, str]) -> CutRow:
    try:
        values: dict[str, Any] = {
            field.name: _FROM_CELL[field.type](cells[field.name]) for field in fields(CutRow)
        }
        row = CutRow(**values)
        timebase = Timebase(row.rate, is_drop(row.count_mode))
        for column in _LABELS:
            check_label(timebase, cells[column], column, values[f"{column}_frame"])
    except (ValueError, ZeroDivisionError) as error:
        raise ListFormatError(f"row {number}: {error}") from error
    return row
