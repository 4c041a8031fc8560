"""Motion on a coarse grid: what the finder and the channels are made from.

The picture is divided into square cells, `CELLS_PER_WIDTH` to the picture's width. Lengths are in
picture widths, velocities in widths per second. Node ``i`` is a moment at which the picture
changes; interval ``i`` lies between node ``i`` and node ``i + 1``. Without repeated frames nodes
are frames.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

import numpy as np

from impactcut.core.arrays import FloatArray, IntArray

CELLS_PER_WIDTH = 60


@dataclass(frozen=True, eq=False)
class MotionCells:
    """Motion of a stretch of a clip, cell by cell.

    Parameters
    ----------
    rate : Fraction
        Frames per second of the clip.
    frames : int64, shape (n + 1,)
        Clip frame at each node, rising.
    residual : float32, shape (n, rows, columns, 2)
        Displacement per interval that the camera does not explain: right, down, widths.
    change : float32, shape (n, rows, columns)
        Mean absolute luma difference, camera taken out, 0..1.
    camera : float32, shape (n, 4)
        The camera's part of the picture's movement per interval: right, down (widths), turn
        (radians, clockwise on the screen), log of the zoom; all about the picture's centre.
    """

    rate: Fraction
    frames: IntArray
    residual: FloatArray
    change: FloatArray
    camera: FloatArray

    def __post_init__(self) -> None:
        n = self.intervals
        if self.frames.shape != (n + 1,) or self.camera.shape != (n, 4):
            raise ValueError(f"{n} intervals need {n + 1} frames and a camera of shape ({n}, 4)")
        if self.change.shape != (n, *self.grid):
            raise ValueError(f"change has shape {self.change.shape}, not {(n, *self.grid)}")

    @property
    def intervals(self) -> int:
        """Number of intervals."""
        return len(self.residual)

    @property
    def grid(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.residual.shape[1], self.residual.shape[2]

    @property
    def seconds(self) -> FloatArray:
        """Duration of each interval, float32, shape (n,)."""
        return (np.diff(self.frames) / float(self.rate)).astype(np.float32)

    def velocity(self) -> FloatArray:
        """Velocity without the camera, widths/s, float32, shape (n, rows, columns, 2)."""
        return self.residual / self.seconds[:, None, None, None]

    def speed(self) -> FloatArray:
        """Length of `velocity`, widths/s, float32, shape (n, rows, columns)."""
        speed: FloatArray = np.linalg.norm(self.velocity(), axis=-1)
        return speed

    def on_screen(self) -> FloatArray:
        """Displacement per interval with the camera put back, widths, shape as ``residual``."""
        return self.residual + camera_displacement(self.camera, self.grid)

    def between(self, start: int, stop: int) -> MotionCells:
        """Intervals ``start`` up to ``stop``."""
        part = slice(max(0, start), max(0, stop))
        return replace(
            self,
            frames=self.frames[part.start : part.stop + 1],
            residual=self.residual[part],
            change=self.change[part],
            camera=self.camera[part],
        )


@cache
def cell_centres(grid: tuple[int, int]) -> FloatArray:
    """Centres of the cells from the picture's top left, widths, float32 (rows, columns, 2).

    Made once for each grid, and read-only.
    """
    rows, columns = np.mgrid[: grid[0], : grid[1]]
    centres = ((np.stack([columns, rows], axis=-1) + 0.5) / grid[1]).astype(np.float32)
    centres.flags.writeable = False
    return centres


@cache
def from_centre(grid: tuple[int, int]) -> FloatArray:
    """Centres of the cells from the picture's centre; else as `cell_centres`."""
    place = cell_centres(grid) - np.array([0.5, 0.5 * grid[0] / grid[1]], np.float32)
    place.flags.writeable = False
    return place


def camera_displacement(camera: FloatArray, grid: tuple[int, int]) -> FloatArray:
    """Displacement of every cell that the camera alone makes.

    With places as complex numbers, to turn and zoom is to multiply by one number.

    Parameters
    ----------
    camera : float32, shape (n, 4)
        As in `MotionCells`.
    grid : tuple of int
        Rows and columns.

    Returns
    -------
    float32, shape (n, rows, columns, 2)
        Widths per interval.
    """
    place = from_centre(grid).view(np.complex64)[..., 0]
    factor = (np.exp(camera[:, 3] + 1j * camera[:, 2]) - 1).astype(np.complex64)
    shift = (camera[:, 0] + 1j * camera[:, 1]).astype(np.complex64)
    moved = factor[:, None, None] * place + shift[:, None, None]
    return moved[..., None].view(np.float32)


def join_intervals(cells: MotionCells, starts: Sequence[int]) -> MotionCells:
    """The stretch with fewer nodes: each new interval runs from one of ``starts`` to the next.

    Displacements inside a joined interval are added cell by cell, changes averaged.

    Parameters
    ----------
    starts : sequence of int
        First interval of each new one, rising, the first 0.
    """
    first = np.asarray(starts, np.int64)
    counts = np.diff(np.append(first, cells.intervals)).astype(np.float32)
    return replace(
        cells,
        frames=np.append(cells.frames[first], cells.frames[-1]),
        residual=np.add.reduceat(cells.residual, first, axis=0),
        change=(np.add.reduceat(cells.change, first, axis=0) / counts[:, None, None]).astype("f4"),
        camera=np.add.reduceat(cells.camera, first, axis=0),
    )
