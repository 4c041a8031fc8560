"""A CMX3600-form EDL as it was read: its statements, and what was odd about them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from impactcut.core.time.timebase import Timebase
from impactcut.lists.edl.blocks import Block, blocks_of
from impactcut.lists.edl.statements import (
    EventLine,
    Motion,
    Statement,
    Unread,
    write_statements,
)


@dataclass(frozen=True)
class ListWarning:
    """Something odd in a list, and the line it stands in (0 for the list as a whole)."""

    line: int
    message: str


@dataclass(frozen=True)
class EdlDocument:
    """A list that was read.

    Parameters
    ----------
    record_clock : Timebase
        The rate it was read at, and how its record timecodes count.
    statements : tuple of Statement
        One for each line, none left out.
    warnings : tuple of ListWarning
        In the order of their lines.
    """

    record_clock: Timebase
    statements: tuple[Statement, ...]
    warnings: tuple[ListWarning, ...]

    @property
    def rate(self) -> Fraction:
        """Frames per second."""
        return self.record_clock.rate

    @cached_property
    def blocks(self) -> tuple[tuple[Statement, ...], tuple[Block, ...]]:
        """What stands above the first block of its statements, and the blocks."""
        return blocks_of(self.statements)

    @cached_property
    def events(self) -> tuple[EventLine, ...]:
        """The event lines, in the order of the list."""
        return tuple(each for each in self.statements if isinstance(each, EventLine))

    @property
    def unread(self) -> tuple[Unread, ...]:
        """Lines that ought to have been read and could not be: the events above are not all."""
        return tuple(each for each in self.statements if isinstance(each, Unread))

    def written(self) -> str:
        """The text of the list, each line as it stood and ended by CR LF."""
        return write_statements(self.statements)


def motion_events(statements: Iterable[Statement]) -> Mapping[Motion, EventLine | None]:
    """The event that each motion statement is about.

    A motion statement follows its event, or the two events of one number that make a transition;
    there its reel tells which. None where the events above it are of other reels.
    """
    found: dict[Motion, EventLine | None] = {}
    group: list[EventLine] = []
    for statement in statements:
        if isinstance(statement, EventLine):
            same_number = bool(group) and group[-1].number == statement.number
            group = [*group, statement] if same_number else [statement]
        elif isinstance(statement, Motion):
            of_reel = (event for event in reversed(group) if event.reel == statement.reel)
            found[statement] = next(of_reel, None)
    return found
