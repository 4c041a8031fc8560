"""What a viewer would see across a splice, measured on the pictures themselves.

The movement across a splice is worked out by adding up that of the intervals it joins. Here the
two pictures that meet are compared directly, for every trim that may be proposed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any

import cv2
import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.motion.cells import CELLS_PER_WIDTH, MotionCells
from impactcut.core.motion.measured import Skips
from impactcut.media.decode.luma import GreyArray
from impactcut.media.measure.flow import cell_means, flow_method


def measure_skips(
    pictures: Sequence[GreyArray],
    cells: MotionCells,
    bodies: BoolArray,
    candidates: Iterable[tuple[int, int]],
) -> Skips:
    """Compare the pictures that meet at each splice of a window.

    Parameters
    ----------
    pictures : sequence of uint8 arrays, shape (height, width)
        Of the window's ``n + 1`` frames, from `impactcut.media.measure.flow.flow_picture`.
    cells : MotionCells
        Of its ``n`` intervals, one node a frame.
    bodies : bool, shape (n, rows, columns)
        Cells of the two bodies of the hit.
    candidates : iterable of (int, int)
        First removed frame, counted from the window's first, and how many go.
    """
    method = flow_method()
    screen = cells.on_screen()
    trims = sorted(candidates)
    difference = np.zeros(len(trims), np.float32)
    disagreement = np.zeros(len(trims), np.float32)
    for first, together in groupby(enumerate(trims), key=lambda numbered: numbered[1][0]):
        same_start = [(row, count) for row, (_, count) in together]
        ways = list(chained(screen[first - 1 : first + same_start[-1][1]]))
        for row, count in same_start:
            earlier, later = pictures[first - 1], pictures[first + count]
            difference[row] = float(cv2.mean(cv2.absdiff(later, earlier))[0]) / 255
            inside = np.logical_or.reduce(bodies[first - 1 : first + count], axis=0)
            apart = _direct(method, earlier, later) - ways[count]
            disagreement[row] = _median_length(apart[inside])
    table = np.array(trims, np.int64).reshape(-1, 2)
    return Skips(table[:, 0], table[:, 1], difference, disagreement)


def chained(moved: FloatArray) -> Iterator[FloatArray]:
    """Where each cell comes to be, by following it through interval after interval.

    Parameters
    ----------
    moved : float32, shape (n, rows, columns, 2)
        Displacement per interval, widths.

    Yields
    ------
    float32, shape (rows, columns, 2)
        Way from the first interval's start to each interval's end, widths.
    """
    rows, columns = moved.shape[1:3]
    right, down = np.meshgrid(np.arange(columns, dtype="f4"), np.arange(rows, dtype="f4"))
    way = np.zeros((rows, columns, 2), np.float32)
    for field in moved:
        place = way * np.float32(CELLS_PER_WIDTH)
        step = cv2.remap(
            field,
            right + place[..., 0],
            down + place[..., 1],
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        )
        way = way + np.asarray(step, np.float32)
        yield way


def _direct(method: Any, earlier: GreyArray, later: GreyArray) -> FloatArray:
    moved: FloatArray = cell_means(method.calc(earlier, later, None)) / earlier.shape[1]
    return moved


def _median_length(vectors: FloatArray) -> float:
    return float(np.median(np.linalg.norm(vectors, axis=-1))) if len(vectors) else 0.0
