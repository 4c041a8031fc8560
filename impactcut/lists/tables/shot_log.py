"""Shot logs as CSV text: a header, then a line for each clip or take."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from impactcut.core.takes.clip import Clip
from impactcut.core.takes.scale import parse_scale
from impactcut.core.takes.shot_log import AS_FILED, LogRow, ShotSaid
from impactcut.core.time.timebase import parse_timebase
from impactcut.errors import ListFormatError
from impactcut.lists.csv_text import cells_of
from impactcut.lists.tables.cells import Row, render_table, shot_cells

COLUMNS: Final = (
    "clip", "section", "slate", "take", "angle", "circled", "metres", "reel", "start", "rate",
)  # fmt: skip
_TIMECODE: Final = re.compile(r"\d{2}:\d{2}:\d{2}[:;.,]\d{2}", re.ASCII)
_YES: Final = frozenset(("yes", "y", "x", "true", "1", "circled", "*"))
_NO: Final = frozenset(("no", "n", "", "false", "0", "-"))


@dataclass(frozen=True)
class ShotLog:
    """A log as read: its lines, and columns that mean nothing here."""

    rows: tuple[LogRow, ...]
    ignored: tuple[str, ...]


def parse_shot_log(text: str) -> ShotLog:
    """The lines of a log.

    The first line names the columns, of `COLUMNS`, in any order, upper or lower case; others are
    passed over. Cells are parted by commas, semicolons or tabs, whichever the first line uses.

    Raises
    ------
    ListFormatError
        Naming the line, if the text is no such log.
    """
    lines = [each for each in cells_of(text) if any(cell.strip() for cell in each[1])]
    if not lines:
        raise ListFormatError(f"line 1: the log is empty; begin it with {','.join(COLUMNS)}")
    number, header = lines[0]
    names = [cell.strip().casefold() for cell in header]
    _check_header(number, names)
    rows = tuple(_row(line, _by_name(line, names, cells)) for line, cells in lines[1:])
    ignored = tuple(cell.strip() for cell in header if cell.strip().casefold() not in COLUMNS)
    return ShotLog(rows, tuple(name for name in ignored if name))


def render_shot_log(clips: Iterable[Clip]) -> str:
    """A log of what is known of clips, to be filled in and given back."""
    return render_table(COLUMNS, map(_cells_of, clips), "the shot log")


def _check_header(number: int, names: Sequence[str]) -> None:
    known = [name for name in names if name in COLUMNS]
    if len(set(known)) < len(known):
        raise ListFormatError(f"line {number}: a column stands there twice; take one of them out")
    if "clip" not in known and not {"take"} < set(known) & {"take", "slate", "section"}:
        raise ListFormatError(
            f"line {number}: no column says which clips are meant; name one 'clip', or two of them "
            "'take' and either 'slate' or 'section'"
        )


def _by_name(line: int, names: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    if any(cell.strip() for cell in cells[len(names) :]):
        raise ListFormatError(
            f"line {line}: it has {len(cells)} cells and the first line {len(names)}; "
            "put a cell with a separator in it between double quotes"
        )
    padded = [*cells, *[""] * (len(names) - len(cells))]
    return {
        name: cell.strip().removeprefix("'") if name == "clip" else cell.strip()
        for name, cell in zip(names, padded, strict=False)
        if name in COLUMNS
    }


def _row(line: int, cells: Mapping[str, str]) -> LogRow:
    try:
        said = ShotSaid(
            section=cells.get("section") or None,
            take=cells.get("take") or None,
            angle=cells.get("angle") or None,
            slate=cells.get("slate") or None,
            circled=_circled(cells["circled"]) if "circled" in cells else None,
            scale=parse_scale(cells["metres"]) if cells.get("metres") else None,
            reel=cells.get("reel") or None,
            start=_as_filed(cells.get("start")) or _start(cells.get("start")),
            rate=_as_filed(cells.get("rate")) or _rate(cells.get("rate")),
        )
    except ValueError as error:
        raise ListFormatError(f"line {line}: {error}") from error
    if not cells.get("clip") and (said.take is None or (said.slate or said.section) is None):
        raise ListFormatError(
            f"line {line}: it says neither which clip nor which take of what is meant; fill in "
            "'clip', or 'take' and 'slate' or 'section'"
        )
    return LogRow(line, cells.get("clip", ""), said)


def _circled(text: str) -> bool:
    if text.casefold() not in _YES | _NO:
        raise ValueError(f"circled is {text!r}; write yes or no, or leave it empty")
    return text.casefold() in _YES


def _as_filed(text: str | None) -> str | None:
    return AS_FILED if text and text.casefold() == AS_FILED else None


def _start(text: str | None) -> str | None:
    if text and not _TIMECODE.fullmatch(text):
        raise ValueError(
            f"start is {text!r}; write the timecode of the first frame as HH:MM:SS:FF, with ';' "
            "before the frames for drop-frame, or 'file'"
        )
    return text or None


def _rate(text: str | None) -> str | None:
    if text:
        parse_timebase(text)
    return text or None


def _cells_of(clip: Clip) -> Row:
    return {
        **shot_cells(clip),
        "clip": clip.path,
        "metres": "" if clip.scale is None else str(clip.scale),
        "reel": clip.reel if clip.reel_source == "user" else "",
        "start": clip.source_label(0) if clip.timecode_source == "user" else "",
    }
