"""Things that belong together."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from typing import TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


def grouped(pairs: Iterable[tuple[Key, Value]]) -> dict[Key, list[Value]]:
    """Values by their keys; both stand in the order in which they are met."""
    groups: dict[Key, list[Value]] = {}
    for key, value in pairs:
        groups.setdefault(key, []).append(value)
    return groups
