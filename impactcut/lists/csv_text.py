"""Rows of cells as CSV text (RFC 4180) that no spreadsheet takes for formulas, and back."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from impactcut.errors import ListFormatError

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


def read_csv(text: str, header: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """The rows below the header, without the apostrophes that `write_csv` put in.

    Raises
    ------
    ListFormatError
        If the text is no CSV, its header is another one, or a row has another number of cells.
    """
    try:
        rows = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True))
    except csv.Error as error:
        raise ListFormatError(f"the text is not CSV: {error}") from error
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
