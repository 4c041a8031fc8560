"""Impulses: places where the movement of a region jumps from one interval to the next.

People move smoothly: reaching speeds follow a bell of some 200 to 500 ms (Flash & Hogan 1985). An
impact does not: the striking thing stops or turns, and what it strikes starts to move, within a
frame or two. So a *stop* is a place that moved before node ``i`` and no longer does, a *start* one
that did not and now does, each compared both at the place itself and along its own path, whichever
differs less, so that a thing passing by at an even speed is neither.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
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
_BESIDE: Final = np.array([(0, 0), (-1, 0), (1, 0), (0, -1), (0, 1)], np.float32)
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
    for kind in SMOOTHING:
        jumps = _jumps(velocity, cells.seconds, kind)
        jumps[blocked[1:] | blocked[:-1]] = 0
        strength = _strength(jumps, velocity, kind)
        for index, row, column in _peaks(strength):
            found.append(_impulse(index, kind, jumps[index], velocity, (row, column)))
    return tuple(sorted(found, key=lambda impulse: impulse.node))


def _jumps(velocity: FloatArray, seconds: FloatArray, kind: Kind) -> FloatArray:
    """Velocity jump at nodes 1..n-1, (n - 1, rows, columns, 2); 0 where nothing moves."""
    before, after = velocity[:-1], velocity[1:]
    moving = after if kind == "start" else before
    at = np.nonzero(np.linalg.norm(moving, axis=-1) > FLOOR)
    least = after[at] - before[at]
    length = np.linalg.norm(least, axis=-1)
    path = moving[at] * (velocity.shape[2] * seconds[at[0], None])
    for beside in _BESIDE:
        if kind == "start":
            jump = after[at] - _elsewhere(before, at, beside - path)
        else:
            jump = _elsewhere(after, at, beside + path) - before[at]
        jump_length = np.linalg.norm(jump, axis=-1)
        smaller = jump_length < length
        least[smaller], length[smaller] = jump[smaller], jump_length[smaller]
    jumps = np.zeros_like(after)
    jumps[at] = least
    return jumps


def _elsewhere(
    fields: FloatArray, at: tuple[NDArray[np.int64], ...], offset: FloatArray
) -> FloatArray:
    """``fields`` at the cells ``at`` (node, row, column) moved by ``offset``, to the nearest."""
    step = np.rint(offset).astype(np.int64)
    row = np.clip(at[1] + step[:, 1], 0, fields.shape[1] - 1)
    column = np.clip(at[2] + step[:, 0], 0, fields.shape[2] - 1)
    read: FloatArray = fields[at[0], row, column]
    return read


def _strength(jumps: FloatArray, velocity: FloatArray, kind: Kind) -> FloatArray:
    """How much of each jump lies along the movement that starts or stops, smoothed."""
    moving = velocity[1:] if kind == "start" else -velocity[:-1]
    speed = np.linalg.norm(moving, axis=-1) + 1e-3
    along = np.clip((jumps * moving).sum(-1) / speed, 0, None)
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
    index: int, kind: Kind, jumps: FloatArray, velocity: FloatArray, place: tuple[int, int]
) -> Impulse:
    near = tuple(slice(max(0, at - 2), at + 3) for at in place)
    moving = velocity[index + 1] if kind == "start" else velocity[index]
    mean = moving[near].reshape(-1, 2).mean(axis=0)
    direction = mean / (float(np.linalg.norm(mean)) + 1e-6)
    along = jumps @ direction * (1 if kind == "start" else -1)
    strength = float(along[near].max())
    top = np.unravel_index(int(np.argmax(along[near])), along[near].shape)
    row, column = near[0].start + int(top[0]), near[1].start + int(top[1])
    labels, _ = ndimage.label(along > max(0.4 * strength, 0.05))
    region = labels == labels[row, column] if labels[row, column] else np.zeros_like(labels, bool)
    region[row, column] = True
    inside = jumps[region]
    jump = inside.mean(axis=0)
    spread = float(np.linalg.norm(inside, axis=1).mean()) + 1e-6
    coherence = float(np.linalg.norm(jump)) / spread
    return Impulse(index + 1, kind, direction, strength, region, jump, coherence)
