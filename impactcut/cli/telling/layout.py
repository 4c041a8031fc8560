"""Tables as wide as the terminal allows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import chain, zip_longest
from typing import Any, Generic, Literal, TypeVar

import click
from rich.cells import cell_len
from rich.console import Console
from rich.text import Text

from impactcut.cli.program import printable
from impactcut.workflow.clock import as_read

_GAP, _INDENT = "  ", "      "
_BROKEN_WIDTH = 16
"""Columns of a terminal that a broken cell needs to be read with ease; engineering choice."""

Thing = TypeVar("Thing")


@dataclass(frozen=True)
class Column(Generic[Thing]):
    """A column of a table.

    Parameters
    ----------
    cell : callable
        What stands in it of a thing, of which each has a line.
    side : {"left", "right"}
    breaks : bool
        Whether its cells may be broken over lines.
    """

    heading: str
    cell: Callable[[Thing], str]
    side: Literal["left", "right"] = "left"
    breaks: bool = False


def column_of_times(time: Callable[[Thing], str]) -> Column[Thing]:
    """The column that tells when, as `impactcut.workflow.clock.now` writes times."""
    return Column("When (UTC)", lambda each: as_read(time(each)).removesuffix(" UTC"))


def print_table(columns: Sequence[Column[Thing]], things: Iterable[Thing]) -> None:
    """Things under headings, as wide as the terminal, or on single lines in a file.

    Where the terminal is too narrow for that, what may be broken follows each line, indented.
    """
    rows = [[printable(column.cell(thing)) for column in columns] for thing in things]
    console = Console(highlight=False)
    widths = _widths(columns, rows)
    if not console.is_terminal:
        click.echo("\n".join(_lines(columns, rows, widths)))
    elif _least_width(columns, widths) <= console.width:
        _print_broken(console, columns, rows, _shared(console.width, columns, widths))
    else:
        _print_narrow(console, columns, rows)


Columns = Sequence[Column[Any]]


def _print_broken(
    console: Console, columns: Columns, rows: Sequence[Sequence[str]], widths: Sequence[int]
) -> None:
    lines: list[Sequence[str]] = []
    for row in rows:
        lines += zip_longest(*map(partial(_broken, console), row, widths), fillvalue="")
    heading, *told = _lines(columns, lines, widths)
    _print(console, heading, told)


def _broken(console: Console, text: str, width: int) -> list[str]:
    """A text in lines no wider than that; Rich breaks it, which takes long, where it must."""
    if cell_len(text) <= width:
        return [text]
    return [line.plain.rstrip() for line in Text(text).wrap(console, width, overflow="fold")]


def _print(console: Console, heading: str, lines: Iterable[str]) -> None:
    """All at once: Rich takes a millisecond for each line, and there may be thousands."""
    console.print(Text(heading, "bold"))
    click.echo("".join(f"{line}\n" for line in lines), nl=False)


def _lines(columns: Columns, rows: Iterable[Sequence[str]], widths: Sequence[int]) -> Iterator[str]:
    """The heading and each row as a line."""
    for cells in chain([[column.heading for column in columns]], rows):
        yield _GAP.join(map(_filled, cells, widths, columns)).rstrip()


def _filled(cell: str, width: int, column: Column[Any]) -> str:
    space = " " * (width - cell_len(cell))
    return space + cell if column.side == "right" else cell + space


def _widths(columns: Columns, rows: Sequence[Sequence[str]]) -> list[int]:
    """The widest cell of each column, its heading among them."""
    headings = [column.heading for column in columns]
    return [max(map(cell_len, cells)) for cells in zip(headings, *rows, strict=True)]


def _least_width(columns: Columns, widths: Sequence[int]) -> int:
    """Columns of a terminal from which the table is still easily read."""
    return sum(
        min(width, _BROKEN_WIDTH) if column.breaks else width
        for width, column in zip(widths, columns, strict=True)
    ) + len(_GAP) * (len(columns) - 1)


def _shared(whole: int, columns: Columns, widths: Sequence[int]) -> list[int]:
    """Widths of the columns in a terminal, the widest of those that may be broken cut down."""
    shared = list(widths)
    breaks = [index for index, column in enumerate(columns) if column.breaks]
    for _ in range(sum(widths) + len(_GAP) * (len(columns) - 1) - whole):
        shared[max(breaks, key=shared.__getitem__)] -= 1
    return shared


def _that_fit(width: int, columns: Columns, rows: Sequence[Sequence[str]]) -> list[int]:
    """The columns that are not broken, from the left, as many as stand side by side."""
    kept = [index for index, column in enumerate(columns) if not column.breaks]
    widths, used = _widths(columns, rows), -len(_GAP)
    for place, index in enumerate(kept):
        used += len(_GAP) + widths[index]
        if used > width and place:
            return kept[:place]
    return kept


def _print_narrow(console: Console, columns: Columns, rows: Sequence[Sequence[str]]) -> None:
    kept = _that_fit(console.width, columns, rows)
    shown, cells = [columns[each] for each in kept], [[row[each] for each in kept] for row in rows]
    heading, *lines = _lines(shown, cells, _widths(shown, cells))
    told: list[str] = []
    for line, row in zip(lines, rows, strict=True):
        rest = "; ".join(
            f"{columns[index].heading}: {cell}" if columns[index].heading else cell
            for index, cell in enumerate(row)
            if index not in kept and cell
        )
        told += filter(None, _broken(console, line, console.width))
        told += (_INDENT + part for part in _broken(console, rest, console.width - len(_INDENT)))
    _print(console, heading, told)
