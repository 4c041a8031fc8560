"""Films of a textured patch that moves evenly before a wall, and jumps ahead once or not."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Final

import av
import cv2
import numpy as np

from impactcut.core.viewer.forced_choice import Jump
from impactcut.core.viewer.judge import Judge
from impactcut.core.viewer.session import places
from impactcut.media.decode.luma import GreyArray
from impactcut.media.decode.own_films import mark_as_own

SIZE: Final = (1280, 720)
PAUSE: Final = 12
"""Frames of grey between the two films of a pair."""
EARLIEST, LATEST = 10, 16
"""The jump falls between these frames, at random, so that nobody can wait for it."""
_TILE: Final = 512
"""Pixels after which a texture repeats."""
_GRAINS: Final = (1.5, 4.0, 10.0)
"""Sizes of its grains, pixels: the least are just seen at full size, a patch holds some of each."""


def film_pair(
    path: Path, jump: Jump, in_second: bool, judge: Judge, random: np.random.Generator
) -> None:
    """Write both films of a pair, one after the other, as MP4."""
    way = 1 if random.integers(2) else -1
    with av.open(str(path), "w", format="mp4") as container:
        mark_as_own(container)
        stream = container.add_stream("libx264", rate=Fraction(jump.rate), options={"crf": "12"})
        stream.width, stream.height = SIZE
        stream.pix_fmt = "yuv420p"
        for picture in _pair(jump, in_second, way, judge, random):
            frame = av.VideoFrame.from_ndarray(picture, format="gray").reformat(format="yuv420p")
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _pair(
    jump: Jump, in_second: bool, way: int, judge: Judge, random: np.random.Generator
) -> Iterator[GreyArray]:
    grey = np.full(SIZE[::-1], 110, np.uint8)
    for film in (0, 1):
        at = int(random.integers(EARLIEST, LATEST + 1))
        for place in places(jump, in_second == bool(film), at, judge):
            yield patch_before_wall(way * place, jump.area, judge)
        if film == 0:
            yield from [grey] * PAUSE


def patch_before_wall(place: float, area: float, judge: Judge) -> GreyArray:
    """One frame: a square patch of ``area`` square degrees, ``place`` widths off the middle."""
    picture = _laid(_texture(1), 0.0, SIZE)
    side = max(2, round(math.sqrt(area) / judge.degrees * SIZE[0]))
    across = SIZE[0] * (0.5 + place) - side / 2
    left = math.floor(across)
    patch = _laid(_texture(2), across - left, (side, side))
    top = (SIZE[1] - side) // 2
    start, stop = max(left, 0), min(left + side, SIZE[0])
    if start < stop:
        picture[top : top + side, start:stop] = patch[:, start - left : stop - left]
    return picture


@cache
def _texture(seed: int) -> GreyArray:
    """Grains of several sizes, as of gravel; the edges fit one another."""
    random = np.random.default_rng(seed)
    whole = np.zeros((_TILE, _TILE))
    for grain in _GRAINS:
        noise = np.tile(random.normal(size=(_TILE, _TILE)), (3, 3))
        soft = cv2.GaussianBlur(noise, (0, 0), grain)[_TILE : 2 * _TILE, _TILE : 2 * _TILE]
        whole += soft / soft.std()
    return np.asarray(np.clip(118 + 26 * whole, 0, 255), np.uint8)


def _laid(texture: GreyArray, right: float, size: tuple[int, int]) -> GreyArray:
    matrix = np.array([[1.0, 0.0, right], [0.0, 1.0, 0.0]])
    flags, border = cv2.INTER_CUBIC, cv2.BORDER_WRAP
    return np.asarray(cv2.warpAffine(texture, matrix, size, flags=flags, borderMode=border))
