"""The splice strip as pixels: small pictures side by side, and the drawing of a trim with them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from impactcut.core.trims.strip import HEIGHT, Box, Placed, Strip
from impactcut.media.render.pictures import Colour, Picture, Pixels, shrink

_FINE: Final = 4
"""Bits of the fractions in which OpenCV is told of points."""


@dataclass(frozen=True)
class Ink:
    """Colours of a strip, blue, green, red: ground, what meets and the contact, what goes out."""

    ground: Colour
    bright: Colour
    out: Colour


ON_DARK: Final = Ink((22, 22, 22), (233, 235, 236), (133, 152, 255))
ON_WHITE: Final = Ink((255, 255, 255), (28, 28, 28), (36, 44, 178))


def crop(picture: Picture, box: Box, side: int) -> Picture:
    """The square of a picture, as a smaller picture."""
    left, top, wide = box
    square = Picture(picture.index, picture.pixels[top : top + wide, left : left + wide])
    return shrink(square, side)


def side_by_side(cells: Sequence[Picture]) -> Picture:
    """Pictures of one size as one, from left to right, with the index of the first."""
    return Picture(cells[0].index, np.hstack([cell.pixels for cell in cells]))


def draw_strip(
    strip: Strip, cells: Mapping[int, Picture], contact: int, wide: int, ink: Ink
) -> Pixels:
    """Draw a strip.

    Parameters
    ----------
    cells : mapping of int to Picture
        A square picture for each frame of it.
    contact : int
        Frame below which the mark stands.
    wide : int
        Pixels.

    Returns
    -------
    uint8, shape (height, wide, 3)
        Blue, green, red.
    """
    slot = wide / len(strip.cells)
    area = np.full((round(HEIGHT * slot), wide, 3), ink.ground, np.uint8)
    for cell in strip.cells:
        _paste(area, cells[cell.frame].pixels, cell, slot)
        if cell.kind == "out":
            _strike(area, cell, slot, ink)
        if cell.frame == contact:
            _mark(area, cell, slot, ink)
    if strip.seam is not None:
        _join(area, strip, slot, ink)
    return area


def _paste(area: Pixels, pixels: Pixels, cell: Placed, slot: float) -> None:
    left, top = round(cell.left * slot), round(cell.top * slot)
    right, bottom = round((cell.left + cell.side) * slot), round((cell.top + cell.side) * slot)
    size = (max(1, right - left), max(1, bottom - top))
    area[top : top + size[1], left : left + size[0]] = cv2.resize(
        pixels, size, interpolation=cv2.INTER_AREA
    )


def _strike(area: Pixels, cell: Placed, slot: float, ink: Ink) -> None:
    low, high = cell.top + cell.side, cell.top
    ends = ((cell.left, low), (cell.left + cell.side, high))
    _line(area, ends, slot, ink.out, max(2, round(slot / 18)))


def _mark(area: Pixels, cell: Placed, slot: float, ink: Ink) -> None:
    middle, top = cell.left + cell.side / 2, cell.top + cell.side + 0.03
    corners = ((middle, top), (middle + 0.07, top + 0.11), (middle - 0.07, top + 0.11))
    cv2.fillPoly(area, [_points(corners, slot)], ink.bright, cv2.LINE_AA, _FINE)


def _join(area: Pixels, strip: Strip, slot: float, ink: Ink) -> None:
    """The outline of the two that meet, and a stem from what was lifted down to their seam."""
    pair = [cell for cell in strip.cells if cell.kind == "meets"]
    out = next(cell for cell in strip.cells if cell.kind == "out")
    assert strip.seam is not None
    thick = max(2, round(slot / 32))
    for cell in pair:
        right, bottom = cell.left + cell.side, cell.top + cell.side
        outer = cell.left if cell.left + cell.side / 2 < strip.seam else right
        edge = ((strip.seam, cell.top), (outer, cell.top), (outer, bottom), (strip.seam, bottom))
        cv2.polylines(area, [_points(edge, slot)], False, ink.bright, thick, cv2.LINE_AA, _FINE)
        stem = ((strip.seam, out.top + out.side), (strip.seam, cell.top))
        _line(area, stem, slot, ink.out, thick)


def _line(
    area: Pixels, ends: Sequence[tuple[float, float]], slot: float, colour: Colour, thick: int
) -> None:
    start, stop = (tuple(map(int, point)) for point in _points(ends, slot))
    cv2.line(area, start, stop, colour, thick, cv2.LINE_AA, _FINE)


def _points(corners: Sequence[tuple[float, float]], slot: float) -> NDArray[np.int32]:
    return np.round(np.array(corners) * slot * 2**_FINE).astype(np.int32)
