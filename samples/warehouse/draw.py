"""Figures onto the picture: light every part once a frame, lay it over once an instant."""

from __future__ import annotations

import cv2
import numpy as np

from .onscreen import Light, Placed
from .scene import Place
from .textures import Picture
from .vectors import Floats
from .wardrobe import Sprite


def light_sprites(sprites: tuple[Sprite, ...], light: Light, place: Place) -> list[Picture]:
    """Every sprite under this light, float32, shape (h, w, 4): linear colour, then its cover."""
    return [_lit(sprite, light, index, place) for index, sprite in enumerate(sprites)]


def _lit(sprite: Sprite, light: Light, index: int, place: Place) -> Picture:
    colour = sprite.colour
    if sprite.part.front:
        colour = _turned(sprite, float(light.front[index]))
    lamp, moon = light.lamp[index], light.moon[index]
    wrapped = 0.15 * float(np.linalg.norm(lamp))
    from_lamp = np.maximum(_dot(sprite.normal, lamp) + np.float32(wrapped), 0)
    from_moon = np.maximum(_dot(sprite.normal, moon), 0)
    shares = [
        from_lamp * np.float32(place.lamp.colour[channel])
        + from_moon * np.float32(place.moonlight[channel])
        + np.float32(place.ambient[channel])
        for channel in range(3)
    ]
    planes = [share * colour[..., channel] for channel, share in enumerate(shares)]
    return np.asarray(cv2.merge([*planes, sprite.cover]), np.float32)


def _dot(normal: Picture, light: Floats) -> Picture:
    across, along, toward = (np.float32(part) for part in light)
    return np.asarray(normal[0] * across + normal[1] * along + normal[2] * toward)


def _turned(sprite: Sprite, front: float) -> Picture:
    """The sprite's colour when its front looks away from the camera by an angle."""
    texture = sprite.part.texture
    texels = texture.shape[0]
    around = (sprite.around - np.float32(front / (2 * np.pi) * texels)) % texels
    turned = cv2.remap(texture, around, sprite.along, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)
    return np.asarray(turned, np.float32)


def paint(canvas: Picture, lit: list[Picture], placed: Placed, instant: int) -> None:
    """Lay all parts over a picture, the furthest first; changes ``canvas``."""
    limits = np.array([*canvas.shape[1::-1]] * 2)
    boxes = np.clip(placed.box[instant], 0, limits)
    shown = (boxes[:, 2] - boxes[:, 0] > 1) & (boxes[:, 3] - boxes[:, 1] > 1)
    matrices = placed.matrix[instant].copy()
    matrices[:, :, 2] -= boxes[:, :2]
    for index in np.argsort(-placed.depth[instant], kind="stable"):
        if shown[index]:
            left, top, right, bottom = boxes[index].tolist()
            under = canvas[top:bottom, left:right]
            _lay_over(under, lit[index], matrices[index])


def _lay_over(under: Picture, lit: Picture, matrix: Floats) -> None:
    over = cv2.warpAffine(lit, matrix, under.shape[1::-1], flags=cv2.INTER_LINEAR)
    cover = cv2.extractChannel(over, 3)
    colour = cv2.cvtColor(over, cv2.COLOR_BGRA2BGR)
    under[...] = cv2.blendLinear(colour, under, cover, 1 - cover)
