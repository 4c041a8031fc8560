"""The striking limb, followed to the place of the contact and past it.

Of all ways that cells take by their own flow to the place where the contact reads, the limb's is
the longest: whoever strikes comes from farther than whoever waits. It is found from the contact
backwards, by the best sum of steps (Bellman). From the contact on the patch that arrived is
followed, whatever it does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, FloatArray, IntArray
from impactcut.core.detect.bodies import MOVER_SPEED
from impactcut.core.motion.cells import MotionCells, cell_centres
from impactcut.core.motion.patches import touching

_NTH: Final = 3
"""The third fastest cell stands for a region, engineering choice: one or two may be in error."""
LIMB_SHARE: Final = 0.7
"""Least speed of the limb's cells against its fastest, engineering choice: of a forearm that turns
about the elbow, the outer third."""
REACH: Final = 0.05
"""Half the size of what is looked at around the limb's way, widths, engineering choice: a forearm
in a medium shot."""
LONGEST: Final = 0.11
"""How far from its way cells may belong to the limb, widths, engineering choice: an arm."""
MISSES: Final = (0.1, 0.16, 0.27)
"""How far from the place, widths, an end costs as much as a cell of way, and twice as far four. The
flow of a hand may be lost where that of its arm is not, so ways are looked for that end near the
place, and then farther off."""
LEAST_WAY: Final = 1.5
"""Cells by which the limb comes nearer to the place, at the least."""
ROUNDING: Final = 0.7
ASTRAY: Final = 0.5
"""What leaving the flow by a cell between two frames costs, in cells of way: the flow of a thin
arm is less than its movement."""
MEMORY_SECONDS: Final = 0.15
"""Time before the contact over which the way's worth falls to 1/e."""


@dataclass(frozen=True, eq=False)
class StrikePath:
    """The striking limb through a window of ``n`` intervals.

    Parameters
    ----------
    first : int
        Clip frame at which interval 0 of the window starts.
    rate : float
        Frames per second.
    speed : float32, shape (n,)
        Along its way without the camera, widths/s.
    masks : bool, shape (n, rows, columns)
        Cells that belong to it.
    places : float64, shape (n + 1, 2)
        Where it is in each frame: right, down, widths.
    """

    first: int
    rate: float
    speed: FloatArray
    masks: BoolArray
    places: Float64Array

    def spread(self, window: MotionCells, starts: IntArray) -> StrikePath:
        """The path through every interval of ``window``, of which ``starts`` were followed."""
        every = np.arange(window.intervals + 1)
        own = np.searchsorted(starts, every[:-1], side="right") - 1
        nodes = np.append(starts, window.intervals)
        along = [np.interp(every, nodes, self.places[:, axis]) for axis in (0, 1)]
        return StrikePath(
            int(window.frames[0]),
            float(window.rate),
            self.speed[own],
            self.masks[own],
            np.stack(along, axis=1),
        )


def strike_path(window: MotionCells, place: tuple[float, float], at: int) -> StrikePath:
    """Follow the striking limb to ``place`` and past it.

    Where nothing is seen to come, what is at the place stands for it.

    Parameters
    ----------
    window : MotionCells
        Of ``n`` intervals, from `even`.
    place : (float, float)
        Where the contact reads: right, down, widths.
    at : int
        Interval of the window at whose start the contact lies, 0 to ``n``.
    """
    rows, columns = window.grid
    steps = window.residual * np.float32(columns)
    way = _way(steps[:at], place, float(window.rate))
    n = window.intervals
    masks = np.zeros((n, rows, columns), bool)
    speed = np.zeros(n, np.float32)
    velocity = window.velocity()
    centres = cell_centres(window.grid)
    toward = _directions(way)
    for interval in range(at):
        away = np.linalg.norm(centres - (way[interval] + 0.5) / columns, axis=-1)
        along = velocity[interval] @ toward[interval]
        speed[interval] = max(0.0, float(_third_greatest(along[away <= REACH])))
        fast = along > max(LIMB_SHARE * speed[interval], MOVER_SPEED)
        masks[interval] = touching(fast & (away <= LONGEST), away <= REACH)
    places = np.concatenate([way, np.repeat(way[-1:], n - at, axis=0)])
    if at:
        if not masks[:at].any():
            away = np.linalg.norm(centres - np.array(place, np.float32), axis=-1)
            masks[at - 1] = away <= max(REACH, float(away.min()))
        last = int(np.flatnonzero(masks[:at].any(axis=(1, 2)))[-1])
        masks[at:], places[at + 1 :] = _followed(masks[last], steps[at:])
        along = velocity[at:] @ toward[at - 1]
        own = np.where(masks[at:], along, 0).reshape(n - at, rows * columns)
        speed[at:] = np.clip(_third_greatest(own), 0, None)
    return StrikePath(
        int(window.frames[0]), float(window.rate), speed, masks, (places + 0.5) / columns
    )


def _way(steps: FloatArray, place: tuple[float, float], rate: float) -> IntArray:
    """Cells (column, row) through which the limb comes, node by node, (k + 1, 2).

    Parameters
    ----------
    steps : float32, shape (k, rows, columns, 2)
        Displacement per interval up to the contact, cells.
    """
    rows, columns = steps.shape[1:3]
    goal = np.array(place) * columns - 0.5
    row, column = np.mgrid[:rows, :columns].astype(np.float32)
    away = np.hypot(column - goal[0], row - goal[1]).astype(np.float32)
    to_column, to_row = column + steps[..., 0], row + steps[..., 1]
    age = np.arange(len(steps) - 1, -1, -1) / rate
    counts = np.exp(-age / MEMORY_SECONDS).astype(np.float32)
    nearer = away - np.hypot(to_column - goal[0], to_row - goal[1])
    onward = _Onward(*_cells_near(to_column, to_row), (nearer.T * counts).T)
    for miss in MISSES:
        cells = _longest(onward, -((away / (miss * columns)) ** 2))
        way = np.stack([cells % columns, cells // columns], axis=1)
        off = np.hypot(*(way - goal).T)
        if off.max() - off[-1] >= LEAST_WAY:
            break
    return way


class _Onward(NamedTuple):
    """Where each cell may go on to in each of ``k`` intervals, and what that is worth.

    ``cells`` and ``costs`` are (k, 9, rows * columns), the places near where its flow takes it;
    ``nearer`` (k, rows, columns) is how much nearer to the place that takes it.
    """

    cells: IntArray
    costs: FloatArray
    nearer: FloatArray


def _cells_near(column: FloatArray, row: FloatArray) -> tuple[IntArray, FloatArray]:
    """The nine cells around each place, and what it costs to go there instead."""
    k, rows, columns = column.shape
    off = np.array((-1, 0, 1), np.float32)[:, None, None]
    to_row = np.clip(np.rint(row)[:, None] + off, 0, rows - 1)
    to_column = np.clip(np.rint(column)[:, None] + off, 0, columns - 1)
    cells = (to_row * columns)[:, :, None] + to_column[:, None]
    away = np.hypot((to_row - row[:, None])[:, :, None], (to_column - column[:, None])[:, None])
    costs = np.float32(ASTRAY) * np.maximum(away - ROUNDING, 0)
    flat = (k, off.size**2, rows * columns)
    return cells.astype(np.int32).reshape(flat), costs.reshape(flat)


def _longest(onward: _Onward, worth: FloatArray) -> IntArray:
    """Cells of the way that comes nearer most, if its last is worth so much; (k + 1,)."""
    worth, landing, every = worth.ravel(), [], np.arange(worth.size)
    for cells, costs, nearer in reversed(list(zip(*onward, strict=True))):
        options = worth.take(cells) - costs
        best = options.argmax(axis=0)
        worth = nearer.ravel() + options[best, every]
        landing.append(cells[best, every])
    way = [int(np.argmax(worth))]
    for choice in reversed(landing):
        way.append(int(choice[way[-1]]))
    return np.array(way, np.int64)


def _directions(way: IntArray) -> FloatArray:
    """Unit vectors along the way, one for each interval, over three frames; (k, 2)."""
    k = len(way) - 1
    if k == 0:
        return np.zeros((0, 2), np.float32)
    every = np.arange(k)
    step = (way[np.minimum(every + 2, k)] - way[np.maximum(every - 1, 0)]).astype(np.float32)
    length = np.hypot(step[:, 0], step[:, 1])
    moving = np.flatnonzero(length > 0)
    if len(moving) == 0:
        return np.zeros((k, 2), np.float32)
    nearest = moving[np.abs(every[:, None] - moving[None, :]).argmin(axis=1)]
    directions: FloatArray = step[nearest] / length[nearest][:, None]
    return directions


def _followed(mask: BoolArray, steps: FloatArray) -> tuple[BoolArray, Float64Array]:
    """Where the patch goes: its cells in each interval of ``steps``, and its middle after each.

    It goes where its cells go in the median, and stops at the picture's edge.
    """
    rows, columns = np.nonzero(mask)
    cells = np.stack([columns, rows], axis=1).astype(float)
    most = np.array([mask.shape[1] - 1, mask.shape[0] - 1])
    masks = np.zeros((len(steps), *mask.shape), bool)
    middles = np.zeros((len(steps), 2))
    for index, field in enumerate(steps):
        at = np.clip(np.rint(cells).astype(int), 0, most)
        masks[index, at[:, 1], at[:, 0]] = True
        cells = cells + np.median(field[at[:, 1], at[:, 0]], axis=0)
        middles[index] = np.clip(cells.mean(axis=0), 0, most)
    return masks, middles


def _third_greatest(values: FloatArray) -> FloatArray:
    """The third greatest along the last axis; the least where there are fewer."""
    place = -min(_NTH, values.shape[-1])
    return np.partition(values, place, axis=-1)[..., place]
