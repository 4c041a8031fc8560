"""The place: flat surfaces with textures, the lamp, and the plates painted of them."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from .textures import Picture
from .vectors import Floats


@dataclass(frozen=True)
class Surface:
    """A flat rectangle: a corner and two edges at right angles, metres, and what it is made of.

    ``tile`` is the metres that one texture covers, 0 to stretch it over the whole; ``wet`` how
    much of the lamp it mirrors, 0..1.
    """

    corner: Floats
    across: Floats
    up: Floats
    texture: str
    tile: float = 2.0
    wet: float = 0.0


@dataclass(frozen=True)
class Lamp:
    """A lamp under a shade, on a cord: it may swing to and fro along x."""

    pivot: Floats
    cord: float
    colour: tuple[float, float, float]
    power: float
    swing: float = 0.0
    period: float = 2.1
    phase: float = 0.0

    def lean(self, times: Floats) -> Floats:
        """The swing at each instant, -1..1 of its widest."""
        return np.asarray(np.sin(2 * np.pi * times / self.period + self.phase))

    def positions(self, lean: Floats) -> Floats:
        """Places (T, 3) of the lamp."""
        angle = np.radians(self.swing) * lean
        hanging = np.stack([np.sin(angle), -np.cos(angle), np.zeros_like(angle)], axis=-1)
        return self.pivot + self.cord * hanging


@dataclass(frozen=True)
class Place:
    """Surfaces and light; colours are linear red, green, blue.

    ``moon`` is the direction from which a weak even light comes, in the world.
    """

    surfaces: tuple[Surface, ...]
    lamp: Lamp
    ambient: tuple[float, float, float]
    moon: Floats
    moonlight: tuple[float, float, float]
    sky: tuple[float, float, float]


@dataclass(frozen=True)
class Plates:
    """The background at both ends of the lamp's swing, float32, shape (h, w, 3), linear.

    ``ground``, shape (h, w), is 1 where level ground is seen, for shadows to fall on.
    """

    near: Picture
    far: Picture
    ground: Picture

    def at(self, lean: float) -> Picture:
        """The background when the lamp is at ``lean`` (-1..1)."""
        if self.near is self.far:
            return self.near
        share = (lean + 1) / 2
        return np.asarray(cv2.addWeighted(self.near, 1 - share, self.far, share, 0))


def shade(upward: Picture) -> Picture:
    """Share of light that leaves the shade toward a point; ``upward`` is the way back's rise."""
    return np.asarray(np.clip((upward - 0.05) / 0.45, 0.10, 1))
