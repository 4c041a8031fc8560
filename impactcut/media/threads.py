"""How many threads this process may use for a clip."""

from __future__ import annotations

import os

import cv2

_MOST = 4
"""More make decoding hardly faster and take the memory of a picture each."""


class _Allowed:
    decoder = _MOST


def limit_threads(decoder: int) -> None:
    """Decode with at most ``decoder`` threads from now on, and compute flow with one.

    For processes that measure side by side, each with its share of the processor.
    """
    _Allowed.decoder = decoder
    cv2.setNumThreads(1)


def decoder_threads() -> int:
    """How many threads to decode with."""
    return min(_Allowed.decoder, _MOST, processors())


def processors() -> int:
    """Processors that this process may run on."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
