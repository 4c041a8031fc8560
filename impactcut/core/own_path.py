"""The movement of regions along their own paths, before a moment and after it."""

from __future__ import annotations

import numpy as np

from impactcut.core.arrays import FloatArray, IntArray
from impactcut.core.regions import Regions


def own_paths(
    regions: Regions, base: IntArray, steps: range, fields: FloatArray, step_cells: float
) -> FloatArray:
    """What each region does from interval to interval, as it moves along.

    Forwards a region goes where its own mean velocity takes it. Backwards, it was where it is now
    or where its velocity brought it from, whichever moved faster.

    Parameters
    ----------
    regions : Regions
    base : int64, shape (m,)
        Interval in which each region is where its cells are.
    steps : range
        From the earliest to the latest interval wanted, counted from ``base``.
    fields : float32, shape (n, rows, columns, 3)
        Velocity (right, down) and change of every cell; ``base`` plus any step lies in it.
    step_cells : float
        Cells that a velocity of 1 covers in an interval.

    Returns
    -------
    float32, shape (m, len(steps), 3)
        Mean velocity and change of each region.
    """
    found = np.zeros((len(base), len(steps), 3), np.float32)
    offset = np.zeros((len(base), 2), np.float32)
    for step in range(0, steps.stop):
        here = _read(regions, base + step, offset, fields)
        found[:, step - steps.start] = here
        offset = offset + here[:, :2] * np.float32(step_cells)
    offset = np.zeros((len(base), 2), np.float32)
    for step in range(-1, steps.start - 1, -1):
        here = _read(regions, base + step, offset, fields)
        came_from = offset - here[:, :2] * np.float32(step_cells)
        upstream = _read(regions, base + step, came_from, fields)
        faster = _length(upstream) > _length(here)
        here[faster] = upstream[faster]
        found[:, step - steps.start] = here
        offset = offset - here[:, :2] * np.float32(step_cells)
    return found


def _read(
    regions: Regions, interval: IntArray, offset: FloatArray, fields: FloatArray
) -> FloatArray:
    """Mean of the fields over each region moved by its offset (cells), kept in the picture."""
    rows, columns = fields.shape[1:3]
    shift = np.rint(offset).astype(np.int64)
    row = np.clip(regions.row + shift[regions.owner, 1], 0, rows - 1)
    column = np.clip(regions.column + shift[regions.owner, 0], 0, columns - 1)
    cell = (interval[regions.owner] * rows + row) * columns + column
    values = fields.reshape(-1, fields.shape[3]).take(cell, axis=0)
    return np.asarray(regions.means(values), np.float32)


def _length(vectors: FloatArray) -> FloatArray:
    return np.hypot(vectors[:, 0], vectors[:, 1])
