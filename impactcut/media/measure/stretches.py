"""Measure a clip: frames in, stretches of motion out, a few seconds at a time.

Memory stays flat: a stretch is handed over with `CONTEXT` intervals of its neighbours on either
side, and forgotten. Everything that is later decided rests on these numbers.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain
from typing import Final

import cv2
import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.detect.planes import Planes, shown_planes
from impactcut.core.motion.cadence import finding_stride
from impactcut.core.motion.cells import MotionCells
from impactcut.core.motion.light import bridged, light_jumps
from impactcut.core.motion.shots import TILES
from impactcut.media.decode.frames import LumaFrame
from impactcut.media.decode.luma import GreyArray
from impactcut.media.measure.flow import Interval, flow_method, flow_picture, measure_interval

STRETCH: Final = 66
LEAST: Final = 30
"""Intervals handed over at a time, and how many at the finding rate at least: the fewer, the sooner
hits are looked for while decoding goes on, but `REACH` frames to either side of each stretch go
through the trunk (`impactcut.core.detect.spotter`) twice."""
CONTEXT: Final = 60
"""Intervals at the finding rate that come along of the neighbours, on either side: as many frames
behind one have a say in whether it is a contact (`NEAR` of the spotter, its `LONGEST_RUN`, twice
`BESIDE`, and 21 that the scout sees), so that it does not matter how a clip is cut."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """A run of intervals, with context before and after.

    Parameters
    ----------
    cells : MotionCells
        Of the context and the run; where the light jumps, movement is taken to go on evenly.
    difference : float32, shape (n,)
        Mean absolute luma difference of the frames of each interval, 0..1.
    tiles : float32, shape (n + 1, rows, columns)
        Mean luma of `TILES` for each frame, 0..1.
    log_luma : float32, shape (n + 1,)
        Mean natural logarithm of (luma + 1/255) of each frame, luma 0..1.
    flashed : bool, shape (n,)
        Intervals in which the light jumps.
    planes : sequence of n + 1 planes
        What the spotter is shown of each frame.
    pictures : tuple of uint8 arrays, each of shape (height, width)
        What flow was measured on (`impactcut.media.measure.flow.flow_picture`), one for each of
        ``cells.frames``.
    size : (int, int)
        Width and height of the frames as they were read.
    own : slice
        The intervals that belong to this run and not to the context.
    """

    cells: MotionCells
    difference: FloatArray
    tiles: FloatArray
    log_luma: FloatArray
    flashed: BoolArray
    planes: Planes
    pictures: tuple[GreyArray, ...]
    size: tuple[int, int]
    own: slice


@dataclass(frozen=True, eq=False)
class _Step:
    """A frame's flow picture and own numbers, and the interval that leads to it (first: none)."""

    picture: GreyArray
    size: tuple[int, int]
    planes: GreyArray
    tiles: FloatArray
    log_luma: float
    interval: Interval | None


def measure(frames: Iterable[LumaFrame], rate: Fraction) -> Generator[Stretch, None, None]:
    """Measure the motion of a clip, stretch by stretch.

    Parameters
    ----------
    frames : iterable of LumaFrame
        In display order, from the clip's first.
    rate : Fraction
        Frames per second.

    Yields
    ------
    Stretch
        Their ``own`` intervals follow on from one another and cover the clip. A clip of a single
        frame yields nothing.
    """
    stride = finding_stride(rate)
    beside, length = CONTEXT * stride, max(STRETCH, LEAST * stride)
    kept: list[_Step] = []
    first = context = 0
    for step in _steps(frames):
        kept.append(step)
        if len(kept) == 1 + context + length + beside:
            yield _stretch(kept, first, rate, slice(context, context + length))
            own = context + length
            context = min(own, beside)
            kept, first = kept[own - context :], first + own - context
    if len(kept) > 1 + context:
        yield _stretch(kept, first, rate, slice(context, len(kept) - 1))


def measure_around(frames: Iterable[LumaFrame], rate: Fraction) -> Stretch | None:
    """Measure the motion of a few frames of a clip as one stretch; None of fewer than two."""
    rest = iter(frames)
    first = next(rest, None)
    kept = [] if first is None else list(_steps(chain([first], rest)))
    if first is None or len(kept) < 2:
        return None
    return _stretch(kept, first.index, rate, slice(0, len(kept) - 1))


def _steps(frames: Iterable[LumaFrame]) -> Iterator[_Step]:
    method = flow_method()
    before: GreyArray | None = None
    for frame in frames:
        picture = flow_picture(frame.luma)
        interval = None if before is None else measure_interval(method, before, picture)
        tiles = cv2.resize(picture, TILES[::-1], interpolation=cv2.INTER_AREA)
        brightness = np.asarray(tiles, np.float32) / np.float32(255)
        planes = shown_planes(frame.luma, None if interval is None else interval.planes)
        height, width = frame.luma.shape
        yield _Step(picture, (width, height), planes, brightness, _mean_log(picture), interval)
        before = picture


_LOGARITHMS: Final = np.log((np.arange(256) + 1) / 255)


def _mean_log(picture: GreyArray) -> float:
    counts = cv2.calcHist([picture], [0], None, [256], [0, 256]).ravel().astype(np.float64)
    return float(counts @ _LOGARITHMS / picture.size)


def _stretch(kept: list[_Step], first: int, rate: Fraction, own: slice) -> Stretch:
    intervals = [step.interval for step in kept[1:] if step.interval is not None]
    cells = MotionCells(
        rate=rate,
        frames=np.arange(first, first + len(kept), dtype=np.int64),
        residual=np.stack([interval.residual for interval in intervals]),
        change=np.stack([interval.change for interval in intervals]),
        camera=np.stack([interval.camera for interval in intervals]),
    )
    tiles = np.stack([step.tiles for step in kept])
    flashed = light_jumps(tiles.mean(axis=(1, 2)))
    return Stretch(
        cells=bridged(cells, flashed),
        difference=np.array([interval.difference for interval in intervals], np.float32),
        tiles=tiles,
        log_luma=np.array([step.log_luma for step in kept], np.float32),
        flashed=flashed,
        planes=tuple(step.planes for step in kept),
        pictures=tuple(step.picture for step in kept),
        size=kept[0].size,
        own=own,
    )
