"""Films of a textured patch that moves evenly before a wall, and jumps ahead once or not."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
from numpy.typing import NDArray
from skimage import data

from impactcut.core.viewer.forced_choice import Jump
from impactcut.core.viewer.judge import Judge

Grey = NDArray[np.uint8]
SIZE = (1280, 720)
FRAMES = 26
PAUSE = 12
"""Frames of each film and of the grey between them."""
EARLIEST, LATEST = 10, 16
"""The jump falls between these frames, at random, so that nobody can wait for it."""


def places(jump: Jump, jumps: bool, at: int, judge: Judge) -> NDArray[np.float64]:
    """Where the patch's middle is in each frame, picture widths from the picture's middle."""
    frames = np.arange(FRAMES)
    steady = (frames - (FRAMES - 1) / 2) * jump.speed / jump.rate / judge.degrees
    ahead = jump.jump / judge.arcmin if jumps else 0.0
    return steady + np.where(frames >= at, ahead, 0.0)


def film_pair(
    path: Path,
    jump: Jump,
    in_second: bool,
    judge: Judge,
    random: np.random.Generator,
) -> None:
    """Write both films of a pair, one after the other."""
    way = 1 if random.integers(2) else -1
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=Fraction(jump.rate), options={"crf": "12"})
        stream.width, stream.height = SIZE
        stream.pix_fmt = "yuv420p"
        for picture in _pair(jump, in_second, way, judge, random):
            frame = av.VideoFrame.from_ndarray(picture, format="gray").reformat(format="yuv420p")
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _pair(
    jump: Jump, in_second: bool, way: int, judge: Judge, random: np.random.Generator
) -> Iterator[Grey]:
    grey = np.full(SIZE[::-1], 110, np.uint8)
    for film in (0, 1):
        at = int(random.integers(EARLIEST, LATEST + 1))
        for place in places(jump, in_second == bool(film), at, judge):
            yield patch_before_wall(way * place, jump.area, judge)
        if film == 0:
            yield from [grey] * PAUSE


def patch_before_wall(place: float, area: float, judge: Judge) -> Grey:
    """One frame: a square patch of ``area`` square degrees, ``place`` widths off the middle."""
    picture = _laid(data.gravel(), 0.0, SIZE)
    side = max(2, round(math.sqrt(area) / judge.degrees * SIZE[0]))
    across, left = SIZE[0] * (0.5 + place) - side / 2, 0
    left = math.floor(across)
    patch = _laid(data.grass(), across - left, (side, side))
    top = (SIZE[1] - side) // 2
    start, stop = max(left, 0), min(left + side, SIZE[0])
    if start < stop:
        picture[top : top + side, start:stop] = patch[:, start - left : stop - left]
    return picture


def _laid(texture: Grey, right: float, size: tuple[int, int]) -> Grey:
    matrix = np.array([[1.0, 0.0, right], [0.0, 1.0, 0.0]])
    soft = cv2.GaussianBlur(texture, (0, 0), 1.2)
    flags, border = cv2.INTER_CUBIC, cv2.BORDER_WRAP
    return np.asarray(cv2.warpAffine(soft, matrix, size, flags=flags, borderMode=border))
