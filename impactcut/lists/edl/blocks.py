"""The statements of an EDL in blocks that stay together: event lines of one number, and notes."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass
from functools import cached_property

from impactcut.lists.edl.statements import EventLine, FrameCodeMode, Split, Statement


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
