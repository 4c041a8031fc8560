"""Things that belong together."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


def grouped(pairs: Iterable[tuple[Key, Value]]) -> dict[Key, list[Value]]:
    """Values by their keys; both stand in the order in which they are met."""
    groups: dict[Key, list[Value]] = {}
    for key, value in pairs:
        groups.setdefault(key, []).append(value)
    return groups


def in_runs(values: Iterable[Value], follows: Callable[[Value, Value], bool]) -> list[list[Value]]:
    """Values in their order, in runs: in each, every value ``follows`` the one before it."""
    runs: list[list[Value]] = []
    for value in values:
        if runs and follows(runs[-1][-1], value):
            runs[-1].append(value)
        else:
            runs.append([value])
    return runs
