"""Rows of cells as CSV text (RFC 4180) that no spreadsheet takes for formulas, and back."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from typing import Final

from impactcut.errors import ListFormatError

_SEPARATORS: Final = ",;\t"

# A cell with one of these in front is taken for a formula, or moves the cell (OWASP, "CSV
# Injection"): = + - @, tab, CR, LF and the full-width forms of the first four.
_FORMULA = r"[=+\-@\t\r\n＝＋－＠]"
_MISTAKABLE = re.compile(rf"'*{_FORMULA}")
_GUARDED = re.compile(rf"'+{_FORMULA}")


def write_csv(header: Sequence[str], rows: Iterable[Sequence[str | float]]) -> str:
    """CSV text, lines ended by CR LF.

    Text cells that a spreadsheet would take for formulas get an apostrophe in front, and are such
    as UTF-8 can carry; numbers are written as they are.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([_guarded(cell) for cell in row] for row in rows)
    return out.getvalue()


def cells_of(text: str) -> list[tuple[int, list[str]]]:
    """Every row as it stands, with the number of the line that it ends on.

    Cells are parted by commas, semicolons or tabs, whichever the first line uses: spreadsheets save
    with what their country writes.

    Raises
    ------
    ListFormatError
        Naming the line, if it is no CSV.
    """
    text = text.removeprefix("\ufeff")
    separator = max(_SEPARATORS, key=text.partition("\n")[0].count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        return [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        raise ListFormatError(
            f"line {reader.line_num}: not CSV ({error}); save it as CSV again from the program "
            "that made it"
        ) from error


def read_csv(text: str, header: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """The rows below the header, without the apostrophes that `write_csv` put in.

    Raises
    ------
    ListFormatError
        If the text is no CSV, its header is another one, or a row has another number of cells.
    """
    rows = [cells for _, cells in cells_of(text)]
    if not rows or rows[0] != list(header):
        raise ListFormatError(f"the first row must be {','.join(header)}; keep it as exported")
    for number, row in enumerate(rows[1:], 2):
        if len(row) != len(header):
            raise ListFormatError(f"row {number} has {len(row)} cells, not {len(header)}")
    return tuple(tuple(_bare(cell) for cell in row) for row in rows[1:])


def well_formed(text: str) -> str:
    """``text`` as UTF-8 can carry it: undecodable bytes of a file name become U+FFFD."""
    return re.sub("[\ud800-\udfff]", "\ufffd", text)


def _guarded(cell: str | float) -> str | float:
    if not isinstance(cell, str):
        return cell
    cell = well_formed(cell)
    return f"'{cell}" if _MISTAKABLE.match(cell) else cell


def _bare(cell: str) -> str:
    return cell[1:] if cell[:1] == "'" and _GUARDED.match(cell) else cell
