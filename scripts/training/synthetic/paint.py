"""Pictures to film: surfaces and cut-out things, from photographs that come with scikit-image."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage import data

Picture = NDArray[np.float32]
Pixels = NDArray[np.uint8]
FINER = 3
"""Times finer than the sprite that outlines are drawn."""
SURFACES = (
    "brick", "grass", "gravel", "coffee", "chelsea", "coins", "page", "moon",
    "immunohistochemistry", "hubble_deep_field",
)  # fmt: skip
SKINS = ((150, 185, 225), (110, 150, 200), (80, 110, 160), (50, 75, 115), (35, 50, 80))


@dataclass(frozen=True)
class Sprite:
    """A cut-out: blue, green, red (times cover) and cover; pixels per picture width; its handle."""

    image: Pixels
    scale: float
    handle: tuple[float, float]


@dataclass(frozen=True)
class Look:
    """What a thing is made of: colour (blue, green, red), photograph, contrast of its surface."""

    colour: tuple[float, float, float]
    surface: str
    contrast: float


@cache
def photograph(name: str) -> Pixels:
    """A picture that ships inside scikit-image, 8-bit blue, green, red."""
    picture = np.asarray(getattr(data, name)())
    if picture.ndim == 2:
        picture = np.repeat(picture[..., None], 3, axis=2)
    return np.ascontiguousarray(picture[..., 2::-1])


def some_look(rng: np.random.Generator, plain: float = 0.4) -> Look:
    """A look at random; ``plain`` is how likely a nearly even surface is."""
    value = float(rng.uniform(25, 235))
    tint = rng.uniform(0.55, 1.2, 3) if rng.random() < 0.6 else np.ones(3)
    blue, green, red = (float(np.clip(value * c, 8, 250)) for c in tint)
    contrast = rng.uniform(0.02, 0.08) if rng.random() < plain else rng.uniform(0.1, 0.35)
    return Look((blue, green, red), str(rng.choice(SURFACES)), float(contrast))


def skin(rng: np.random.Generator) -> Look:
    """Skin, or now and then a glove."""
    if rng.random() < 0.15:
        return some_look(rng)
    blue, green, red = SKINS[int(rng.integers(len(SKINS)))]
    return Look((blue, green, red), "gravel", 0.05)


def surface(rng: np.random.Generator, look: Look, height: int, width: int) -> Picture:
    """A piece of a surface in its colour, float32 (height, width, 3)."""
    photo = photograph(look.surface)
    size = min(photo.shape[:2])
    part = int(rng.integers(size // 4, size))
    top, left = (int(rng.integers(0, n - part + 1)) for n in photo.shape[:2])
    side = max(height, width)
    crop = cv2.resize(photo[top : top + part, left : left + part], (side, side))
    crop = crop[:height, :width].astype(np.float32)
    grey = crop.mean(axis=2, keepdims=True)
    detail = 0.7 * (grey - grey.mean()) + 0.3 * (crop - crop.mean(axis=(0, 1)))
    relative = 1 + detail / (detail.std() + 4) * look.contrast
    coloured = np.clip(relative * np.array(look.colour, np.float32), 0, 255)
    return np.asarray(coloured, np.float32)


def cut_out(
    rng: np.random.Generator,
    look: Look,
    size: tuple[float, float],
    scale: float,
    draw: Callable[[Any, float], None],
    handle: tuple[float, float],
    shade: float = 0.35,
) -> Sprite:
    """Cut a shape out of a surface.

    Parameters
    ----------
    size : (float, float)
        Width and height, picture widths.
    scale : float
        Pixels per picture width.
    draw : function of (mask, pixels per picture width)
        Fills the shape with 255 on a finer mask.
    handle : (float, float)
        The point that is moved, picture widths from the upper left corner.
    shade : float
        How much darker the rim is than the middle.
    """
    pad = 2
    width, height = (max(int(np.ceil(s * scale)), 1) + 2 * pad for s in size)
    mask = np.zeros((height * FINER, width * FINER), np.uint8)
    inner = mask[pad * FINER : -pad * FINER, pad * FINER : -pad * FINER]
    draw(inner, scale * FINER)
    cover = cv2.resize(mask, (width, height), interpolation=cv2.INTER_AREA).astype(np.float32) / 255
    deep = cv2.GaussianBlur(cover, (0, 0), max(min(width, height) / 8, 0.8))
    light = 1 - shade * np.clip(2 * (1 - deep), 0, 1)
    tilt = np.linspace(1.08, 0.9, height, dtype=np.float32)[:, None]
    image = np.empty((height, width, 4), np.float32)
    image[..., :3] = np.clip(surface(rng, look, height, width) * (light * tilt)[..., None], 0, 255)
    image[..., :3] *= cover[..., None]
    image[..., 3] = 255 * cover
    return Sprite(image.astype(np.uint8), scale, (handle[0] * scale + pad, handle[1] * scale + pad))


def softened(sprite: Sprite, sigma: float) -> Sprite:
    """The sprite out of focus; ``sigma`` in pixels."""
    pad = int(3 * sigma) + 1
    image = cv2.copyMakeBorder(sprite.image, pad, pad, pad, pad, cv2.BORDER_CONSTANT)
    x, y = sprite.handle
    return Sprite(
        np.asarray(cv2.GaussianBlur(image, (0, 0), sigma), np.uint8),
        sprite.scale,
        (x + pad, y + pad),
    )


def faded(sprite: Sprite, cover: float) -> Sprite:
    """The sprite partly see-through."""
    return Sprite((sprite.image * cover).astype(np.uint8), sprite.scale, sprite.handle)
