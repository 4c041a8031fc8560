"""The striking limb, followed through the window around a contact."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from skimage.measure import label

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.bodies import MOVER_SPEED
from impactcut.core.cells import MotionCells, cell_centres
from impactcut.core.fastest import third_greatest
from impactcut.core.impulses import Impulse

WINDOW_SECONDS: Final = 0.6
"""Seconds before and after the contact that a hit's window covers: the half second over which
shake is judged, and the trims themselves."""
REACH: Final = 0.32
"""How far from the impulse the striking limb is looked for, widths, as in the traits."""
LIMB_SHARE: Final = 0.7
"""Least speed of the limb's cells against its fastest, engineering choice: of a forearm that turns
about the elbow, the outer third."""


@dataclass(frozen=True, eq=False)
class StrikePath:
    """The striking limb through a window.

    Parameters
    ----------
    first : int
        Clip frame at which interval 0 of the window starts.
    speed : float32, shape (n,)
        Speed along the strike without the camera, widths/s.
    masks : bool, shape (n, rows, columns)
        Cells that belong to it.
    """

    first: int
    speed: FloatArray
    masks: BoolArray

    def region_at(self, frame: int) -> tuple[float, float, float, float]:
        """Left, top, width, height (widths) around the strike just before ``frame``."""
        index = min(max(frame - self.first - 1, 0), len(self.masks) - 1)
        rows, columns = np.nonzero(self.masks[index])
        scale = self.masks.shape[2]
        left, top = columns.min(initial=scale), rows.min(initial=self.masks.shape[1])
        if len(rows) == 0:
            return (0.0, 0.0, 1.0, self.masks.shape[1] / scale)
        wide, high = columns.max() + 1 - left, rows.max() + 1 - top
        left, top, wide, high = (float(cells) / scale for cells in (left, top, wide, high))
        return (left, top, wide, high)


def window_of(cells: MotionCells, contact: int) -> MotionCells:
    """The part of a stretch (one node a frame) within `WINDOW_SECONDS` of frame ``contact``."""
    reach = round(WINDOW_SECONDS * float(cells.rate))
    at = contact - int(cells.frames[0])
    return cells.between(at - reach, min(cells.intervals, at + reach))


def strike_path(impulse: Impulse, cells: MotionCells, contact: int) -> StrikePath:
    """Follow the striking limb of ``impulse`` through the window around ``contact``.

    Up to the contact the limb is the patch that is fastest along the strike, of what lies behind
    and beside the place of the impulse. From there on that patch is followed, whatever it does.
    """
    window = window_of(cells, contact)
    velocity = window.velocity()
    along = velocity @ impulse.direction
    inside = _behind_and_near(impulse, velocity.shape[1:3])
    reachable = np.where(inside, along, 0)
    speed = _fast(reachable)
    masks = reachable > np.maximum(LIMB_SHARE * speed, MOVER_SPEED)[:, None, None]
    last = contact - int(window.frames[0]) - 1
    if 0 <= last < len(masks) and masks[last].any():
        masks[last] = _patch(masks[last], reachable[last])
        masks[last + 1 :] = _followed(masks[last], window.residual[last:])
        speed[last + 1 :] = _fast(np.where(masks, along, 0)[last + 1 :])
    return StrikePath(int(window.frames[0]), speed.astype(np.float32), masks)


def _fast(along: FloatArray) -> FloatArray:
    """The speed of each interval's fastest cells, 0 or more."""
    intervals, rows, columns = along.shape
    return np.clip(third_greatest(along.reshape(intervals, rows * columns)), 0, None)


def _patch(mask: BoolArray, along: FloatArray) -> BoolArray:
    """That patch of the mask in which the fastest cell lies."""
    patches = label(mask)
    fastest = np.unravel_index(int(np.argmax(np.where(mask, along, -np.inf))), mask.shape)
    patch: BoolArray = patches == patches[fastest]
    return patch


def _followed(mask: BoolArray, moved: FloatArray) -> BoolArray:
    """The mask after each interval of ``moved`` but the last, (n - 1, rows, columns).

    The patch goes where its cells go in the median, and stops at the picture's edge.
    """
    rows, columns = np.nonzero(mask)
    place = np.stack([columns, rows], axis=1).astype(float)
    most = np.array([mask.shape[1] - 1, mask.shape[0] - 1])
    masks = np.zeros((len(moved) - 1, *mask.shape), bool)
    for index, field in enumerate(moved[:-1]):
        at = np.clip(np.rint(place).astype(int), 0, most)
        place = place + np.median(field[at[:, 1], at[:, 0]], axis=0) * mask.shape[1]
        at = np.clip(np.rint(place).astype(int), 0, most)
        masks[index, at[:, 1], at[:, 0]] = True
    return masks


def _behind_and_near(impulse: Impulse, grid: tuple[int, int]) -> BoolArray:
    rows, columns = np.nonzero(impulse.region)
    place = cell_centres(grid)
    x = place[..., 0] - (columns.mean() + 0.5) / grid[1]
    y = place[..., 1] - (rows.mean() + 0.5) / grid[1]
    ux, uy = (float(part) for part in impulse.direction)
    along, across = x * ux + y * uy, y * ux - x * uy
    inside: BoolArray = (along > -REACH) & (along < 0.08) & (np.abs(across) < REACH / 2)
    return inside
