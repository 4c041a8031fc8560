"""Scenes that a physics engine animates, whose own collision times are the truth, and their films.

The engine is pymunk (Chipmunk). A frame shows the middle of its exposure, and the contact frame is
the first whose middle lies no more than a quarter frame before the collision.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pymunk
from skimage import data

WIDTH, HEIGHT = 640, 360
STEP = 1 / 2400
SAMPLES = 8
SHUTTER = 0.5
GRAIN = 1.3


@dataclass(frozen=True)
class Motion:
    """Paths of discs (seconds by disc by x, y in pixels), their radii, and collision times."""

    paths: np.ndarray
    radii: tuple[int, ...]
    collisions: tuple[float, ...]


def record(space: pymunk.Space, discs: list[pymunk.Circle], seconds: float) -> Motion:
    """Run the engine, noting every beginning of a collision above 0.3 widths/s."""
    collisions: list[float] = []
    clock = [0.0]

    def begin(arbiter: pymunk.Arbiter, *_: object) -> None:
        one, other = (shape.body.velocity for shape in arbiter.shapes)
        if (one - other).length > 0.3 * WIDTH:
            collisions.append(clock[0])

    space.on_collision(begin=begin)
    paths = []
    while clock[0] < seconds:
        paths.append([disc.body.position for disc in discs])
        space.step(STEP)
        clock[0] += STEP
    radii = tuple(round(disc.radius) for disc in discs)
    return Motion(np.array(paths), radii, tuple(collisions))


def disc(space: pymunk.Space, place: tuple[float, float], radius: float) -> pymunk.Circle:
    body = pymunk.Body(1.0, pymunk.moment_for_circle(1.0, 0, radius))
    body.position = place
    shape = pymunk.Circle(body, radius)
    shape.elasticity = 0.85
    space.add(body, shape)
    return shape


def bouncing_ball(
    place: tuple[float, float] = (250, 40),
    radius: int = 36,
    aside: float = 60,
    seconds: float = 2.6,
) -> Motion:
    """A ball that drops on a floor and bounces, with some speed to the right."""
    space = pymunk.Space()
    space.gravity = (0, 1400)
    floor = pymunk.Segment(space.static_body, (-500, 320), (1500, 320), 2)
    floor.elasticity = 0.85
    space.add(floor)
    ball = disc(space, place, radius)
    ball.body.velocity = (aside, 0)
    return record(space, [ball], seconds)


def two_bounces() -> Motion:
    """`bouncing_ball` up to its second bounce and half a second more."""
    return bouncing_ball(seconds=1.95)


def struck_ball() -> Motion:
    """A disc slides into one at rest, which takes its movement over."""
    space = pymunk.Space()
    space.damping = 0.75
    one, other = disc(space, (-260, 180), 36), disc(space, (360, 180), 36)
    one.body.velocity = (640, 0)
    return record(space, [one, other], 2.2)


def film(path: Path, motion: Motion, rate: Fraction, shake: float = 0.0) -> list[int]:
    """Draw before a wall out of focus, blur, shake, encode; returns the contact frames."""
    rng = np.random.default_rng(7)
    wall = cv2.GaussianBlur(cv2.resize(data.gravel(), (WIDTH + 80, HEIGHT + 80)), (0, 0), 5.0)
    seconds = len(motion.paths) * STEP
    count = int(seconds * rate) - 1
    sway = np.cumsum(rng.normal(0, shake, (count * SAMPLES + SAMPLES, 2)), axis=0) / SAMPLES
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=rate, options={"crf": "20"})
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        for number in range(count):
            shown = np.zeros((HEIGHT, WIDTH), np.float32)
            for sample in range(SAMPLES):
                time = (number + SHUTTER * sample / SAMPLES) / float(rate)
                offset = 40 + sway[number * SAMPLES + sample]
                shown += picture(wall, motion, round(time / STEP), offset)
            grain = GRAIN * rng.standard_normal(shown.shape, np.float32)
            frame = np.clip(shown / SAMPLES + grain, 0, 255).astype(np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(frame, format="gray")))
        container.mux(stream.encode())
    middles = [time * float(rate) - SHUTTER / 2 for time in motion.collisions]
    return [math.ceil(middle - 0.25) for middle in middles if middle < count - 3]


def picture(wall: np.ndarray, motion: Motion, step: int, offset: np.ndarray) -> np.ndarray:
    left, top = offset
    view = np.float32([[1, 0, -left], [0, 1, -top]])
    image = cv2.warpAffine(wall, view, (WIDTH, HEIGHT))
    places = motion.paths[min(step, len(motion.paths) - 1)]
    for number, (place, radius) in enumerate(zip(places, motion.radii, strict=True)):
        x, y = place[0] - left + 40, place[1] - top + 40
        tone = 48 if number == 0 else 214
        centre = (round(x * 16), round(y * 16))
        cv2.circle(image, centre, radius * 16, tone, -1, cv2.LINE_AA, 4)
        spot = (round((x - radius * 0.3) * 16), round((y - radius * 0.3) * 16))
        cv2.circle(image, spot, radius * 5, 141, -1, cv2.LINE_AA, 4)
    return image
