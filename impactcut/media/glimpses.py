"""What is in a place for one frame only: the fast tip of a strike, seen around its end.

Flow averages over cells and loses a fist of some twenty blurred pixels that jumps its own length
between two frames. The picture itself does not: where a frame differs both from the one before and
from the one after it, something was there for that moment alone. Bodies leave thin outlines, which
an opening removes; a fist or a foot in flight stays, until it stops.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import cv2
import numpy as np

from impactcut.core.arrays import Float64Array, FloatArray
from impactcut.core.cells import MotionCells
from impactcut.core.glimpse_net import ACROSS, AFTER, ALONG, BEFORE, SHAPE
from impactcut.media.flow import camera_matrix
from impactcut.media.luma import GreyArray

FINE: Final = 4
"""Pixels of the view in which differences are taken to one of the view handed over, a side."""
BLUR: Final = 1 / 480
"""Standard deviation of the smoothing before differences are taken, widths: grain goes."""
TIP: Final = 5
"""Diameter of the disc that fits into what is not an outline, pixels of the finer view: 0.02
widths, half a fist in a medium shot."""
GAIN: Final = 3.0
"""Differences are stored in 8 bits, times this; more than a third of the range is all one."""
FLASH: Final = 8.0
"""Levels by which more than half of a view has to change for one frame to be a flash, which hides
what moves: in films of 800 strikes without flashes it was never half of that."""
_DISC: Final = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (TIP, TIP))


def glimpses(
    pictures: Sequence[GreyArray],
    cells: MotionCells,
    node: int,
    place: tuple[float, float],
    rightward: bool,
) -> GreyArray:
    """Glimpses around a place where a movement starts or stops, mirrored so that it runs rightward.

    Parameters
    ----------
    pictures : sequence of uint8 arrays, shape (height, width)
        One for each of ``cells.frames``.
    cells : MotionCells
        At the finding rate.
    node : int
        The moment, counted in nodes of ``cells``.
    place : (float, float)
        Right and down from the top left corner, widths.
    rightward : bool
        Whether the strike runs to the right; otherwise the view is mirrored.

    Returns
    -------
    uint8, shape (BEFORE + AFTER + 1, 2, rows, columns)
        For each node from ``node - BEFORE`` to ``node + AFTER``: all glimpses, and those that are
        no outlines. Black where a node lacks a neighbour, or is a flash.
    """
    height, width = pictures[node].shape
    view = _view(place, rightward, width)
    views = _views(cells, node, view, (width, height))
    seen = {at: _seen(pictures[at], part) for at, part in views.items()}
    out = np.zeros((BEFORE + AFTER + 1, 2, *SHAPE), np.uint8)
    for index in range(len(out)):
        at = node - BEFORE + index
        if at - 1 in seen and at in seen and at + 1 in seen:
            only_here = np.minimum(_unlike(seen[at], seen[at - 1]), _unlike(seen[at], seen[at + 1]))
            if np.median(only_here[::FINE, ::FINE]) <= FLASH:
                out[index, 0] = _small(only_here)
                opened = cv2.morphologyEx(only_here, cv2.MORPH_OPEN, _DISC)
                out[index, 1] = _small(np.asarray(opened, np.float32))
    return out


def _view(place: tuple[float, float], rightward: bool, width: int) -> Float64Array:
    """Matrix from pixels of the finer view to pixels of the picture, (3, 3)."""
    scale = width * (ALONG[1] - ALONG[0]) / (SHAPE[1] * FINE)
    way = 1.0 if rightward else -1.0
    left = (place[0] + way * ALONG[0]) * width
    top = (place[1] - ACROSS) * width
    return np.array([[way * scale, 0.0, left], [0.0, scale, top], [0.0, 0.0, 1.0]])


def _views(
    cells: MotionCells, node: int, view: Float64Array, size: tuple[int, int]
) -> dict[int, Float64Array]:
    """The same part of the scene, in each node that has pictures around ``node``."""

    def moved(interval: int) -> Float64Array:
        return np.vstack([camera_matrix(cells.camera[interval], *size), [0, 0, 1]])

    views = {node: view}
    for at in range(node, min(node + AFTER + 1, cells.intervals)):
        views[at + 1] = moved(at) @ views[at]
    for at in range(node - 1, max(node - BEFORE - 2, -1), -1):
        views[at] = np.linalg.inv(moved(at)) @ views[at + 1]
    return views


def _seen(picture: GreyArray, view: Float64Array) -> FloatArray:
    """The finer view of a picture, not a number outside it."""
    smooth = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), BLUR * picture.shape[1])
    return cv2.warpAffine(
        smooth,
        view[:2],
        (SHAPE[1] * FINE, SHAPE[0] * FINE),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=np.nan,
    ).astype(np.float32, copy=False)


def _unlike(one: FloatArray, other: FloatArray) -> FloatArray:
    """Difference of two views, none where one of them lies outside its picture."""
    difference: FloatArray = np.nan_to_num(np.abs(one - other), nan=0.0)
    return difference


def _small(difference: FloatArray) -> GreyArray:
    strong = np.minimum(difference * GAIN, 255)
    mean = cv2.resize(strong, SHAPE[::-1], interpolation=cv2.INTER_AREA)
    return np.asarray(np.rint(mean), np.uint8)
