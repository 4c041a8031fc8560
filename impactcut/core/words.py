"""Numbers of things in words, and names that are free."""

from collections.abc import Callable
from itertools import chain, count


def counted(number: int, thing: str) -> str:
    """A number of things, in the singular or the plural."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def free_name(name: str, is_taken: Callable[[str], bool]) -> str:
    """The name, or with a number from 2 on behind it, whichever is the first that is free."""
    numbered = (f"{name}-{number}" for number in count(2))
    return next(each for each in chain((name,), numbered) if not is_taken(each))
