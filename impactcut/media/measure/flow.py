"""Dense optical flow between small frames, and the camera's part of it.

Flow is DIS (dense inverse search), OpenCV's fast preset, on pictures of about `FLOW_PIXELS`
pixels: fast enough to keep up with decoding, and fine enough for a fist at arm's length in a wide
shot. The camera is a similarity (shift, turn, zoom) that most of the picture agrees on: random
sampling tells which cells do, so that fighters do not pull it along, and least squares fit it to
those.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import FloatArray
from impactcut.core.detect.planes import motion_planes
from impactcut.core.motion.cells import CELLS_PER_WIDTH, camera_displacement, from_centre
from impactcut.media.decode.luma import GreyArray

FLOW_WIDTH: Final = 320
"""Pixels across in which `CAMERA_TOLERANCE` counts, whatever the picture's size."""
FLOW_PIXELS: Final = FLOW_WIDTH * 180
CAMERA_TOLERANCE: Final = 0.4
"""Pixels of the flow picture by which a cell may differ and still count as background,
engineering choice: the noise of DIS flow on grainy footage."""


@dataclass(frozen=True, eq=False)
class Interval:
    """What was measured between two neighbouring frames.

    Parameters
    ----------
    residual : float32, shape (rows, columns, 2)
        Displacement without the camera, widths.
    change : float32, shape (rows, columns)
        Mean absolute luma difference, camera taken out, 0..1.
    camera : float32, shape (4,)
        Right, down (widths), turn (radians), log of the zoom, about the picture's centre.
    difference : float
        Mean absolute luma difference of the two frames as they are, 0..1.
    planes : uint8, shape (PLANES - 1, ROWS, COLUMNS)
        The motion that the spotter is shown of the later frame.
    """

    residual: FloatArray
    change: FloatArray
    camera: FloatArray
    difference: float
    planes: GreyArray


def flow_size(width: int, height: int) -> tuple[int, int]:
    """Width and height of the picture that flow is measured on, for one of ``width x height``."""
    scale = min(1.0, math.sqrt(FLOW_PIXELS / (width * height)))
    return max(16, round(width * scale)), max(16, round(height * scale))


def flow_picture(luma: GreyArray) -> GreyArray:
    """``luma`` shrunk to the size that flow is measured on."""
    size = flow_size(luma.shape[1], luma.shape[0])
    if size == luma.shape[::-1]:
        return luma
    return np.asarray(cv2.resize(luma, size, interpolation=cv2.INTER_AREA), np.uint8)


def flow_method() -> Any:
    """The optical flow to hand to `measure_interval`; slow to make, so kept by the caller."""
    return cv2.DISOpticalFlow.create(cv2.DISOPTICAL_FLOW_PRESET_FAST)


def measure_interval(method: Any, earlier: GreyArray, later: GreyArray) -> Interval:
    """Motion from one flow picture to the next.

    Parameters
    ----------
    method
        From `flow_method`.
    earlier, later : uint8, shape (height, width)
        From `flow_picture`, of the same size.
    """
    height, width = earlier.shape
    flow = method.calc(earlier, later, None)
    cv2.patchNaNs(flow, 0)  # in pictures a few pixels high it may find no number
    cells = cell_means(flow) / width
    grid = (cells.shape[0], cells.shape[1])
    camera = fit_camera(cells)
    still = cv2.warpAffine(
        later,
        camera_matrix(camera, width, height),
        (width, height),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    changed = np.asarray(cv2.absdiff(still, earlier), np.uint8)
    return Interval(
        residual=cells - camera_displacement(camera[None], grid)[0],
        change=cell_means(np.float32(1 / 255) * changed),
        camera=camera,
        difference=float(cv2.mean(cv2.absdiff(later, earlier))[0]) / 255,
        planes=motion_planes(flow, camera, changed),
    )


def fit_camera(displacement: FloatArray) -> FloatArray:
    """The camera's movement that most cells agree on.

    Parameters
    ----------
    displacement : float32, shape (rows, columns, 2)
        Widths per interval.

    Returns
    -------
    float32, shape (4,)
        Right, down (widths), turn (radians), log of the zoom, about the picture's centre; zeros
        where no two cells agree.
    """
    rows, columns = displacement.shape[:2]
    start = from_centre((rows, columns)).reshape(-1, 2)
    end = start + displacement.reshape(-1, 2)
    cv2.setRNGSeed(1)
    _, agreeing = cv2.estimateAffinePartial2D(
        start * FLOW_WIDTH,
        end * FLOW_WIDTH,
        method=cv2.RANSAC,
        ransacReprojThreshold=CAMERA_TOLERANCE,
        maxIters=200,
        confidence=0.99,
        refineIters=0,
    )
    chosen = None if agreeing is None else np.flatnonzero(agreeing)
    if chosen is None or len(chosen) < 2:
        return np.zeros(4, np.float32)
    return _similarity(*(points.view(np.complex64).ravel()[chosen] for points in (start, end)))


def _similarity(start: NDArray[np.complex64], end: NDArray[np.complex64]) -> FloatArray:
    """The shift, turn and zoom that take ``start`` to ``end`` with the least squares of error.

    With points as complex numbers a similarity is ``end = factor * start + shift``, which is a
    straight line's fit.
    """
    before, after = start.astype(np.complex128), end.astype(np.complex128)
    middle, goal = before.mean(), after.mean()
    from_middle = before - middle
    spread = np.vdot(from_middle, from_middle).real
    factor = np.vdot(from_middle, after - goal) / spread if spread > 0 else 1.0
    shift = goal - factor * middle
    zoom = math.log(max(1e-6, abs(factor)))
    return np.array([shift.real, shift.imag, np.angle(factor), zoom], np.float32)


def camera_matrix(camera: FloatArray, width: int, height: int) -> NDArray[np.float64]:
    """Matrix from pixels of an interval's first picture to those of its second, (2, 3).

    Parameters
    ----------
    camera : float32, shape (4,)
        As of `MotionCells`.
    width, height : int
        Of the pictures, pixels.
    """
    scale = math.exp(float(camera[3]))
    cos, sin = scale * math.cos(float(camera[2])), scale * math.sin(float(camera[2]))
    turn = np.array([[cos, -sin], [sin, cos]])
    centre = np.array([width / 2, height / 2])
    shift = np.asarray(camera[:2], np.float64) * width + centre - turn @ centre
    return np.column_stack([turn, shift])


def cell_means(picture: NDArray[np.float32]) -> FloatArray:
    """Mean of each cell.

    Parameters
    ----------
    picture : float32, shape (height, width) or (height, width, 2)

    Returns
    -------
    float32, shape (rows, columns) or (rows, columns, 2)
    """
    rows = max(1, round(CELLS_PER_WIDTH * picture.shape[0] / picture.shape[1]))
    shrunk = cv2.resize(picture, (CELLS_PER_WIDTH, rows), interpolation=cv2.INTER_AREA)
    return np.asarray(shrunk, np.float32)
