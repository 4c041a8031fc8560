"""Tables as wide as the terminal allows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

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

Justify = Literal["left", "right"]
Column = tuple[str, Justify, bool]
"""Heading, side, and whether its cells may be broken over lines."""


def print_table(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> None:
    """Rows under headings, as wide as the terminal, or on single lines in a file.

    Where the terminal is too narrow for that, what may be broken follows each row, indented.
    """
    shown = [[printable(cell) for cell in row] for row in rows]
    console = Console(highlight=False)
    if not console.is_terminal:
        click.echo("\n".join(_lines(columns, shown)))
    elif _least_width(columns, shown) <= console.width:
        console.print(_table(columns, shown))
    else:
        _print_narrow(console, columns, shown)


def _table(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name, side, breaks in columns:
        table.add_column(name, justify=side, no_wrap=not breaks, overflow="fold")
    for row in rows:
        table.add_row(*map(Text, row))
    return table


def _lines(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> list[str]:
    """The heading and each row as a line, however wide."""
    table = [[name for name, _, _ in columns], *rows]
    widths = [max(map(cell_len, cells)) for cells in zip(*table, strict=True)]
    return [
        _GAP.join(
            _filled(cell, width, side)
            for cell, width, (_, side, _) in zip(cells, widths, columns, strict=True)
        ).rstrip()
        for cells in table
    ]


def _filled(cell: str, width: int, side: Justify) -> str:
    space = " " * (width - cell_len(cell))
    return space + cell if side == "right" else cell + space


def _least_width(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> int:
    """Columns of a terminal from which the table is still easily read."""
    widths = [
        max(map(cell_len, cells)) for cells in zip([c[0] for c in columns], *rows, strict=True)
    ]
    return sum(
        min(width, _BROKEN_WIDTH) if breaks else width
        for width, (_, _, breaks) in zip(widths, columns, strict=True)
    ) + len(_GAP) * (len(columns) - 1)


def _that_fit(width: int, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> list[int]:
    """The columns that are not broken, from the left, as many as stand side by side."""
    kept = [index for index, (_, _, breaks) in enumerate(columns) if not breaks]
    used = -len(_GAP)
    for place, index in enumerate(kept):
        cells = [columns[index][0], *(row[index] for row in rows)]
        used += len(_GAP) + max(map(cell_len, cells))
        if used > width and place:
            return kept[:place]
    return kept


def _print_narrow(
    console: Console, columns: Sequence[Column], rows: Sequence[Sequence[str]]
) -> None:
    kept = _that_fit(console.width, columns, rows)
    heading, *lines = _lines(
        [columns[index] for index in kept],
        [[row[index] for index in kept] for row in rows],
    )
    console.print(Text(heading, "bold"))
    for line, row in zip(lines, rows, strict=True):
        if line:
            console.print(Text(line))
        told = [
            f"{columns[index][0]}: {cell}" if columns[index][0] else cell
            for index, cell in enumerate(row)
            if index not in kept and cell
        ]
        console.print(Padding(Text("; ".join(told)), (0, 0, 0, 6)))
