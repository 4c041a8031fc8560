"""How many threads this process may use for a clip."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Item = TypeVar("Item")
Made = TypeVar("Made")

_MOST = 4
"""More make decoding hardly faster and take the memory of a picture each."""
_TO_A_PROCESSOR = 2
"""Decoder threads wait for one another and for whoever takes their frames; with two to a processor
there is always one to go on."""


class _Share:
    """How many processors are this process's own."""

    processors = _MOST


def limit_threads(processors: int) -> None:
    """Decode with no more threads than keep ``processors`` busy, and compute flow with one.

    For processes that measure side by side, each with its share of the machine.
    """
    import cv2

    _Share.processors = processors
    cv2.setNumThreads(1)


def decoder_threads() -> int:
    """How many threads to decode with."""
    return min(_TO_A_PROCESSOR * min(_Share.processors, processors()), _MOST)


def side_by_side(function: Callable[[Item], Made], items: Iterable[Item]) -> list[Made]:
    """What the function makes of each item, several at once where processors are free for it."""
    most = min(_Share.processors, processors())
    if most == 1:
        return [function(item) for item in items]
    with ThreadPoolExecutor(most) as threads:
        return list(threads.map(function, items))


def processors() -> int:
    """Processors that this process may run on."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
