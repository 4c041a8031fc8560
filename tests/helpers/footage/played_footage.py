"""Fast footage of a physics engine, and how cameras, phones and machines would hand it over.

The engine's scenes (`physics_scenes`) are drawn without blur at 240 pictures a second. A camera
averages those of half its interval, so that its frame ``k`` shows the middle of its exposure.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pymunk
from numpy.typing import NDArray
from skimage import data

from impactcut.core.detect.confidence import SURE
from impactcut.core.detect.hits import Hit
from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip
from tests.helpers.footage.media_files import Recipe, write_planes
from tests.helpers.footage.physics_scenes import (
    SHUTTER,
    STEP,
    WIDTH,
    Motion,
    bouncing_ball,
    disc,
    record,
)

Grey = NDArray[np.uint8]
FAST = 240
SIZE = (480, 270)


@dataclass(frozen=True)
class Footage:
    """Pictures at `FAST` a second, and the engine's collision times in seconds."""

    pictures: tuple[Grey, ...]
    collisions: tuple[float, ...]

    def filmed(self, rate: Fraction | int) -> list[Grey]:
        """What a camera at that rate makes of it, with grain."""
        rng = np.random.default_rng(7)
        count = int(len(self.pictures) / FAST * rate) - 1
        exposed = max(1, round(SHUTTER * FAST / rate))
        frames = []
        for k in range(count):
            first = round(k * FAST / rate)
            mean = np.mean(self.pictures[first : first + exposed], axis=0, dtype=np.float32)
            frames.append((mean + rng.normal(0, 2, mean.shape)).clip(0, 255).astype(np.uint8))
        return frames

    def contacts(self, rate: Fraction | int) -> list[int]:
        """Contact frames at that rate: middle of exposure at most a quarter frame before."""
        last = int(len(self.pictures) / FAST * rate) - 4
        frames = [math.ceil(each * rate - SHUTTER / 2 - 0.25) for each in self.collisions]
        return [frame for frame in frames if frame < last]


def footage(motion: Motion) -> Footage:
    """The scene before a wall out of focus, seen by a camera that stands still."""
    wall = cv2.GaussianBlur(cv2.resize(data.gravel(), SIZE), (0, 0), 3.5)
    scale = SIZE[0] / WIDTH
    pictures = []
    for number in range(int(len(motion.paths) * STEP * FAST)):
        picture = wall.copy()
        places = motion.paths[round(number / FAST / STEP)] * scale
        tones = [45, 210, 45, 210][: len(places)]
        for tone, place, radius in zip(tones, places, motion.radii, strict=True):
            for size, shade in ((scale * radius, tone), (scale * radius / 3, 135)):
                centre = (round(place[0] * 16), round(place[1] * 16))
                cv2.circle(picture, centre, round(size * 16), shade, -1, cv2.LINE_AA, 4)
        pictures.append(picture)
    return Footage(tuple(pictures), motion.collisions)


def between_posts() -> Motion:
    """A ball to and fro between two posts: hits a quarter of a second apart, then more slowly."""
    space = pymunk.Space()
    for x in (180, 480):
        post = pymunk.Segment(space.static_body, (x, -500), (x, 900), 2)
        post.elasticity = 0.9
        space.add(post)
    ball = disc(space, (330, 180), 36)
    ball.body.velocity = (1300, 0)
    return record(space, [ball], 1.3)


def two_pairs() -> Motion:
    """A strike from the left, and half a second later one from the right below it."""
    space = pymunk.Space()
    space.damping = 0.6
    discs = [disc(space, place, 30) for place in ((-60, 90), (300, 90), (940, 270), (340, 270))]
    discs[0].body.velocity, discs[2].body.velocity = (700, 0), (-700, 0)
    return record(space, discs, 1.7)


def at_the_edge() -> Motion:
    """A ball that bounces half out of the picture."""
    return bouncing_ball((6, 40), 44, 0, 1.2)


def found(path: Path, confidence: float = SURE) -> list[Hit]:
    """Hits of a clip with so much confidence; by default those that a scan counts."""
    every = [each.hit for each in analyse_clip(path, AnalysisSettings()).hits]
    return [hit for hit in every if hit.confidence >= confidence]


def write(path: Path, frames: Sequence[Grey], recipe: Recipe, **times: Any) -> Path:
    """A lossy clip of the frames; ``times`` as for `write_planes`."""
    limited = [(16 + frame * (219 / 255)).astype(np.uint8) for frame in frames]
    # With macroblock-tree rate control the encoder's bytes vary from run to run (measured).
    tuned = ":".join(["mbtree=0", *filter(None, [recipe.options.get("x264-params")])])
    options = {"crf": "18", **recipe.options, "x264-params": tuned}
    return write_planes(path, limited, replace(recipe, options=options), **times)
