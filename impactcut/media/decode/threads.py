"""How many threads this process may use for a clip."""

from __future__ import annotations

import os

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


def processors() -> int:
    """Processors that this process may run on."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
