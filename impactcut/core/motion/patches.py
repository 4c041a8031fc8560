"""Patches: cells of a grid that hang together, along sides or at corners."""

from __future__ import annotations

from typing import Final

import cv2
import numpy as np

from impactcut.core.arrays import BoolArray, IntArray

_TOUCHING: Final = np.ones((3, 3), np.uint8)
_BESIDE: Final = ((-1, 0), (0, -1), (0, 1), (1, 0), (-1, -1), (-1, 1), (1, -1), (1, 1))
"""Row and column of the cells beside one; those that share a side come first."""


def patches_of(mask: BoolArray) -> tuple[IntArray, int]:
    """The number of the patch that each cell lies in, 0 where there is none, and how many.

    Parameters
    ----------
    mask : bool, shape (rows, columns)

    Returns
    -------
    int32, shape (rows, columns)
    int
    """
    count, patches = cv2.connectedComponents(mask.view(np.uint8), connectivity=8)
    return np.asarray(patches), count - 1


def grown(mask: BoolArray, cells: int) -> BoolArray:
    """The mask, and all that is up to so many cells away from it.

    Parameters
    ----------
    mask : bool, shape (rows, columns)
    cells : int
    """
    return cv2.dilate(mask.view(np.uint8), _TOUCHING, iterations=cells).view(bool)


def spread(seeds: IntArray, mask: BoolArray) -> IntArray:
    """Seeds spread through a mask, a cell at a time: each cell goes to the nearest seed.

    Where two are equally near, to the one whose way began higher up, then further left.

    Parameters
    ----------
    seeds : int64, shape (rows, columns)
        Whose a cell is, 0 if that is to be found out.
    mask : bool, shape (rows, columns)

    Returns
    -------
    int64, shape (rows, columns)
        0 outside the mask, and where no seed comes to.
    """
    wide = mask.shape[1] + 2
    owners = np.pad(np.where(mask, seeds, 0), 1).ravel()
    free = np.pad(mask, 1).ravel() & (owners == 0)
    steps = np.array([row * wide + column for row, column in _BESIDE])
    front = np.flatnonzero(owners)
    while len(front):
        beside = front[:, None] + steps
        reached = free[beside]
        cells, first = np.unique(beside[reached], return_index=True)
        owners[cells] = np.repeat(owners[front], reached.sum(axis=1))[first]
        free[cells] = False
        front = cells[np.argsort(first)]
    return owners.reshape(-1, wide)[1:-1, 1:-1]
