"""The sections of a fight, whose names upper and lower case do not tell apart."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from impactcut.core.takes.clip import Clip
from impactcut.core.takes.names import natural_order

Thing = TypeVar("Thing")


def by_section(things: Iterable[Thing], clip_of: Callable[[Thing], Clip]) -> dict[str, list[Thing]]:
    """Things by the section of their clip, in natural order of sections.

    A section goes by the name that is met first; ``""`` stands for none that is known.
    """
    groups: dict[str, list[Thing]] = {}
    for thing in things:
        groups.setdefault(clip_of(thing).section.casefold(), []).append(thing)
    named = {clip_of(group[0]).section: group for group in groups.values()}
    return {name: named[name] for name in sorted(named, key=natural_order)}
