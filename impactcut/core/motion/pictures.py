"""What is known of the pictures of a stretch beside their motion."""

from __future__ import annotations

from dataclasses import dataclass

from impactcut.core.arrays import BoolArray, FloatArray


@dataclass(frozen=True, eq=False)
class Pictures:
    """What is known of a stretch's pictures beside their motion, for ``n`` intervals.

    Parameters
    ----------
    difference : float32, shape (n,)
        Mean absolute luma difference, 0..1.
    log_luma : float32, shape (n + 1,)
        Mean natural logarithm of (luma + 1/255) of each frame, luma 0..1.
    repeated : bool, shape (n,)
        The later frame of the interval repeats the earlier one.
    boundary : bool, shape (n,)
        A shot boundary lies in the interval.
    """

    difference: FloatArray
    log_luma: FloatArray
    repeated: BoolArray
    boundary: BoolArray
