"""Small films of known movement, put through the measuring that every clip goes through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
from numpy.typing import NDArray
from skimage import data

from impactcut.core.detect.channels import scene_of
from impactcut.core.detect.hits import Hit
from impactcut.core.detect.landing import follow
from impactcut.core.detect.spot import Spot
from impactcut.core.motion.measured import HitMotion
from impactcut.core.trims.splice_indices import Splices
from impactcut.core.trims.visibility import Visibility, how_it_shows
from impactcut.core.viewer.judge import Judge
from impactcut.media.decode.frames import LumaFrame
from impactcut.media.measure.stretches import measure
from impactcut.workflow.scan.finding import motion_in, pictures_of
from tests.helpers.projects.project_values import make_hit

Grey = NDArray[np.uint8]
WIDTH, HEIGHT = 320, 180
ARM = (120, 80)


def stones() -> Grey:
    """A wall of stones, soft enough to be moved by parts of a pixel."""
    return np.asarray(cv2.GaussianBlur(data.gravel(), (0, 0), 1.5), np.uint8)


def grass() -> Grey:
    """What the arm is clothed in."""
    return np.asarray(cv2.GaussianBlur(data.grass(), (0, 0), 1.5), np.uint8)


def laid(picture: Grey, right: float, width: int = WIDTH) -> Grey:
    """``picture``, edge to edge without end, moved by so many pixels of a frame 320 wide."""
    scale = width / WIDTH
    matrix = np.array([[scale, 0.0, scale * (right + 0.5) - 0.5], [0.0, scale, 0.0]])
    size = (width, width * HEIGHT // WIDTH)
    flags, border = cv2.INTER_CUBIC, cv2.BORDER_WRAP
    return np.asarray(cv2.warpAffine(picture, matrix, size, flags=flags, borderMode=border))


def pan(places: Sequence[float]) -> list[Grey]:
    """A wall that lies so many pixels to the right in each frame."""
    wall = stones()
    return [laid(wall, place) for place in places]


def arm(
    places: Sequence[float], camera: float = 0.0, width: int = WIDTH, first: int = 0
) -> list[Grey]:
    """An arm whose middle is at those places, before a wall that a camera pans by per frame.

    ``first`` is the number of the first frame, by which the wall has been panned already.
    """
    wall, cloth = stones(), grass()
    pictures = []
    for number, place in enumerate(places, first):
        picture = laid(wall, number * camera, width)
        across, down = _covered(place, ARM[0], width), _covered(HEIGHT / 2, ARM[1], width)
        part = np.ix_(np.flatnonzero(down[: len(picture)]), np.flatnonzero(across))
        cover = np.outer(down, across)[part]
        mixed = (1 - cover) * picture[part] + cover * laid(cloth, place, width)[part]
        picture[part] = np.rint(mixed).astype(np.uint8)
        pictures.append(picture)
    return pictures


def _covered(middle: float, length: float, width: int) -> NDArray[np.float32]:
    """How much of each row or column of pixels is covered by something of that length."""
    scale = width / WIDTH
    at = (np.arange(width, dtype=np.float32) + 0.5) / scale
    return np.clip(scale * (length / 2 - np.abs(at - middle)) + 0.5, 0, 1)


def frames_of(pictures: Sequence[Grey]) -> list[LumaFrame]:
    """Pictures as they come from a decoder."""
    return [LumaFrame(number, number, picture) for number, picture in enumerate(pictures)]


def film(path: Path, pictures: Sequence[Grey], rate: int, preset: str = "medium") -> None:
    """Write a clip as a camera would, lossily."""
    with av.open(str(path), "w") as container:
        options = {"crf": "18", "preset": preset}
        stream = container.add_stream("libx264", rate=rate, options=options)
        stream.height, stream.width = pictures[0].shape
        stream.pix_fmt = "yuv420p"
        for picture in pictures:
            frame = av.VideoFrame.from_ndarray(picture, format="gray").reformat(format="yuv420p")
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def measured(
    frames: Sequence[LumaFrame], rate: int, contact: int, place: float = WIDTH / 2
) -> HitMotion:
    """What is measured around frame ``contact``, where something ends that moved to the right.

    The place (pixels of 320) is half way down. Who spots the contact is tested elsewhere; here it
    is given.
    """
    (stretch,) = measure(frames, Fraction(rate))
    pictures = pictures_of(stretch)
    spot = Spot(contact, contact, 1.0, (place / WIDTH, HEIGHT / 2 / WIDTH))
    landing = follow(spot, stretch.cells, pictures)
    nobody = replace(landing.struck, receiver=None)
    return motion_in(scene_of(landing.path, nobody, stretch.cells, contact), pictures, stretch)


def hit_at(contact: int, place: float = WIDTH / 2) -> Hit:
    """A hit half way down the picture."""
    return replace(make_hit(contact), region=(place / WIDTH - 0.05, 0.23, 0.1, 0.1))


def judged(motion: HitMotion, first: int, count: int, judge: Judge | None = None) -> Visibility:
    """How much a trim of the film shows; ``first`` is a frame of the film."""
    splices = Splices(np.array([first - motion.first]), np.array([count]), motion.intervals + 1)
    return how_it_shows(hit_at(first), motion, splices, judge or Judge())
