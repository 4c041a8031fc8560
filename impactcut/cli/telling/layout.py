"""Tables as wide as the terminal allows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, Literal, TypeVar

import click
from rich.cells import cell_len
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from impactcut.cli.program import printable

_GAP = "  "
_BROKEN_WIDTH = 16
"""Columns of a terminal that a broken cell needs to be read with ease; engineering choice."""

Thing = TypeVar("Thing")


@dataclass(frozen=True)
class Column(Generic[Thing]):
    """A column of a table.

    Parameters
    ----------
    heading : str
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


def print_table(columns: Sequence[Column[Thing]], things: Iterable[Thing]) -> None:
    """Things under headings, as wide as the terminal, or on single lines in a file.

    Where the terminal is too narrow for that, what may be broken follows each line, indented.
    """
    rows = [[printable(column.cell(thing)) for column in columns] for thing in things]
    console = Console(highlight=False)
    if not console.is_terminal:
        click.echo("\n".join(_lines(columns, rows)))
    elif _least_width(columns, rows) <= console.width:
        console.print(_table(columns, rows))
    else:
        _print_narrow(console, columns, rows)


def when(moment: str) -> str:
    """A UTC time, ISO 8601, as it is read."""
    return moment.replace("T", " ").removesuffix("Z")


Columns = Sequence[Column[Any]]


def _table(columns: Columns, rows: Sequence[Sequence[str]]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for each in columns:
        table.add_column(each.heading, justify=each.side, no_wrap=not each.breaks, overflow="fold")
    for row in rows:
        table.add_row(*map(Text, row))
    return table


def _lines(columns: Columns, rows: Sequence[Sequence[str]]) -> list[str]:
    """The heading and each row as a line, however wide."""
    widths = _widths(columns, rows)
    return [
        _GAP.join(
            _filled(cell, width, column)
            for cell, width, column in zip(cells, widths, columns, strict=True)
        ).rstrip()
        for cells in ([column.heading for column in columns], *rows)
    ]


def _filled(cell: str, width: int, column: Column[Any]) -> str:
    space = " " * (width - cell_len(cell))
    return space + cell if column.side == "right" else cell + space


def _widths(columns: Columns, rows: Sequence[Sequence[str]]) -> list[int]:
    """The widest cell of each column, its heading among them."""
    headings = [column.heading for column in columns]
    return [max(map(cell_len, cells)) for cells in zip(headings, *rows, strict=True)]


def _least_width(columns: Columns, rows: Sequence[Sequence[str]]) -> int:
    """Columns of a terminal from which the table is still easily read."""
    return sum(
        min(width, _BROKEN_WIDTH) if column.breaks else width
        for width, column in zip(_widths(columns, rows), columns, strict=True)
    ) + len(_GAP) * (len(columns) - 1)


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
    heading, *lines = _lines(
        [columns[index] for index in kept], [[row[index] for index in kept] for row in rows]
    )
    console.print(Text(heading, "bold"))
    for line, row in zip(lines, rows, strict=True):
        if line:
            console.print(Text(line))
        told = [
            f"{columns[index].heading}: {cell}" if columns[index].heading else cell
            for index, cell in enumerate(row)
            if index not in kept and cell
        ]
        console.print(Padding(Text("; ".join(told)), (0, 0, 0, 6)))
