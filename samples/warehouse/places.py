"""The two places of the night: the quay under its lamp, and the store with its crates."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .scene import Lamp, Place, Surface
from .spec import CameraSpec, FightSpec
from .textures import Colour
from .vectors import Floats


def build_place(spec: FightSpec) -> Place:
    """The place of a spec, dressed so that nothing stands in the camera's way."""
    rng = np.random.default_rng([spec.seed, 5])
    indoors = spec.place == "store"
    boxes = _boxes(rng, spec.camera, 7 if indoors else 3)
    place = (_store if indoors else _quay)(boxes, spec.swing, rng)
    return replace(
        place,
        lamp=replace(place.lamp, power=place.lamp.power * spec.lamplight),
        ambient=_times(place.ambient, spec.fill),
        moonlight=_times(place.moonlight, spec.fill),
    )


def _times(colour: Colour, gain: float) -> Colour:
    red, green, blue = colour
    return red * gain, green * gain, blue * gain


def _quay(boxes: list[Surface], swing: float, rng: np.random.Generator) -> Place:
    ground = Surface(_at(-20, 0, -6), _at(40, 0, 0), _at(0, 0, 11), "paving", 2.4, wet=1.0)
    wall = Surface(_at(-14, 0, 4.6), _at(28, 0, 0), _at(0, 6.5, 0), "brick", 2.0)
    door = Surface(_at(-2.6, 0, 4.55), _at(2.4, 0, 0), _at(0, 2.8, 0), "planks", 2.0)
    hatch = Surface(_at(2.2, 1.5, 4.55), _at(1.3, 0, 0), _at(0, 1.1, 0), "metal", 1.5)
    sea = Surface(_at(-80, -1.6, -90), _at(160, 0, 0), _at(0, 0, 84), "water", 6.0, wet=0.5)
    left = Surface(_at(-9, 0, 4.6), _at(0, 0, -6.0), _at(0, 3.2, 0), "metal", 2.6)
    right = Surface(_at(10, 0, 4.6), _at(0, 0, -5.0), _at(0, 4.0, 0), "brick", 2.0)
    lamp = Lamp(_at(0.9, 3.5, 1.4), 0.85, (1.0, 0.66, 0.34), 4.6, swing, 2.3, rng.uniform(0, 6))
    return Place(
        surfaces=(ground, wall, door, hatch, sea, left, right, *boxes),
        lamp=lamp,
        ambient=(0.018, 0.027, 0.042),
        moon=np.array([-0.45, 0.55, -0.70]),
        moonlight=(0.06, 0.095, 0.155),
        sky=(0.003, 0.005, 0.011),
    )


def _store(boxes: list[Surface], swing: float, rng: np.random.Generator) -> Place:
    floor = Surface(_at(-8, 0, -7), _at(16, 0, 0), _at(0, 0, 14), "concrete", 3.0, wet=0.25)
    walls = (
        Surface(_at(-8, 0, 7), _at(16, 0, 0), _at(0, 5, 0), "planks", 2.2),
        Surface(_at(-8, 0, -7), _at(16, 0, 0), _at(0, 5, 0), "planks", 2.2),
        Surface(_at(-8, 0, -7), _at(0, 0, 14), _at(0, 5, 0), "metal", 3.0),
        Surface(_at(8, 0, -7), _at(0, 0, 14), _at(0, 5, 0), "brick", 2.0),
        Surface(_at(-8, 5, -7), _at(16, 0, 0), _at(0, 0, 14), "planks", 2.0),
    )
    lamp = Lamp(_at(-0.6, 3.9, 0.8), 1.4, (1.0, 0.80, 0.52), 3.6, swing, 2.4, rng.uniform(0, 6))
    return Place(
        surfaces=(floor, *walls, *boxes),
        lamp=lamp,
        ambient=(0.018, 0.023, 0.028),
        moon=np.array([0.60, 0.45, -0.66]),
        moonlight=(0.06, 0.085, 0.11),
        sky=(0.0, 0.0, 0.0),
    )


def _boxes(rng: np.random.Generator, camera: CameraSpec, stacks: int) -> list[Surface]:
    """Stacks of crates behind the fight as the camera sees it."""
    azimuth = np.radians(camera.azimuth)
    away = np.array([-np.sin(azimuth), 0, np.cos(azimuth)])
    side = np.array([np.cos(azimuth), 0, np.sin(azimuth)])
    faces = list[Surface]()
    for index in range(stacks):
        aside = (index - (stacks - 1) / 2) * rng.uniform(1.2, 1.8) + rng.uniform(-0.5, 0.5)
        foot = away * rng.uniform(3.0, 4.2) + side * aside * 1.2
        if abs(foot[0]) > 7.0 or foot[2] > 3.9 or foot[2] < -5.2:
            continue
        height = 0.0
        for _ in range(int(rng.integers(1, 4))):
            size = rng.uniform(0.65, 1.0)
            faces += _box(foot + np.array([0, height, 0]), size, rng.uniform(0, np.pi / 2))
            height += size
    return faces


def _box(foot: Floats, size: float, turn: float) -> list[Surface]:
    """The five visible sides of a crate that stands with its middle at ``foot``."""
    x = np.array([np.cos(turn), 0, np.sin(turn)]) * size
    z = np.array([-np.sin(turn), 0, np.cos(turn)]) * size
    y = np.array([0, size, 0])
    corner = foot - x / 2 - z / 2
    sides = [(corner, x), (corner + z, x), (corner, z), (corner + x, z)]
    faces = [Surface(at, across, y, "crate", 0.0) for at, across in sides]
    return [*faces, Surface(corner + y, x, z, "crate", 0.0)]


def _at(x: float, y: float, z: float) -> Floats:
    return np.array([x, y, z], dtype=np.float64)
