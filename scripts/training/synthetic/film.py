"""Filming: exposures of many instants, grain and tone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction

import cv2
import numpy as np

from .camera import Camera
from .motion import Floats
from .paint import Picture, Pixels
from .stage import Layer, Stage

INSTANTS = 24
"""Instants per exposure at which places are worked out."""
COUNTS = np.array([1, 2, 3, 4, 6, 8, 12, 24])
STEP = 1.6
"""Pixels that a thing may move from one drawn instant to the next, while there are enough."""
FAR = 0.85
"""Depth of the backdrop."""


@dataclass(frozen=True)
class Shot:
    """A scene with its backdrop and its camera."""

    stage: Stage
    camera: Camera
    plate: Pixels
    margin: float


@dataclass(frozen=True)
class Format:
    """Size, rate and look of the file; arrays are per frame."""

    width: int
    height: int
    rate: Fraction
    frames: int
    shutter: float
    crf: int
    grain: float
    gain: Floats
    lift: float
    blur: Floats
    flashes: list[tuple[int, float, float, float]] = field(default_factory=list)


def exposures(
    shot: Shot, shape: tuple[int, int], opens: Floats, length: float
) -> Iterator[Picture]:
    """Pictures, float32 0..255, of exposures that open at ``opens`` and last ``length`` seconds."""
    width, height = shape
    within = (np.arange(INSTANTS) + 0.5) / INSTANTS * length
    instants = opens[:, None] + within
    layers = sorted(shot.stage.layers, key=lambda layer: layer.order)
    tracks = [_track(shot, layer, instants, width) for layer in layers]
    ground = _ground_track(shot, instants, width)
    kept: Picture | None = None
    for number in range(len(opens)):
        if kept is None or not ground[2]:
            kept = _ground(shot.plate, ground[0][number], int(ground[1][number]), width, height)
        canvas = kept.copy()
        for layer, track in zip(layers, tracks, strict=True):
            cover = np.interp(instants[number, INSTANTS // 2], shot.stage.t, _shown(shot, layer))
            if cover > 0.004:
                _lay(canvas, layer, track, number, float(cover), instants[number].mean())
        yield canvas


def _shown(shot: Shot, layer: Layer) -> Floats:
    return np.asarray(np.broadcast_to(layer.shown, len(shot.stage.t)))


Track = tuple[Floats, Floats]
"""Sprite to pixels at each frame and instant (F, I, 2, 3); corners there (F, I, 4, 2)."""


def _track(shot: Shot, layer: Layer, instants: Floats, width: int) -> Track:
    t = shot.stage.t
    at = np.clip(instants.ravel(), t[0], t[-1])
    index = np.clip(np.searchsorted(t, at) - 1, 0, len(t) - 2)
    share = ((at - t[index]) / (t[index + 1] - t[index]))[:, None, None]
    place = layer.place[index] * (1 - share) + layer.place[index + 1] * share
    lens = shot.camera.matrices(t, at, shot.stage.aspect, layer.depth)
    whole = lens[:, :, :2] @ place
    whole[:, :, 2] += lens[:, :, 2]
    whole = (whole * width).reshape(*instants.shape, 2, 3)
    h, w = layer.sprite.image.shape[:2]
    corners = np.array([[0, 0, 1], [w, 0, 1], [w, h, 1], [0, h, 1]], float)
    return whole, np.einsum("fiab,kb->fika", whole, corners)


def _ground_track(shot: Shot, instants: Floats, width: int) -> tuple[Floats, Floats, bool]:
    lens = shot.camera.matrices(shot.stage.t, instants, shot.stage.aspect, FAR)
    scale = width / shot.plate.shape[1] * (1 + 2 * shot.margin)
    place = np.array([[scale / width, 0, -shot.margin], [0, scale / width, -shot.margin]])
    whole = lens[..., :2] @ place
    whole[..., 2] += lens[..., 2]
    whole *= width
    h, w = shot.plate.shape[:2]
    corners = np.array([[0.2 * w, 0.2 * h, 1], [0.8 * w, 0.8 * h, 1]])
    spots = np.einsum("fiab,kb->fika", whole, corners)
    path = np.linalg.norm(np.diff(spots, axis=1), axis=3).sum(axis=1).max(axis=1)
    fixed = bool(np.ptp(whole, axis=(0, 1)).max() < 1e-9)
    return whole, _counts(path, 8), fixed


def _counts(path: Floats, most: int) -> Floats:
    return COUNTS[np.minimum(np.searchsorted(COUNTS, path / STEP), np.searchsorted(COUNTS, most))]


def _ground(plate: Pixels, matrices: Floats, count: int, width: int, height: int) -> Picture:
    total = np.zeros((height, width, 3), np.float32)
    for matrix in matrices.reshape(count, -1, 2, 3).mean(axis=1):
        flat = cv2.warpAffine(plate, matrix, (width, height), borderMode=cv2.BORDER_REFLECT_101)
        cv2.accumulate(flat, total)
    return total / np.float32(count)


def _lay(
    canvas: Picture, layer: Layer, track: Track, number: int, cover: float, instant: float
) -> None:
    matrices, corners = track[0][number], track[1][number]
    height, width = canvas.shape[:2]
    low = np.floor(corners.min(axis=(0, 1))).astype(int) - 1
    high = np.ceil(corners.max(axis=(0, 1))).astype(int) + 2
    left, top = np.maximum(low, 0)
    right, bottom = min(int(high[0]), width), min(int(high[1]), height)
    if right <= left or bottom <= top:
        return
    path = np.linalg.norm(np.diff(corners, axis=0), axis=2).sum(axis=0).max()
    count = int(_counts(np.array([path]), INSTANTS)[0])
    image = layer.live(instant) if layer.live else layer.sprite.image
    total = np.zeros((bottom - top, right - left, 4), np.float32)
    groups = matrices.reshape(count, -1, 2, 3).mean(axis=1)
    spots = corners.reshape(count, -1, 4, 2).mean(axis=1)
    for matrix, spot in zip(groups, spots, strict=True):
        _stamp(total, image, matrix, spot, (int(left), int(top)))
    total *= cover / count
    under = canvas[top:bottom, left:right]
    under *= 1 - total[..., 3:] / 255
    under += total[..., :3]


def _stamp(
    total: Picture, image: Pixels, matrix: Floats, spot: Floats, corner: tuple[int, int]
) -> None:
    low = np.maximum(np.floor(spot.min(axis=0)).astype(int) - 1 - corner, 0)
    high = np.ceil(spot.max(axis=0)).astype(int) + 2 - corner
    right, bottom = min(int(high[0]), total.shape[1]), min(int(high[1]), total.shape[0])
    if right <= low[0] or bottom <= low[1]:
        return
    moved = matrix.copy()
    moved[:, 2] -= low + corner
    size = (right - int(low[0]), bottom - int(low[1]))
    total[low[1] : bottom, low[0] : right] += cv2.warpAffine(image, moved, size)


def developed(
    pictures: Iterable[Picture], form: Format, rng: np.random.Generator
) -> Iterator[Pixels]:
    """Focus, light, flashes and grain; 8-bit pictures."""
    sheet = rng.normal(0, 1, (form.height + 64, form.width + 64)).astype(np.float32)
    sheet = np.asarray(cv2.GaussianBlur(sheet, (0, 0), float(rng.uniform(0.4, 0.9))), np.float32)
    sheet *= form.grain / sheet.std()
    for number, picture in enumerate(pictures):
        if form.blur[number] > 0.3:
            picture = cv2.GaussianBlur(picture, (0, 0), float(form.blur[number])).astype(np.float32)
        picture = picture * np.float32(form.gain[number]) + np.float32(form.lift)
        for frame, x, y, size in form.flashes:
            if frame == number:
                picture += _glow(form, x, y, size)
        top, left = rng.integers(0, 64, 2)
        picture += sheet[top : top + form.height, left : left + form.width, None]
        yield np.clip(picture, 0, 255).astype(np.uint8)


def _glow(form: Format, x: float, y: float, size: float) -> Picture:
    across = np.arange(form.width) / form.width - x
    down = np.arange(form.height) / form.width - y
    far = across[None] ** 2 + down[:, None] ** 2
    return np.asarray(230 * np.exp(-far / (2 * size**2)), np.float32)[..., None]
