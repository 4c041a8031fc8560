"""Patches: cells of a grid that hang together, along sides or at corners."""

from __future__ import annotations

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import BoolArray

TOUCHING: Final = np.ones((3, 3), np.uint8)
"""What a cell touches."""


def patches_of(mask: BoolArray) -> tuple[NDArray[np.int32], int]:
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
    return np.asarray(patches, np.int32), count - 1


def touching(mask: BoolArray, seeds: BoolArray) -> BoolArray:
    """The patches of a mask that hold one of the seeds, both as of `patches_of`."""
    patches, _ = patches_of(mask)
    own = np.unique(patches[seeds])
    return np.isin(patches, own[own > 0])


def grown(mask: BoolArray, cells: int) -> BoolArray:
    """The mask, and all that is up to so many cells away from it.

    Parameters
    ----------
    mask : bool, shape (rows, columns)
    """
    return cv2.dilate(mask.view(np.uint8), TOUCHING, iterations=cells).view(bool)
