"""Where every part of every figure falls on the picture, how large, and how it is lit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .camera import Camera
from .figure import Joint
from .scene import Lamp, shade
from .vectors import Floats, unit
from .wardrobe import MARGIN, Sprite


@dataclass(frozen=True)
class Placed:
    """All n parts of all figures at T instants.

    Parameters
    ----------
    matrix : shape (T, n, 2, 3)
        From a sprite's pixels to the picture's.
    box : int, shape (T, n, 4)
        Left, top, right, bottom of what it may cover; may lie outside the picture.
    depth : shape (T, n)
        Metres from the camera; the larger, the sooner drawn.
    """

    matrix: Floats
    box: Floats
    depth: Floats


@dataclass(frozen=True)
class Light:
    """The light on all n parts at one instant, in each part's axes: across, along, toward camera.

    Parameters
    ----------
    lamp, moon : shape (n, 3)
        Ways to the light, as long as it is strong.
    front : shape (n,)
        Where the front of the part looks: radians across from the camera.
    """

    lamp: Floats
    moon: Floats
    front: Floats


@dataclass(frozen=True)
class Stage:
    """The sprites of all figures in one list, and which figure each belongs to."""

    sprites: tuple[Sprite, ...]
    owners: tuple[int, ...]
    camera: Camera
    lamp: Lamp
    moon: Floats

    def numbers(self, number: Callable[[Sprite], float]) -> Floats:
        """One number of every sprite, shape (n,)."""
        return np.array([number(sprite) for sprite in self.sprites])


def place_parts(stage: Stage, cast: list[Floats], rotations: Floats) -> Placed:
    """Put all parts on the picture.

    Parameters
    ----------
    stage : Stage
    cast : list of (T, 20, 3)
        Joints of each figure in the world.
    rotations : shape (T, 3, 3)
        Of the camera.
    """
    start, end = (_seen(stage, p, rotations) for p in _ends(stage, cast))
    first, last = stage.camera.on_screen(start), stage.camera.on_screen(end)
    along, across = _directions(first, last)
    facing = _fronts(stage, cast, rotations)[..., 2]
    zoom = _zoom(stage, (start + end) / 2, np.linalg.norm(last - first, axis=-1), facing)
    columns = across * zoom[..., :1], along * zoom[..., 1:]
    middle = (first + last) / 2
    size = np.array([sprite.cover.shape[::-1] for sprite in stage.sprites])
    corner = middle - sum(c * (size[:, i : i + 1] - 1) / 2 for i, c in enumerate(columns)) - 0.5
    half = sum(np.abs(c) * size[:, i : i + 1] / 2 for i, c in enumerate(columns)) + 1
    return Placed(
        matrix=np.stack([*columns, corner], axis=-1),
        box=np.concatenate([np.floor(middle - half), np.ceil(middle + half)], -1).astype(np.int64),
        depth=np.linalg.norm((start + end) / 2, axis=-1) - stage.numbers(lambda s: s.part.nearer),
    )


def light_parts(stage: Stage, cast: list[Floats], rotation: Floats, lamp: Floats) -> Light:
    """The light on all parts at one instant: joints (20, 3) per figure, the lamp's place (3,)."""
    joints = [figure[None] for figure in cast]
    rotations = rotation[None]
    ends = _ends(stage, joints)
    screen = (stage.camera.on_screen(_seen(stage, p, rotations)) for p in ends)
    along, across = _directions(*screen)
    axes = _part_axes(along, across)[0]
    to_lamp = _lamp_light(stage.lamp, lamp, (ends[0][0] + ends[1][0]) / 2)
    to_moon = np.broadcast_to(unit(stage.moon), to_lamp.shape)
    turn = stage.camera.axes.T @ rotation.T
    fronts = (axes @ _fronts(stage, joints, rotations)[0][..., None])[..., 0]
    return Light(
        lamp=(axes @ (to_lamp @ turn)[..., None])[..., 0],
        moon=(axes @ (to_moon @ turn)[..., None])[..., 0],
        front=np.arctan2(fronts[..., 0], fronts[..., 2]),
    )


def _seen(stage: Stage, points: Floats, rotations: Floats) -> Floats:
    return np.asarray(stage.camera.at_rest(points) @ np.swapaxes(rotations, 1, 2))


def _ends(stage: Stage, cast: list[Floats]) -> tuple[Floats, Floats]:
    """World places (T, n, 3) of the centres of each part's rounded ends."""
    starts, stops = [], []
    for sprite, owner in zip(stage.sprites, stage.owners, strict=True):
        part, joints = sprite.part, cast[owner]
        a, b = joints[:, part.start], joints[:, part.end]
        axis = unit(b - a)
        starts.append(a + axis * part.trims[0])
        stops.append(b - axis * part.trims[1])
    return np.stack(starts, axis=1), np.stack(stops, axis=1)


def _directions(first: Floats, last: Floats) -> tuple[Floats, Floats]:
    """Unit vectors on the picture along each part and across it."""
    along = unit(last - first + np.array([1e-6, 0]))
    return along, np.stack([-along[..., 1], along[..., 0]], axis=-1)


def _fronts(stage: Stage, cast: list[Floats], rotations: Floats) -> Floats:
    """Unit vectors (T, n, 3) that chest or face look along, in camera axes, third toward it."""
    ways = []
    for sprite, owner in zip(stage.sprites, stage.owners, strict=True):
        joints = cast[owner]
        if sprite.part.front == "face":
            head = (joints[:, Joint.CHIN] + joints[:, Joint.CROWN]) / 2
            ways.append(joints[:, Joint.NOSE] - head)
        else:
            left = joints[:, Joint.SHOULDER_L] - joints[:, Joint.SHOULDER_R]
            ways.append(np.cross(joints[:, Joint.NECK] - joints[:, Joint.PELVIS], left))
    turn = stage.camera.axes.T @ np.swapaxes(rotations, 1, 2)
    return np.asarray(unit(np.stack(ways, axis=1)) @ turn)


def _part_axes(along: Floats, across: Floats) -> Floats:
    """Matrices (T, n, 3, 3) from the camera's axes to a part's: across, along, toward."""
    zero = np.zeros_like(along[..., :1])
    toward = np.broadcast_to(np.array([0.0, 0.0, -1.0]), (*along.shape[:-1], 3))
    rows = [np.concatenate([across, zero], -1), np.concatenate([along, zero], -1), toward]
    return np.stack(rows, axis=-2)


def _lamp_light(lamp: Lamp, at: Floats, points: Floats) -> Floats:
    way = at - points
    far = np.maximum(np.linalg.norm(way, axis=-1, keepdims=True), 0.4)
    return np.asarray(way / far * lamp.power / far**2 * shade(way[..., 1:2] / far))


def _zoom(stage: Stage, middle: Floats, length: Floats, facing: Floats) -> Floats:
    """Scale of each sprite across and along: by distance, turn, and how much of it is seen."""
    local = stage.camera.focal / np.maximum(middle[..., 2], 0.3)
    flat = stage.numbers(lambda s: s.part.depth if s.part.front else 1.0)
    width = np.sqrt(facing**2 + (1 - facing**2) * flat**2)
    caps = stage.numbers(lambda s: sum(s.part.radii)) * local
    drawn = stage.numbers(lambda s: s.cover.shape[0] - 2 * MARGIN)
    across = local / stage.numbers(lambda s: s.scale) * width
    return np.stack([across, (length + caps) / drawn], axis=-1)
