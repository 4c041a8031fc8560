"""Impulses: places where the movement of a region jumps from one interval to the next.

People move smoothly: reaching speeds follow a bell of some 200 to 500 ms (Flash & Hogan 1985). An
impact does not: the striking thing stops or turns, and what it strikes starts to move, within a
frame or two. So a *stop* is a place that moved before node ``i`` and no longer does, a *start* one
that did not and now does, each compared both at the place itself and along its own path, whichever
differs less, so that a thing passing by at an even speed is neither.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy import ndimage

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.cells import MotionCells

Kind = Literal["start", "stop"]
FLOOR: Final = 0.08
"""Velocity jump below which nothing is looked at, widths/s, engineering choice: just above what
grain makes of a locked-off shot."""
SMOOTHING: Final[dict[Kind, float]] = {"start": 1.5, "stop": 1.0}
"""Gaussian smoothing of the jump maps, cells: a body starts, a fist stops."""
APART: Final = 9
"""Size of the square, cells, and MOST the number of places, within which one node keeps a peak."""
MOST: Final = 3
_BESIDE: Final = ((0, 0), (-1, 0), (1, 0), (0, -1), (0, 1))
"""Cells beside the end of a path that are read too: flow is not exact to the cell."""


@dataclass(frozen=True, eq=False)
class Impulse:
    """A jump of velocity shared by a region.

    Parameters
    ----------
    node : int
        The moment of the jump: between interval ``node - 1`` and interval ``node``.
    kind : {"start", "stop"}
    direction : float32, shape (2,)
        Unit vector (right, down) of the movement that starts or stops.
    strength : float
        Greatest jump along ``direction`` in the region, widths/s.
    region : bool, shape (rows, columns)
        Cells that share the jump.
    jump : float32, shape (2,)
        Mean jump of the region, widths/s.
    coherence : float
        Length of the mean jump against the mean length, 0..1.
    """

    node: int
    kind: Kind
    direction: FloatArray
    strength: float
    region: BoolArray
    jump: FloatArray
    coherence: float

    @property
    def place(self) -> tuple[float, float]:
        """Middle of the region: right, down from the top left corner, widths."""
        rows, columns = np.nonzero(self.region)
        width = self.region.shape[1]
        return (float(columns.mean()) + 0.5) / width, (float(rows.mean()) + 0.5) / width


def find_impulses(
    cells: MotionCells, velocity: FloatArray, blocked: BoolArray
) -> tuple[Impulse, ...]:
    """Every impulse of a stretch, in order of nodes.

    Parameters
    ----------
    cells : MotionCells
    velocity : float32, shape (n, rows, columns, 2)
        ``cells.velocity()``.
    blocked : bool, shape (n,)
        Intervals that mean nothing (shot boundaries); no impulse touches one.
    """
    if cells.intervals < 2:
        return ()
    found: list[Impulse] = []
    planes = np.ascontiguousarray(np.moveaxis(velocity, -1, 0))
    for kind in SMOOTHING:
        moving, other = planes[:, :-1], planes[:, 1:]
        if kind == "start":
            moving, other = other, moving
        speed = _length(moving)
        jumps = _jumps(moving, other, speed > FLOOR, cells.seconds[:-1], kind)
        jumps[:, blocked[1:] | blocked[:-1]] = 0
        strength = _strength(jumps, moving, speed, kind)
        for index, row, column in _peaks(strength):
            found.append(_impulse(index, kind, jumps[:, index], moving[:, index], (row, column)))
    return tuple(sorted(found, key=lambda impulse: impulse.node))


def _length(vectors: FloatArray) -> FloatArray:
    """Length of vectors whose two parts lie along the first axis."""
    length: FloatArray = np.sqrt(vectors[0] ** 2 + vectors[1] ** 2)
    return length


def _jumps(
    moving: FloatArray, other: FloatArray, fast: BoolArray, seconds: FloatArray, kind: Kind
) -> FloatArray:
    """Velocity jump at each node, (2, nodes, rows, columns); 0 where nothing is ``fast``.

    Parameters
    ----------
    moving, other : float32, shape (2, nodes, rows, columns)
        Velocity in the interval that has the movement, and in the one across the node.
    fast : bool, shape (nodes, rows, columns)
    seconds : float32, shape (nodes,)
        Duration of the interval before each node.
    """
    sign = 1 if kind == "start" else -1
    (node, row, column), at = np.nonzero(fast), np.flatnonzero(fast)
    own, there = (fields.reshape(2, -1) for fields in (moving, other))
    own = own.take(at, axis=1)
    least = own - there.take(at, axis=1)
    square = (least**2).sum(axis=0)
    path = np.rint(own * (sign * fast.shape[2] * seconds[node])).astype(np.int64)
    for right, down in _BESIDE:
        from_row = np.clip(row - path[1] + down, 0, fast.shape[1] - 1)
        from_column = np.clip(column - path[0] + right, 0, fast.shape[2] - 1)
        cell = (node * fast.shape[1] + from_row) * fast.shape[2] + from_column
        gap = own - there.take(cell, axis=1)
        gap_square = (gap**2).sum(axis=0)
        smaller = gap_square < square
        np.copyto(least, gap, where=smaller)
        np.copyto(square, gap_square, where=smaller)
    jumps = np.zeros((2, fast.size), np.float32)
    jumps[:, at] = sign * least
    return jumps.reshape(moving.shape)


def _strength(jumps: FloatArray, moving: FloatArray, speed: FloatArray, kind: Kind) -> FloatArray:
    """How much of each jump lies along the movement that starts or stops, smoothed."""
    sign = 1 if kind == "start" else -1
    product = jumps[0] * moving[0] + jumps[1] * moving[1]
    along = np.clip(sign * product / (speed + np.float32(1e-3)), 0, None)
    sigma = SMOOTHING[kind]
    smooth: FloatArray = ndimage.gaussian_filter(along, (0, sigma, sigma), truncate=3.0)
    return smooth


def _peaks(strength: FloatArray) -> list[tuple[int, int, int]]:
    highest = ndimage.maximum_filter(strength, size=(1, APART, APART), mode="constant")
    found: list[tuple[int, int, int]] = []
    for index in np.flatnonzero(strength.max(axis=(1, 2)) > FLOOR):
        rows, columns = np.nonzero((strength[index] >= highest[index]) & (strength[index] > FLOOR))
        order = np.argsort(-strength[index][rows, columns], kind="stable")[:MOST]
        found += [(int(index), int(rows[k]), int(columns[k])) for k in order]
    return found


def _impulse(
    index: int, kind: Kind, jumps: FloatArray, moving: FloatArray, place: tuple[int, int]
) -> Impulse:
    """The impulse at a place of node ``index + 1``; jumps and movement (2, rows, columns)."""
    near = tuple(slice(max(0, at - 2), at + 3) for at in place)
    mean = moving[:, near[0], near[1]].reshape(2, -1).mean(axis=1)
    direction = mean / (math.hypot(*mean) + 1e-6)
    along = (jumps[0] * direction[0] + jumps[1] * direction[1]) * (1 if kind == "start" else -1)
    strength = float(along[near].max())
    top = np.unravel_index(int(np.argmax(along[near])), along[near].shape)
    row, column = near[0].start + int(top[0]), near[1].start + int(top[1])
    labels, _ = ndimage.label(along > max(0.4 * strength, 0.05))
    region = labels == labels[row, column] if labels[row, column] else np.zeros_like(labels, bool)
    region[row, column] = True
    inside = jumps[:, region]
    jump = inside.mean(axis=1)
    spread = float(_length(inside).mean()) + 1e-6
    return Impulse(index + 1, kind, direction, strength, region, jump, math.hypot(*jump) / spread)
