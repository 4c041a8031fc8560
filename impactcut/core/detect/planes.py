"""What the spotter is shown of each frame: its brightness, and what the camera does not explain.

Four planes of one small grid, into which a picture of any shape is fitted whole: luma; how much
the picture changed from the frame before, with the camera taken out; and the movement without the
camera, right and down. They are stored in 8 bits. Dim frames are lit: in the dailies of a night
people stand out less than in the footage that the spotter knows.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import FloatArray
from impactcut.core.motion.cells import camera_displacement

GreyArray = NDArray[np.uint8]
Planes = Sequence[GreyArray] | GreyArray
"""Of frames that follow one another: uint8, shape (PLANES, ROWS, COLUMNS) each. Frames that several
hold lie in memory once."""
PLANES: Final = 4
LUMA, CHANGE, RIGHT, DOWN = range(PLANES)
ROWS, COLUMNS = 96, 128
"""Of the grid: a picture of 4:3 fills it."""
CHANGE_GAIN: Final = 2.5
"""Changes are stored times this: more than 0.4 of the range is all one."""
SWIFT: Final = 0.04
"""Movement, widths a frame, that is stored as the hyperbolic tangent of 1."""
STILL: Final = 128
"""How no movement is stored; `GAP` steps of it are the tangent of 1 and more."""
GAP: Final = 127
OFFSET: Final = (110.0, 0.0, 128.0, 128.0)
SCALE: Final = (1 / 60, 1 / 62.5, 1 / 31.75, 1 / 31.75)
"""What is taken off each plane, and by what it is then multiplied, before the network sees it."""
DIM: Final = 80
"""Levels from the dark parts of a picture to the bright ones below which it is dim: in one of eight
labelled clips of people (`scripts/training/README.md`)."""
_PARTS: Final = (0.03, 0.97)
"""Shares of a picture's pixels that its dark and bright parts begin after, engineering choice."""
MOST_LIGHT: Final = 3.0
"""By how much a dim frame is lit at most, engineering choice: beyond, grain passes for movement."""
EARLIER_CHANGE: Final = 0.6
"""Share of the changes before the last that shows where frames are left out, engineering choice."""


@cache
def box_of(width: int, height: int) -> tuple[int, int, int, int]:
    """Left, top, width and height of the part of the grid that a picture's shape fills, cells."""
    scale = min(COLUMNS / width, ROWS / height)
    wide, high = max(1, round(width * scale)), max(1, round(height * scale))
    return (COLUMNS - wide) // 2, (ROWS - high) // 2, wide, high


def shown_planes(luma: GreyArray, motion: GreyArray | None) -> GreyArray:
    """All that is shown of a frame, lit if it is dim; uint8, shape (PLANES, ROWS, COLUMNS).

    Parameters
    ----------
    luma : uint8, shape (height, width)
        The picture, which is put on the grid with black around it.
    motion : uint8, shape (PLANES - 1, ROWS, COLUMNS), or None
        As of `motion_planes`; None for a clip's first frame.
    """
    left, top, wide, high = box_of(luma.shape[1], luma.shape[0])
    shrunk = np.asarray(cv2.resize(luma, (wide, high), interpolation=cv2.INTER_AREA), np.uint8)
    dark, light = _light_for(shrunk)
    planes = np.zeros((PLANES, ROWS, COLUMNS), np.uint8)
    planes[CHANGE:] = no_motion() if motion is None else motion
    if light > 1:
        lit = (np.arange(256) - dark) * light + dark
        shrunk = np.clip(np.rint(lit), 0, 255).astype(np.uint8)[shrunk]
        planes[CHANGE] = cv2.convertScaleAbs(planes[CHANGE], alpha=light)
    planes[LUMA, top : top + high, left : left + wide] = shrunk
    return planes


def _light_for(picture: GreyArray) -> tuple[int, float]:
    """The level of a picture's dark parts, and by how much it is to be lit, 1 and more."""
    counts = cv2.calcHist([picture], [0], None, [256], [0, 256]).ravel()
    dark, bright = np.searchsorted(np.cumsum(counts), np.array(_PARTS) * picture.size).tolist()
    return dark, min(max(DIM / max(bright - dark, 1), 1.0), MOST_LIGHT)


def motion_planes(flow: Any, camera: FloatArray, changed: GreyArray) -> GreyArray:
    """Change and movement between two pictures on the grid.

    Parameters
    ----------
    flow : float32, shape (height, width, 2)
        Displacement: right, down, pixels.
    camera : float32, shape (4,)
        The camera's part, as of `MotionCells`.
    changed : uint8, shape (height, width)
        Absolute difference of the pictures, camera taken out.

    Returns
    -------
    uint8, shape (PLANES - 1, ROWS, COLUMNS)
    """
    height, width = changed.shape
    left, top, wide, high = box_of(width, height)
    inside = (slice(top, top + high), slice(left, left + wide))
    planes = no_motion()
    change = cv2.resize(changed, (wide, high), interpolation=cv2.INTER_AREA)
    planes[(0, *inside)] = cv2.convertScaleAbs(change, alpha=CHANGE_GAIN)
    moved = cv2.resize(flow, (wide, high), interpolation=cv2.INTER_AREA) * np.float32(1 / width)
    moved -= camera_displacement(camera[None], (high, wide))[0]
    packed = np.rint(np.tanh(moved * np.float32(1 / SWIFT)) * GAP + STILL).astype(np.uint8)
    planes[(slice(1, 3), *inside)] = packed.transpose(2, 0, 1)
    return planes


def no_motion() -> GreyArray:
    """The motion planes of a frame that nothing comes before, or that repeats the one before."""
    planes = np.full((PLANES - 1, ROWS, COLUMNS), STILL, np.uint8)
    planes[0] = 0
    return planes


def every(planes: Planes, stride: int) -> Planes:
    """Planes of every ``stride``-th frame, with the movement of those between added up.

    Parameters
    ----------
    planes : sequence of n planes
        The first frame stays the first.

    Returns
    -------
    sequence of ceil(n / stride) planes
    """
    if stride == 1:
        return planes
    kept = [each.copy() for each in planes[::stride]]
    for at in range(1, len(kept)):
        run = np.array(planes[(at - 1) * stride + 1 : at * stride + 1], np.float32)
        change = run[-1, CHANGE] + EARLIER_CHANGE * run[:-1, CHANGE].sum(axis=0)
        kept[at][CHANGE] = np.clip(np.rint(change), 0, 255)
        moved = (run[:, RIGHT:] - STILL).sum(axis=0) + STILL
        kept[at][RIGHT:] = np.clip(np.rint(moved), 0, 255)
    return kept


def scaled(planes: Planes) -> FloatArray:
    """Planes as the network takes them, float32, shape (n, PLANES, ROWS, COLUMNS)."""
    shape = (1, PLANES, 1, 1)
    off = np.array(OFFSET, np.float32).reshape(shape)
    scale = np.array(SCALE, np.float32).reshape(shape)
    inputs: FloatArray = np.array(planes, np.float32)
    inputs -= off
    inputs *= scale
    return inputs
