"""Figures onto the picture: place every part on the screen, light it, and lay it over."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from .camera import Camera
from .figure import Floats, Joint, unit
from .scene import Place, shade
from .textures import Picture
from .wardrobe import Sprite


@dataclass(frozen=True)
class Placed:
    """All parts of all figures at T instants; n parts.

    Parameters
    ----------
    centre : shape (T, n, 2)
        Pixels.
    along : shape (T, n, 2)
        Unit vector on the screen from a part's start to its end.
    zoom : shape (T, n, 2)
        Scale of the sprite across and along.
    depth : shape (T, n)
        Metres from the camera; the larger, the sooner drawn.
    lamp, moon : shape (T, n, 3)
        Light from each, in the part's axes (across, along, toward the camera), times its strength.
    front : shape (T, n)
        Where the front of the part looks: radians across from the camera.
    """

    centre: Floats
    along: Floats
    zoom: Floats
    depth: Floats
    lamp: Floats
    moon: Floats
    front: Floats


def place_parts(
    sprites: list[list[Sprite]],
    cast: list[Floats],
    camera: Camera,
    rotations: Floats,
    light: tuple[Place, Floats],
) -> Placed:
    """Put every part of every figure on the screen.

    Parameters
    ----------
    sprites : list of list of Sprite
        Per figure.
    cast : list of (T, 20, 3)
        Joints of each figure in the world.
    rotations : shape (T, 3, 3)
        Of the camera.
    light : Place and the lamp's places (T, 3)
    """
    place, lamps = light
    ends, noses, chests = _ends(sprites, cast)
    turn = np.swapaxes(rotations, 1, 2)

    def seen(points: Floats) -> Floats:
        return camera.at_rest(points) @ turn

    start, end = seen(ends[0]), seen(ends[1])
    first, last = camera.on_screen(start), camera.on_screen(end)
    middle = (start + end) / 2
    along = unit(last - first + np.array([1e-6, 0]))
    across = np.stack([-along[..., 1], along[..., 0]], axis=-1)
    axes = _part_axes(along, across)
    fronts = unit(np.where(_is_face(sprites)[:, None], noses, chests)) @ camera.axes.T @ turn
    lamp = _lamp_light(place, lamps[:, None], (ends[0] + ends[1]) / 2)
    moon = np.broadcast_to(unit(place.moon), lamp.shape)
    world_to_part = [axes @ (light @ camera.axes.T @ turn)[..., None] for light in (lamp, moon)]
    looks = (axes @ fronts[..., None])[..., 0]
    return Placed(
        centre=(first + last) / 2,
        along=along,
        zoom=_zoom(sprites, camera, middle, first, last, looks),
        depth=np.linalg.norm(middle, axis=-1) - _of(sprites, lambda s: s.part.nearer),
        lamp=world_to_part[0][..., 0],
        moon=world_to_part[1][..., 0],
        front=np.arctan2(looks[..., 0], looks[..., 2]),
    )


def _of(sprites, number) -> Floats:  # type: ignore[no-untyped-def]
    return np.array([number(sprite) for figure in sprites for sprite in figure])


def _is_face(sprites: list[list[Sprite]]) -> Floats:
    return _of(sprites, lambda s: s.part.front == "face")


def _ends(
    sprites: list[list[Sprite]], cast: list[Floats]
) -> tuple[tuple[Floats, Floats], Floats, Floats]:
    """World places of the centres of each part's rounded ends; ways that face and chest look."""
    starts, stops, noses, chests = [], [], [], []
    for figure, joints in zip(sprites, cast, strict=True):
        left = joints[:, Joint.SHOULDER_L] - joints[:, Joint.SHOULDER_R]
        chest = np.cross(joints[:, Joint.NECK] - joints[:, Joint.PELVIS], left)
        nose = joints[:, Joint.NOSE] - (joints[:, Joint.CHIN] + joints[:, Joint.CROWN]) / 2
        for sprite in figure:
            a, b = joints[:, sprite.part.start], joints[:, sprite.part.end]
            axis = unit(b - a)
            starts.append(a + axis * sprite.part.trims[0])
            stops.append(b - axis * sprite.part.trims[1])
            noses.append(nose)
            chests.append(chest)
    start, stop, nose, chest = (np.stack(p, axis=1) for p in (starts, stops, noses, chests))
    return (start, stop), nose, chest


def _part_axes(along: Floats, across: Floats) -> Floats:
    """Matrices (T, n, 3, 3) from the camera's axes to a part's: across, along, toward."""
    zero = np.zeros_like(along[..., :1])
    toward = np.broadcast_to(np.array([0.0, 0.0, -1.0]), (*along.shape[:-1], 3))
    return np.stack(
        [np.concatenate([across, zero], -1), np.concatenate([along, zero], -1), toward], axis=-2
    )


def _lamp_light(place: Place, lamps: Floats, points: Floats) -> Floats:
    way = lamps - points
    far = np.maximum(np.linalg.norm(way, axis=-1, keepdims=True), 0.4)
    return np.asarray(way / far * place.lamp.power / far**2 * shade(way[..., 1:2] / far))


def _zoom(
    sprites: list[list[Sprite]],
    camera: Camera,
    middle: Floats,
    first: Floats,
    last: Floats,
    looks: Floats,
) -> Floats:
    """Scale of each sprite: its width by distance and turn, its length by what is seen of it."""
    local = camera.focal / np.maximum(middle[..., 2], 0.3)
    size = local / _of(sprites, lambda s: s.scale)
    flat = _of(sprites, lambda s: s.part.depth if s.part.front else 1.0)
    facing = np.clip(np.abs(looks[..., 2]), 0, 1)
    width = np.sqrt(facing**2 + (1 - facing**2) * flat**2)
    caps = _of(sprites, lambda s: sum(s.part.radii)) * local
    drawn = _of(sprites, lambda s: s.cover.shape[0] - 4.0)
    length = (np.linalg.norm(last - first, axis=-1) + caps) / drawn
    return np.stack([size * width, length], axis=-1)


def paint(
    canvas: Picture, sprites: list[Sprite], placed: Placed, instant: int, place: Place
) -> None:
    """Lay all figures over a picture, the furthest part first; changes ``canvas``."""
    for index in np.argsort(-placed.depth[instant]):
        sprite = sprites[index]
        height, width = sprite.cover.shape
        across_zoom, along_zoom = placed.zoom[instant, index]
        ax, ay = placed.along[instant, index] * along_zoom
        sx, sy = np.array([-1, 1]) * placed.along[instant, index][::-1] * across_zoom
        x, y = placed.centre[instant, index]
        half_x = (abs(sx) * width + abs(ax) * height) / 2 + 1
        half_y = (abs(sy) * width + abs(ay) * height) / 2 + 1
        left, top = max(int(x - half_x), 0), max(int(y - half_y), 0)
        right = min(int(x + half_x) + 2, canvas.shape[1])
        bottom = min(int(y + half_y) + 2, canvas.shape[0])
        if right - left < 2 or bottom - top < 2:
            continue
        matrix = np.array(
            [
                [sx, ax, x - left - sx * (width - 1) / 2 - ax * (height - 1) / 2 - 0.5],
                [sy, ay, y - top - sy * (width - 1) / 2 - ay * (height - 1) / 2 - 0.5],
            ]
        )
        lit = _lit(sprite, placed, instant, index, place)
        over = cv2.warpAffine(lit, matrix, (right - left, bottom - top), flags=cv2.INTER_LINEAR)
        under = canvas[top:bottom, left:right]
        under *= 1 - over[..., 3:]
        under += over[..., :3]


def _lit(sprite: Sprite, placed: Placed, instant: int, index: int, place: Place) -> Picture:
    """The sprite under the light of this instant, times its cover, with the cover as fourth."""
    lamp, moon = placed.lamp[instant, index], placed.moon[instant, index]
    colour = sprite.colour
    if sprite.part.front:
        colour = _turned(sprite, placed.front[instant, index])
    normal = sprite.normal
    from_lamp = np.maximum(_dot(normal, lamp) + 0.15 * np.linalg.norm(lamp), 0)
    from_moon = np.maximum(_dot(normal, moon), 0)
    cover = sprite.cover
    picture = np.empty((*cover.shape, 4), np.float32)
    for channel in range(3):
        light = from_lamp * np.float32(place.lamp.colour[channel])
        light += from_moon * np.float32(place.moonlight[channel])
        light += np.float32(place.ambient[channel])
        picture[..., channel] = colour[..., channel] * light * cover
    picture[..., 3] = cover
    return picture


def _dot(normal: Picture, light: Floats) -> Picture:
    across, along, toward = (np.float32(part) for part in light)
    return np.asarray(normal[0] * across + normal[1] * along + normal[2] * toward)


def _turned(sprite: Sprite, front: float) -> Picture:
    """The sprite's colour when its front looks away from the camera by an angle."""
    texels = sprite.part.texture.shape[0]
    around = (sprite.around - np.float32(front / (2 * np.pi) * texels)) % texels
    return np.asarray(
        cv2.remap(
            sprite.part.texture, around, sprite.along, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP
        )
    )
