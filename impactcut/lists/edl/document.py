"""A CMX3600-form EDL as it was read: its statements, in blocks, and what was odd about them."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from impactcut.core.time.timebase import Timebase
from impactcut.lists.edl.statements import (
    EventLine,
    ExtraAudio,
    FrameCodeMode,
    Motion,
    Split,
    Statement,
    Unread,
    write_statements,
)


@dataclass(frozen=True)
class Block:
    """Event lines that share a number and stand together, with all that belongs to them.

    Parameters
    ----------
    leading : tuple of Statement
        A frame-code mode or a split in front of them.
    body : tuple of Statement
        From the first event line to the last note.
    """

    leading: tuple[Statement, ...]
    body: tuple[Statement, ...]

    @cached_property
    def events(self) -> tuple[EventLine, ...]:
        """Its event lines."""
        return tuple(each for each in self.body if isinstance(each, EventLine))

    @property
    def is_transition(self) -> bool:
        """Whether one of its events is entered by something else than a cut."""
        return any(each.transition != "C" for each in self.events)

    @property
    def is_split(self) -> bool:
        """Whether its picture and sound begin at different times."""
        return any(isinstance(each, Split) for each in self.leading)

    def without(self, lines: Container[int]) -> Block:
        """The block without the statements of some lines."""
        return Block(
            tuple(each for each in self.leading if each.line not in lines),
            tuple(each for each in self.body if each.line not in lines),
        )

    def after(self, event: EventLine) -> tuple[Statement, ...]:
        """What stands between an event line of the block and the next."""
        start = next(at for at, each in enumerate(self.body) if each is event) + 1
        following = self.body[start:]
        stops = (at for at, each in enumerate(following) if isinstance(each, EventLine))
        return following[: next(stops, len(following))]


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

    @property
    def numbered(self) -> Iterator[tuple[Block, range]]:
        """The blocks, each with the places of its event lines among `events`."""
        stop = 0
        for block in self.blocks[1]:
            start, stop = stop, stop + len(block.events)
            yield block, range(start, stop)

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


def blocks_of(
    statements: Sequence[Statement],
) -> tuple[tuple[Statement, ...], tuple[Block, ...]]:
    """What stands above the first block, and the blocks."""
    header: tuple[Statement, ...] | None = None
    blocks: list[tuple[tuple[Statement, ...], list[Statement]]] = []
    waiting: list[Statement] = []
    number = None
    for statement in statements:
        if isinstance(statement, EventLine):
            if header is None:
                header, waiting = _above(waiting)
            parted = any(isinstance(each, Split) for each in waiting)
            if blocks and not parted and statement.number == number:
                blocks[-1][1].extend((*waiting, statement))
            else:
                blocks.append((tuple(waiting), [statement]))
            waiting, number = [], statement.number
        elif blocks and isinstance(statement, Motion | ExtraAudio):
            modes = [each for each in waiting if isinstance(each, FrameCodeMode)]
            blocks[-1][1].extend((*modes, statement))
            waiting = [each for each in waiting if not isinstance(each, FrameCodeMode)]
        elif blocks and not waiting and not isinstance(statement, FrameCodeMode | Split):
            blocks[-1][1].append(statement)
        else:
            waiting.append(statement)
    if blocks:  # a mode with no event after it counts nothing
        blocks[-1][1].extend(each for each in waiting if not isinstance(each, FrameCodeMode))
    return header or (), tuple(Block(leading, tuple(body)) for leading, body in blocks)


def _above(waiting: Sequence[Statement]) -> tuple[tuple[Statement, ...], list[Statement]]:
    """The header, and a split that belongs to the first block already."""
    splits = (at for at, each in enumerate(waiting) if isinstance(each, Split))
    at = next(splits, len(waiting))
    return tuple(waiting[:at]), list(waiting[at:])
