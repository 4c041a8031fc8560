"""Which clips of a scan come first."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from impactcut.workflow.scan.tasks import Work

Order = Callable[[Work], tuple[int, ...]]
"""Sorting key for the clips of a scan; those with equal keys go by name."""


def by_name(work: Work) -> tuple[int, ...]:
    """In natural order of their paths."""
    return ()


def smallest_first(work: Work) -> tuple[int, ...]:
    """Small files first, so that there is soon something to look at."""
    return (work.before.size,)


def largest_first(work: Work) -> tuple[int, ...]:
    """Large files first, so that no job is left with a long clip at the end."""
    return (-work.before.size,)


def in_order_of(paths: Sequence[Path]) -> Order:
    """Those of the path named first before those of the next."""
    places = [path.resolve() for path in paths]

    def place(work: Work) -> tuple[int, ...]:
        path = work.path
        return (next((n for n, each in enumerate(places) if path.is_relative_to(each)), -1),)

    return place
