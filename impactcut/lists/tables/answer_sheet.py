"""The sheet on which a viewer writes in which film of a pair the patch jumps."""

from __future__ import annotations

from collections.abc import Iterable

from impactcut.errors import ListFormatError
from impactcut.lists.csv_text import read_csv, write_csv

HEADER = ("pair", "answer")


def render_sheet(pairs: Iterable[str]) -> str:
    """A sheet without answers."""
    return write_csv(HEADER, [(pair, "") for pair in pairs])


def parse_sheet(text: str) -> dict[str, int]:
    """The answers on a sheet, 1 or 2, by pair; pairs without one are left out.

    Raises
    ------
    ListFormatError
        If it is no such sheet, or an answer is neither.
    """
    answers = {}
    for number, (pair, said) in enumerate(read_csv(text, HEADER), 2):
        if said.strip() not in ("", "1", "2"):
            raise ListFormatError(
                f"line {number}: answer {said!r}; write 1 or 2, or leave it empty"
            )
        if said.strip():
            answers[pair.strip()] = int(said)
    return answers
