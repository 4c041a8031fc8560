"""The cells of many regions end to end, so that all regions are reckoned with at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import BoolArray, Float64Array, IntArray


@dataclass(frozen=True, eq=False)
class Regions:
    """Cells of ``m`` regions, ``k`` in all.

    Parameters
    ----------
    masks : bool, shape (m, rows, columns)
        None of them empty.
    owner, row, column : int64, shape (k,)
        Region, row and column of every cell, in order of regions.
    first, count : int64, shape (m,)
        Where the cells of each region begin, and how many they are.
    """

    masks: BoolArray
    owner: IntArray
    row: IntArray
    column: IntArray
    first: IntArray
    count: IntArray

    @property
    def centre(self) -> Float64Array:
        """Mean row and column of each, float64, shape (m, 2)."""
        cells = (self.row, self.column)
        sums = [np.add.reduceat(places, self.first) for places in cells]
        return np.stack(sums, axis=1) / self.count[:, None]

    @property
    def extent(self) -> IntArray:
        """Rows and columns that each spans, int64, shape (m, 2)."""
        cells = (self.row, self.column)
        high = [np.maximum.reduceat(places, self.first) for places in cells]
        low = [np.minimum.reduceat(places, self.first) for places in cells]
        extent: IntArray = np.stack(high, axis=1) - np.stack(low, axis=1) + 1
        return extent

    def means(self, values: NDArray[np.floating]) -> NDArray[np.floating]:
        """Mean over each region of one number or more a cell, (k, ...) to (m, ...)."""
        sums = np.add.reduceat(values, self.first, axis=0)
        counts = self.count.reshape(-1, *(1,) * (sums.ndim - 1))
        return np.asarray(sums / counts.astype(sums.dtype))


def regions_of(masks: Sequence[BoolArray]) -> Regions:
    """Regions from one mask each; at least one, and none empty."""
    stacked = np.stack(masks)
    owner, row, column = np.nonzero(stacked)
    count = np.bincount(owner, minlength=len(stacked))
    return Regions(stacked, owner, row, column, np.cumsum(count) - count, count)
