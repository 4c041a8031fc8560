"""What happens in films and is no hit: flashes, fades, focus pulls, whip pans, bumps, zooms.

By construction: somebody walks by in front of a wall, swinging an arm, and nothing is struck.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from skimage import data

from tests.helpers.footage.media_files import Recipe
from tests.helpers.footage.played_footage import SIZE, Grey, found, write
from tests.helpers.projects.staged_motion import minimum_jerk

Picture = NDArray[np.float32]
Pan = Callable[[int], tuple[float, float]]
Change = Callable[[int, Picture], Picture]
FRAMES = 54
AT = 27


def still(frame: int) -> tuple[float, float]:
    return 0.0, 0.0


def unchanged(frame: int, picture: Picture) -> Picture:
    return picture


def walk(pan: Pan = still, change: Change = unchanged) -> list[Grey]:
    """The walker before the wall; the camera is held by hand, and pans by so many pixels."""
    rng = np.random.default_rng(5)
    wall = cv2.GaussianBlur(cv2.resize(data.gravel(), (1600, 900)), (0, 0), 3)
    sway = np.cumsum(rng.normal(0, 0.4, (FRAMES, 2)), axis=0)
    frames = []
    for k in range(FRAMES):
        left, top = sway[k] + pan(k)
        view = np.array([[1, 0, -400 - left], [0, 1, -300 - top]])
        picture = cv2.warpAffine(wall, view, SIZE, borderMode=cv2.BORDER_REFLECT)
        x, y = 120 + 2.5 * k - left, 150 + 4 * math.sin(k / 4) - top
        body(picture, x, y, (30, 80), 200)
        body(picture, x + 25 * math.sin(k / 5), y + 20, (10, 40), 60)
        shown = change(k, picture.astype(np.float32))
        frames.append((shown + rng.normal(0, 2, shown.shape)).clip(0, 255).astype(np.uint8))
    return frames


def body(picture: Grey, x: float, y: float, size: tuple[int, int], tone: int) -> None:
    middle, axes = (round(x * 16), round(y * 16)), (size[0] * 16, size[1] * 16)
    cv2.ellipse(picture, middle, axes, 0, 0, 360, tone, -1, cv2.LINE_AA, 4)


def ease(frame: int, start: int, end: int) -> float:
    return float(minimum_jerk(np.array((frame - start) / (end - start))))


def flash(frame: int, picture: Picture) -> Picture:
    return picture * 2 + 60 if frame == AT else picture


def muzzle(frame: int, picture: Picture) -> Picture:
    return picture * 1.5 + 80 if frame in (AT - 6, AT - 2, AT + 2) else picture


def lamp(frame: int, picture: Picture) -> Picture:
    return picture * 0.3 if frame < AT else picture


def fade_out(frame: int, picture: Picture) -> Picture:
    return picture * (1 - np.clip((frame - AT) / 12, 0, 1))


def fade_in(frame: int, picture: Picture) -> Picture:
    return picture * np.clip((frame - AT + 12) / 12, 0, 1)


def focus_pull(frame: int, picture: Picture) -> Picture:
    blur = 0.1 + 8 * math.sin(math.pi * ease(frame, AT - 12, AT + 12))
    return cv2.GaussianBlur(picture, (0, 0), blur)


def zoom(frame: int, picture: Picture) -> Picture:
    view = cv2.getRotationMatrix2D((240, 135), 0, 1 + 0.5 * ease(frame, AT - 6, AT + 6))
    return cv2.warpAffine(picture, view, SIZE)


def whip_pan(frame: int) -> tuple[float, float]:
    return 600 * ease(frame, AT - 4, AT + 4), 0.0


def pan_that_stops(frame: int) -> tuple[float, float]:
    return 12.0 * float(np.clip(frame - AT + 15, 0, 15)), 0.0


def bump(frame: int) -> tuple[float, float]:
    since = frame - AT
    return 0.0, 14 * math.exp(-since / 2) * math.cos(1.5 * since) if since >= 0 else 0.0


@pytest.mark.parametrize(
    "change", [unchanged, flash, muzzle, lamp, fade_out, fade_in, focus_pull, zoom]
)
def test_light_and_lens_are_no_hits(tmp_path: Path, change: Change) -> None:
    clip = write(tmp_path / "a.mp4", walk(change=change), Recipe(rate=Fraction(24)))
    assert [hit.contact for hit in found(clip)] == []


@pytest.mark.parametrize("pan", [whip_pan, pan_that_stops, bump])
def test_camera_movement_is_no_hit(tmp_path: Path, pan: Pan) -> None:
    clip = write(tmp_path / "a.mp4", walk(pan), Recipe(rate=Fraction(24)))
    assert [hit.contact for hit in found(clip)] == []
