"""Flashes: whether moving pictures flash so often, so large and so much that they may do harm.

The thresholds are those of success criterion 2.3.1 of WCAG 2.2 (W3C, 2023; "general flash and red
flash thresholds", "relative luminance", "flash"), read from pictures as follows.

- A *transition* leads from one extreme of a place to the next: its relative luminance rises or
  falls by `LUMINANCE_STEP` or more with the darker end below `DARKER_BELOW`; or it goes to or from
  a saturated red, R / (R + G + B) of `RED_SHARE` or more in linear light, and moves further than
  `RED_STEP` in the CIE 1976 u'v' diagram. Two opposing transitions are a flash.
- More than `MOST_TRANSITIONS`, three flashes, within one second are too many, where the places
  that have so many take up more than `FIELD_SHARE` of some field of ten degrees: a third of the
  screen's width by a quarter of it, which are the 341 x 256 of 1024 x 768 pixels that the standard
  names, with the picture as wide as the screen.

Means over `GRID_WIDE` cells to the picture's width stand for the exception of fine patterns. This
is a first screen, not a test of compliance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import BoolArray, FloatArray

LUMINANCE_STEP: Final = 0.1
DARKER_BELOW: Final = 0.8
RED_SHARE: Final = 0.8
RED_STEP: Final = 0.2
FIELD_SHARE: Final = 0.25
FIELD: Final = (Fraction(341, 1024), Fraction(256, 1024))
"""Width and height of ten degrees, in widths of the screen."""
MOST_TRANSITIONS: Final = 6
GRID_WIDE: Final = 48
"""Cells to a picture's width: 21 of the standard's pixels, 0.6 degrees each, engineering choice."""
_FINE: Final = 5
"""Pixels to a cell's side from which its light is taken: the eye blurs what is smaller."""

_CODE = np.arange(256, dtype=np.float64) / 255
_LINEAR: Final = np.where(_CODE <= 0.04045, _CODE / 12.92, ((_CODE + 0.055) / 1.055) ** 2.4).astype(
    np.float32
)
_LUMINANCE: Final = np.array([0.0722, 0.7152, 0.2126], np.float32)
_TO_XYZ: Final = np.array(
    [[0.1805, 0.3576, 0.4124], [0.0722, 0.7152, 0.2126], [0.9505, 0.1192, 0.0193]], np.float32
)
"""IEC 61966-2-1, its columns for blue, green, red."""
_DARK: Final = 1e-4
_WHITE: Final = (0.1978, 0.4683)
"""u' and v' of D65, which stand for a black."""


@dataclass(frozen=True)
class Flashes:
    """The most opposing transitions of a large place within one second; two of them are a flash."""

    general: int = 0
    red: int = 0

    @property
    def too_many(self) -> bool:
        """Whether that is beyond the thresholds."""
        return max(self.general, self.red) > MOST_TRANSITIONS


def light_grid(pixels: NDArray[np.uint8]) -> FloatArray:
    """The light of a picture, cell by cell.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        Blue, green, red, coded as sRGB.

    Returns
    -------
    float32, shape (rows, GRID_WIDE, 3)
        Linear blue, green, red, 0..1.
    """
    rows = max(1, round(GRID_WIDE * pixels.shape[0] / pixels.shape[1]))
    fine = cv2.resize(pixels, (GRID_WIDE * _FINE, rows * _FINE), interpolation=cv2.INTER_AREA)
    cells = _LINEAR[fine].reshape(rows, _FINE, GRID_WIDE, _FINE, 3)
    light: FloatArray = cells.mean(axis=(1, 3), dtype=np.float32)
    return light


def count_flashes(grids: Sequence[FloatArray], rate: Fraction, spare: int = 0) -> Flashes:
    """Count the flashes of pictures that follow one another.

    Parameters
    ----------
    grids : sequence of float32, shape (rows, GRID_WIDE, 3)
        As of `light_grid`, all of one shape.
    rate : Fraction
        Pictures a second.
    spare : int
        Pictures that may yet go out of any second, so that more of them fall into it.
    """
    light = np.stack(grids)
    second = math.ceil(rate) + spare
    return Flashes(
        _most(_luminance_transitions(light), second), _most(_red_transitions(light), second)
    )


def looped(grids: Sequence[FloatArray], rest: int) -> list[FloatArray]:
    """Two rounds of pictures that play over and over, the last one standing ``rest`` longer."""
    round_ = [*grids, *[grids[-1]] * rest]
    return [*round_, *round_]


def _luminance_transitions(light: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Rises and falls of each cell, where they are completed; shape (n, rows, columns)."""
    lights = light @ _LUMINANCE
    up, down = np.zeros(lights.shape, np.bool_), np.zeros(lights.shape, np.bool_)
    low, high = lights[0].copy(), lights[0].copy()
    for at, now in enumerate(lights):
        np.minimum(low, now, out=low)
        np.maximum(high, now, out=high)
        up[at] = (now - low >= LUMINANCE_STEP) & (low < DARKER_BELOW)
        down[at] = (high - now >= LUMINANCE_STEP) & (now < DARKER_BELOW)
        turned = up[at] | down[at]
        low[turned], high[turned] = now[turned], now[turned]
    return up, down


def _red_transitions(light: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Changes to and from a saturated red; shape (n, rows, columns)."""
    colours, shares = _chromaticity(light), _red_share(light)
    to_red, away = np.zeros(shares.shape, np.bool_), np.zeros(shares.shape, np.bool_)
    colour, share = colours[0].copy(), shares[0].copy()
    for at, (new, new_share) in enumerate(zip(colours, shares, strict=True)):
        far = np.linalg.norm(new - colour, axis=-1) > RED_STEP
        is_red, was_red = new_share >= RED_SHARE, share >= RED_SHARE
        to_red[at] = far & is_red & ~was_red
        away[at] = far & was_red & ~is_red
        moved = to_red[at] | away[at] | (is_red & was_red & (new_share > share))
        moved |= ~is_red & ~was_red & (new_share < share)
        colour[moved], share[moved] = new[moved], new_share[moved]
    return to_red, away


def _red_share(light: FloatArray) -> FloatArray:
    total = light.sum(axis=-1)
    return np.where(total > _DARK, light[..., 2] / np.maximum(total, _DARK), 1 / 3)


def _chromaticity(light: FloatArray) -> FloatArray:
    """CIE 1976 u' and v'; shape (..., 2)."""
    x, y, z = np.moveaxis(light @ _TO_XYZ.T, -1, 0)
    total = x + 15 * y + 3 * z
    lit = light.sum(axis=-1) > _DARK
    safe = np.where(lit, total, 1)
    colours = [np.where(lit, 4 * x / safe, _WHITE[0]), np.where(lit, 9 * y / safe, _WHITE[1])]
    return np.stack(colours, axis=-1).astype(np.float32)


def _most(transitions: tuple[BoolArray, BoolArray], second: int) -> int:
    """The most that the cells of more than `FIELD_SHARE` of a field have within one second."""
    ups, downs = transitions
    turns = np.zeros(ups.shape, np.int32)
    last = np.zeros(ups.shape[1:], np.int8)
    for at in range(len(ups)):
        for way, changed in ((1, ups[at]), (-1, downs[at])):
            turned = changed & (last != way)
            turns[at] += turned
            last[turned] = way
    sums = np.pad(turns.cumsum(axis=0), ((1, 0), (0, 0), (0, 0)))
    within = min(second, len(turns))
    counts = sums[within:] - sums[:-within]
    most = 0
    while _widespread(counts > most):
        most += 1
    return most


def _widespread(cells: BoolArray) -> bool:
    """Whether they take up more than `FIELD_SHARE` of a field, at some time."""
    rows, columns = cells.shape[1:]
    wide = min(columns, round(FIELD[0] * GRID_WIDE))
    high = min(rows, round(FIELD[1] * GRID_WIDE))
    sums = np.pad(cells.cumsum(axis=1).cumsum(axis=2), ((0, 0), (1, 0), (1, 0)))
    across = sums[:, :, wide:] - sums[:, :, :-wide]
    inside = across[:, high:] - across[:, :-high]
    return bool(inside.max() > float(FIELD_SHARE) * wide * high)
