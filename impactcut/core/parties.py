"""What moves behind, beside and ahead of an impulse while it happens.

A striking limb comes from behind a receiver, a receiver stands ahead of a fist.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray, IntArray
from impactcut.core.fastest import third_greatest
from impactcut.core.regions import Regions

PARTIES: Final = {"behind": (-0.32, -0.02), "near": (-0.08, 0.08), "ahead": (0.02, 0.30)}
"""Where others are looked for, along the direction of the movement, widths, engineering choice:
arm's length in a medium shot."""
PARTY_HALF_WIDTH: Final = 0.16
"""How far to either side of that direction, widths, engineering choice."""
PARTY_STEPS: Final = range(-6, 5)
FEWEST_CELLS: Final = 4
_AT_ONCE: Final = 64
"""Impulses looked at together: enough to be quick, few enough to take little memory."""


def party_names() -> list[str]:
    """Names of the numbers that `party_traits` gives."""
    names = []
    for party in PARTIES:
        names += [f"{party}_{step}" for step in PARTY_STEPS]
        names += [f"{party}_{what}" for what in ("peak", "peak_at", "drop", "change", "against")]
    return names


def party_traits(
    regions: Regions, direction: FloatArray, base: IntArray, fields: FloatArray
) -> FloatArray:
    """Of each party of each impulse: speed along its movement by steps, and what becomes of it.

    Parameters
    ----------
    regions : Regions
        Of ``m`` impulses.
    direction : float32, shape (m, 2)
        Of their movement: right, down; unit vectors.
    base : int64, shape (m,)
        Interval of their movement.
    fields : float32, shape (n, rows, columns, 3)
        Velocity (right, down) and change of every cell; ``base`` plus any step lies in it.

    Returns
    -------
    float32, shape (m, len(party_names()))
        Speeds in widths/s: the third fastest cell along the movement, the greatest of these up to
        the step after the base, its step, and by how much it falls within three; the change around
        the base; the greatest speed against the movement. 0 where the picture has no room.
    """
    by_cell = np.ascontiguousarray(fields.reshape(len(fields), -1, 3).transpose(2, 0, 1))
    parts = []
    for first in range(0, len(base), _AT_ONCE):
        part = slice(first, first + _AT_ONCE)
        inside = _inside(regions, part, direction[part])
        each = [_party(cells, direction[part], base[part], by_cell) for cells in inside]
        parts.append(np.concatenate(each, axis=1))
    return np.concatenate(parts)


def _inside(regions: Regions, part: slice, direction: FloatArray) -> list[BoolArray]:
    """Cells of each party of the impulses of a part, (m, rows * columns)."""
    mask = regions.masks[part]
    columns = mask.shape[2]
    centre = regions.centre[part]
    y = ((np.arange(mask.shape[1]) - centre[:, :1]) / columns)[:, :, None]
    x = ((np.arange(columns) - centre[:, 1:]) / columns)[:, None, :]
    right, down = (direction[:, axis, None, None].astype(np.float64) for axis in (0, 1))
    along, across = x * right + y * down, y * right - x * down
    beside = np.abs(across) < PARTY_HALF_WIDTH
    cells = []
    for party, (nearest, farthest) in PARTIES.items():
        inside = (along > nearest) & (along < farthest) & beside
        if party != "near":
            inside &= ~mask
        cells.append(inside.reshape(len(mask), -1))
    return cells


def _party(
    inside: BoolArray, direction: FloatArray, base: IntArray, by_cell: FloatArray
) -> FloatArray:
    count = np.count_nonzero(inside, axis=1)
    wide = max(int(count.max()), FEWEST_CELLS)
    table = np.zeros((len(inside), wide), np.int64)
    table[np.arange(wide) < count[:, None]] = np.nonzero(inside)[1]
    enough = count >= FEWEST_CELLS
    absent = ((np.arange(wide) >= count[:, None]) & enough[:, None])[:, None, :]
    steps = base[:, None] + np.arange(PARTY_STEPS.start, PARTY_STEPS.stop)
    at = steps[:, :, None] * by_cell.shape[2] + table[:, None, :]
    speed = by_cell[0].ravel().take(at) * direction[:, :1, None]
    speed += by_cell[1].ravel().take(at) * direction[:, 1:, None]
    now = -PARTY_STEPS.start
    change = by_cell[2].ravel().take(at[:, now - 2 : now + 1])
    fast = third_greatest(np.where(absent, -np.inf, speed))
    against = third_greatest(np.where(absent, -np.inf, -speed)).max(axis=1)
    changed = third_greatest(np.where(absent, -np.inf, change)).max(axis=1)
    found = np.column_stack([fast, _rise_and_fall(fast, now), changed, against])
    found[~enough] = 0
    return np.asarray(found, np.float32)


def _rise_and_fall(fast: FloatArray, now: int) -> FloatArray:
    """Greatest speed up to the step after ``now``, its step, and its fall within three steps."""
    peak = fast[:, : now + 2].argmax(axis=1)
    every = np.arange(len(fast))
    later = np.minimum(peak[:, None] + np.arange(4), fast.shape[1] - 1)
    highest = fast[every, peak]
    lowest = fast[every[:, None], later].min(axis=1)
    return np.column_stack([highest, peak - now, highest - lowest])
