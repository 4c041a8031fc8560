"""A contact sheet: pictures side by side with a few words under each, as one PNG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from skimage.util import montage

from impactcut.media.render.pictures import Colour, Pixels, fitting_scale, write_text
from impactcut.media.render.strip import ON_DARK

TILE_WIDTH: Final = 700
MOST_COLUMNS: Final = 2
_MARGIN, _LINE, _HEAD = 16, 24, 62
_GROUND, _BRIGHT = ON_DARK.ground, ON_DARK.bright
_DIM: Colour = (175, 180, 183)


@dataclass(frozen=True, eq=False)
class Tile:
    """A picture and the words under it.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        Blue, green, red.
    lines : tuple of str
        Plain ASCII, the first the largest.
    """

    pixels: Pixels
    lines: tuple[str, ...]


def draw_sheet(title: str, tiles: Sequence[Tile], foot: str) -> bytes:
    """The tiles in rows of at most `MOST_COLUMNS`, under a title and over a foot, as a PNG file.

    Parameters
    ----------
    title, foot : str
        Plain ASCII.
    tiles : sequence of Tile
        At least one.
    """
    drawn = [_draw_tile(tile) for tile in tiles]
    columns = min(MOST_COLUMNS, len(drawn))
    shape = (-(-len(drawn) // columns), columns)
    height = max(len(tile) for tile in drawn)
    level = [_bordered(tile, 0, height - len(tile)) for tile in drawn]
    grid = montage(level, _GROUND, grid_shape=shape, padding_width=_MARGIN, channel_axis=-1)
    sheet = _bordered(grid, _HEAD - _MARGIN, 2 * _LINE)
    wide = sheet.shape[1]
    _write(sheet, title, (_MARGIN, 40), 0.9, _BRIGHT, wide - 2 * _MARGIN)
    _write(sheet, foot, (_MARGIN, sheet.shape[0] - _LINE // 2), 0.5, _DIM, wide - 2 * _MARGIN)
    done, data = cv2.imencode(".png", sheet)
    if not done:
        raise ValueError("the sheet cannot be written as a PNG file")
    return data.tobytes()


def _bordered(picture: Pixels, above: int, below: int) -> Pixels:
    """The picture with so many lines of ground above and below."""
    lines = (above, below, 0, 0)
    return np.asarray(
        cv2.copyMakeBorder(picture, *lines, cv2.BORDER_CONSTANT, value=_GROUND), np.uint8
    )


def _draw_tile(tile: Tile) -> Pixels:
    high, wide = tile.pixels.shape[:2]
    size = (TILE_WIDTH, max(1, round(TILE_WIDTH * high / wide)))
    picture = np.asarray(cv2.resize(tile.pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    band = np.full((_LINE * len(tile.lines) + _LINE // 2, TILE_WIDTH, 3), _GROUND, np.uint8)
    for number, line in enumerate(tile.lines):
        scale, colour = (0.62, _BRIGHT) if number == 0 else (0.5, _DIM)
        _write(band, line, (0, _LINE * (number + 1) - 4), scale, colour, TILE_WIDTH)
    return np.vstack([picture, band])


def _write(
    area: Pixels, text: str, at: tuple[int, int], scale: float, colour: Colour, room: int
) -> None:
    write_text(area, text, at, fitting_scale(text, scale, room), colour)
