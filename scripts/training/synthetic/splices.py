"""From the frames that cameras take to the frames of the file: cuts, dissolves, repeats, blends."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from .film import Format, Shot, exposures
from .motion import Floats
from .paint import Picture, Pixels

Rng = np.random.Generator
Weights = Floats
"""Share of each shot in each frame taken, shape (shots, frames)."""
Shows = list[list[tuple[int, float]]]
"""For each frame of the file, the frames taken that it shows, and their shares."""


@dataclass(frozen=True)
class Source:
    """Frames taken: rate, number, shutter (degrees), and how they become frames of the file."""

    rate: Fraction
    frames: int
    shutter: float
    kind: str

    @property
    def opens(self) -> Floats:
        """Instants at which the shutter opens, seconds."""
        return np.arange(self.frames) / float(self.rate)

    @property
    def length(self) -> float:
        """Seconds that it stays open."""
        return self.shutter / 360 / float(self.rate)


def sources(source: Source, seconds: float) -> float:
    """Exact number of a frame taken at an instant: frame i shows the middle of its exposure."""
    return seconds * float(source.rate) - source.shutter / 720


def one_shot(frames: int) -> Weights:
    """The first shot throughout."""
    return np.ones((1, frames))


def plan_cuts(rng: Rng, frames: int, shots: int) -> Weights:
    """Hard cuts and dissolves from shot to shot, the first one first."""
    weights = np.zeros((shots, frames))
    marks = np.sort(rng.integers(8, max(frames - 8, 9), int(rng.integers(1, 5))))
    now = 0
    weights[0] = 1
    for mark in marks:
        other = int((now + rng.integers(1, shots)) % shots)
        length = int(rng.choice([1, 1, 1, 8, 16]))
        share = np.clip((np.arange(frames) - mark + 1) / length, 0, 1)
        weights *= 1 - share
        weights[other] += share
        now = other
    return weights


def cut_together(
    shots: list[Shot], form: Format, source: Source, weights: Weights
) -> Iterator[Picture]:
    """The frames taken, with cuts and dissolves; float32 pictures."""
    rolls = []
    for shot, share in zip(shots, weights, strict=True):
        opens = source.opens[share > 0.002]
        rolls.append(exposures(shot, (form.width, form.height), opens, source.length))
    for frame in range(source.frames):
        total: Picture | None = None
        for roll, share in zip(rolls, weights[:, frame], strict=True):
            if share > 0.002:
                part = next(roll) * np.float32(share)
                total = part if total is None else total + part
        assert total is not None
        yield total


def plan_shows(rng: Rng, form: Format, source: Source, impact: bool) -> Shows:
    """What each frame of the file shows."""
    ratio = float(source.rate / form.rate)
    at = np.arange(form.frames) * ratio
    if source.kind == "blended":
        floor = np.floor(at).astype(int)
        return [[(int(k), 1 - x), (int(k) + 1, x)] for k, x in zip(floor, at - floor, strict=True)]
    if source.kind == "hiccups":
        return [[(int(k), 1.0)] for k in _stumbling(rng, form.frames)]
    return [[(int(k), 1.0)] for k in np.floor(at + 1e-9)]


def _stumbling(rng: Rng, frames: int) -> NDArray[np.int64]:
    """Frame numbers with repeats that are caught up by leaving frames out."""
    at = np.arange(frames, dtype=np.int64)
    if rng.random() < 0.4:
        return at - _every(rng, at)
    for start in rng.integers(1, frames, int(rng.integers(1, 7))):
        stay = int(rng.integers(2, 5))
        at[start : start + stay] = at[start]
    return at


def _every(rng: Rng, at: NDArray[np.int64]) -> NDArray[np.int64]:
    """1 on each n-th frame, which then repeats the one before."""
    return np.asarray(at % int(rng.integers(3, 11)) == 2, np.int64)


def shown(pictures: Iterable[Pixels], shows: Shows) -> Iterator[Pixels]:
    """Frames of the file out of frames taken."""
    kept: dict[int, Pixels] = {}
    roll = enumerate(pictures)
    for wanted in shows:
        last = max(number for number, _ in wanted)
        while last not in kept:
            number, picture = next(roll)
            kept[number] = picture
        for old in [k for k in kept if k < last - 2]:
            del kept[old]
        if len(wanted) == 1:
            yield kept[last]
        else:
            total = sum(np.float32(share) * kept[number] for number, share in wanted)
            yield np.asarray(total, np.uint8)
