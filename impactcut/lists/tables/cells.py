"""Tables as rows of cells by column, and the cells that several tables have."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.csv_text import read_csv, well_formed, write_csv

Row = Mapping[str, str | float]
"""Cells by column; those left out are empty."""


def render_table(columns: Sequence[str], rows: Iterable[Row], name: str) -> str:
    """The CSV text of a table (RFC 4180, to be stored as UTF-8), with its header row; read back.

    Raises
    ------
    ListMismatchError
        If it does not come back as it is; ``name`` is what the message calls the table.
    """
    cells = [[row.get(column, "") for column in columns] for row in rows]
    text = write_csv(columns, cells)
    check_table(text, columns, cells, name)
    return text


def check_table(
    text: str, columns: Sequence[str], rows: Iterable[Sequence[str | float]], name: str
) -> None:
    """Compare a text with the cells that it is to hold."""
    wanted = [tuple(well_formed(str(cell)) for cell in row) for row in rows]
    try:
        found = read_csv(text, columns)
    except ListFormatError as error:
        raise ListMismatchError(f"{name} cannot be read back: {error}") from error
    if list(found) != wanted:
        raise ListMismatchError(
            f"{name}, read back, is not the plan; do not use it, and report this"
        )


def clock_cells(clock: Timebase) -> dict[str, str | float]:
    """What a table counts in: ``24000/1001``, and ``drop-frame`` or ``non-drop``."""
    rate = f"{clock.rate.numerator}/{clock.rate.denominator}"
    return {"rate": rate, "count_mode": count_mode(clock)}


def place_cells(column: str, frame: int, clock: Timebase) -> dict[str, str | float]:
    """A timecode with its count of frames beside it: spreadsheets mangle timecodes."""
    return {column: clock.label(frame), f"{column}_frame": frame}


def shot_cells(clip: Clip) -> dict[str, str | float]:
    """What is known of a clip's shot."""
    return {
        "section": clip.section,
        "slate": clip.slate,
        "take": clip.take,
        "angle": clip.angle,
        "circled": "yes" if clip.circled else "no",
        "clip": clip.name,
    }


def count_mode(timebase: Timebase) -> str:
    """``"drop-frame"`` or ``"non-drop"``."""
    return "drop-frame" if timebase.drop_frame else "non-drop"
