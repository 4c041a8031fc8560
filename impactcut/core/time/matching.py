"""Pairing frames of one list with frames of another."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence


def nearest_pairs(known: Sequence[int], found: Sequence[int], within: int) -> dict[int, int]:
    """Pair frames that stand for the same thing, nearest first, each used once.

    Parameters
    ----------
    known, found : sequence of int
        Frames of one clip, in any order.
    within : int
        Greatest distance of a pair, frames.

    Returns
    -------
    dict of int to int
        Position in ``known`` to position in ``found``.
    """
    ordered = sorted((frame, j) for j, frame in enumerate(found))
    distances = sorted(
        (abs(frame - ordered[at][0]), i, ordered[at][1])
        for i, frame in enumerate(known)
        for at in range(
            bisect_left(ordered, (frame - within,)), bisect_left(ordered, (frame + within + 1,))
        )
    )
    pairs: dict[int, int] = {}
    taken: set[int] = set()
    for _, i, j in distances:
        if i not in pairs and j not in taken:
            pairs[i] = j
            taken.add(j)
    return pairs


def count_matches(known: Sequence[int], found: Sequence[int], within: int) -> int:
    """Greatest number of pairs not further apart than ``within``, each frame used once.

    Walking both lists in order and pairing the earliest two that fit gives the greatest number,
    because every window is equally wide.
    """
    left, right = sorted(known), sorted(found)
    i = j = pairs = 0
    while i < len(left) and j < len(right):
        if abs(left[i] - right[j]) <= within:
            pairs, i, j = pairs + 1, i + 1, j + 1
        elif left[i] < right[j]:
            i += 1
        else:
            j += 1
    return pairs
