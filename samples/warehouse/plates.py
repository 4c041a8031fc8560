"""The background, painted once per clip.

The camera turns but never travels, so the background is one large plate; where the lamp swings it
is painted for both ends of the swing and mixed.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from . import textures
from .camera import Camera
from .scene import Place, Plates, Surface, shade
from .textures import SIZE, Picture
from .vectors import Floats, unit

LIGHTS = np.array([(1.0, 0.6, 0.25), (0.8, 0.9, 1.0), (1.0, 0.35, 0.2)], np.float32)
"""Colours of the lights on the other shore."""


@dataclass
class _Seen:
    """Per plate pixel: what is seen there."""

    albedo: Picture
    point: Picture
    normal: Picture
    wet: Picture
    puddle: Picture
    depth: Picture


def paint_plates(place: Place, camera: Camera, seed: int) -> Plates:
    """Paint the background for a camera."""
    seen = _look(place, camera, seed)
    rays = _rays(camera)
    ends = [-1.0] if place.lamp.swing == 0 else [-1.0, 1.0]
    plates = [_lit(place, seen, rays, place.lamp.positions(np.array(end))) for end in ends]
    nothing = ~np.isfinite(seen.depth)
    sky = _sky(place, rays[nothing], seed)
    for plate in plates:
        plate[nothing] = sky
    soft = [_defocused(plate, seen.depth, camera) for plate in plates]
    level = (seen.point[..., 1] < 0.01) & (seen.normal[..., 1] > 0.9)
    ground = cv2.GaussianBlur(level.astype(np.float32), (0, 0), 1.0)
    return Plates(soft[0], soft[-1], np.asarray(ground, np.float32))


def _rays(camera: Camera) -> Picture:
    """Direction of each plate pixel in the world, shape (h, w, 3), 1 deep along the axis."""
    width, height = camera.plate_size()
    x = (np.arange(width) + 0.5 - width / 2) / camera.focal
    y = (np.arange(height) + 0.5 - height / 2) / camera.focal
    grid = np.stack([*np.meshgrid(x, y), np.ones((height, width))], axis=-1)
    return np.asarray(grid @ camera.axes, np.float32)


def _look(place: Place, camera: Camera, seed: int) -> _Seen:
    rays = _rays(camera)
    shape = rays.shape[:2]
    seen = _Seen(
        albedo=np.zeros((*shape, 3), np.float32),
        point=np.zeros((*shape, 3), np.float32),
        normal=np.zeros((*shape, 3), np.float32),
        wet=np.zeros(shape, np.float32),
        puddle=np.zeros(shape, np.float32),
        depth=np.full(shape, np.inf, np.float32),
    )
    made = {name: _pyramid(name, seed) for name in {s.texture for s in place.surfaces}}
    for surface in place.surfaces:
        _add_surface(seen, surface, rays, camera, made[surface.texture])
    pools = np.clip(textures.cloud(np.random.default_rng([seed, 3])) - 0.3, 0, 1)
    x, z = ((seen.point[..., axis] * (SIZE / 7)).astype(int) % SIZE for axis in (0, 2))
    seen.puddle[:] = pools[z, x]
    return seen


def _pyramid(name: str, seed: int) -> list[Picture]:
    rng = np.random.default_rng([seed, len(name), ord(name[0])])
    levels = [getattr(textures, name)(rng)]
    while levels[-1].shape[0] > 16:
        levels.append(cv2.resize(levels[-1], None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA))
    return levels


def _add_surface(
    seen: _Seen, surface: Surface, rays: Picture, camera: Camera, pyramid: list[Picture]
) -> None:
    """Enter a surface where it is nearer than what is there."""
    across, up = unit(surface.across), unit(surface.up)
    normal = np.cross(across, up)
    toward = (surface.corner - camera.position) @ normal
    facing = rays @ normal.astype(np.float32)
    with np.errstate(divide="ignore", invalid="ignore"):
        depth = np.float32(toward) / facing
    here = np.isfinite(depth) & (depth > 0.3) & (depth < seen.depth)
    point = camera.position.astype(np.float32) + rays[here] * depth[here, None]
    away = point - surface.corner.astype(np.float32)
    u, v = away @ across.astype(np.float32), away @ up.astype(np.float32)
    size = np.linalg.norm(surface.across), np.linalg.norm(surface.up)
    inside = (u >= 0) & (u <= size[0]) & (v >= 0) & (v <= size[1])
    here[here] = inside
    if not here.any():
        return
    u, v, point = u[inside], v[inside], point[inside]
    tile = (surface.tile, surface.tile) if surface.tile else size
    footprint = depth[here] / camera.focal / np.maximum(np.abs(facing[here]), 0.05) ** 0.5
    seen.albedo[here] = _sampled(pyramid, u / tile[0], -v / tile[1], footprint / tile[0])
    seen.point[here] = point
    seen.normal[here] = normal * (-np.sign(facing[here, None]))
    seen.depth[here] = depth[here]
    seen.wet[here] = surface.wet


def _sampled(pyramid: list[Picture], u: Picture, v: Picture, footprint: Picture) -> Picture:
    """Texture at (u, v), in tiles, from the level whose pixels are as large as the picture's."""
    level = np.clip(np.log2(np.maximum(footprint * SIZE, 1)) + 0.3, 0, len(pyramid) - 1).astype(int)
    colour = np.empty((len(u), 3), np.float32)
    for index in np.unique(level):
        chosen = level == index
        size = pyramid[index].shape[0]
        x, y = ((c[chosen] % 1 * size).astype(int) % size for c in (u, v))
        colour[chosen] = pyramid[index][y, x]
    return colour


def _lit(place: Place, seen: _Seen, rays: Picture, lamp: Floats) -> Picture:
    """The plate with the lamp at a place."""
    to_lamp = lamp.astype(np.float32) - seen.point
    far = np.maximum(np.linalg.norm(to_lamp, axis=2, keepdims=True), 0.3)
    to_lamp /= far
    facing = np.clip(np.sum(to_lamp * seen.normal, axis=2, keepdims=True), 0, 1)
    strength = place.lamp.power / far**2 * shade(to_lamp[..., 1:2])
    moon = np.clip(seen.normal @ place.moon.astype(np.float32), 0, 1)[..., None]
    light = (
        np.array(place.ambient, np.float32)
        + moon * np.array(place.moonlight, np.float32)
        + facing * strength * np.array(place.lamp.colour, np.float32)
    )
    dulled = 1 - 0.55 * (seen.wet * seen.puddle)[..., None]
    glints = _glints(place, seen, rays, to_lamp, strength)
    return np.asarray(seen.albedo * light * dulled + glints)


def _glints(
    place: Place, seen: _Seen, rays: Picture, to_lamp: Picture, strength: Picture
) -> Picture:
    """What wet ground mirrors of the lamp: broken up by the stones, smooth in the puddles."""
    view = rays / np.linalg.norm(rays, axis=2, keepdims=True)
    rough = seen.albedo.mean(axis=2, keepdims=True) - 0.2
    tilt = np.concatenate([rough, rough * 0, -rough], axis=2) * 0.5
    normal = seen.normal + tilt * (1 - 0.8 * seen.puddle[..., None])
    mirrored = view - 2 * np.sum(view * normal, axis=2, keepdims=True) * normal
    along = np.clip(np.sum(mirrored * to_lamp, axis=2, keepdims=True), 0, 1)
    shine = seen.wet[..., None] * (0.25 + 0.75 * seen.puddle[..., None])
    glint = along**14 * shine * np.minimum(strength, 1.5)
    return np.asarray(0.55 * glint * np.array(place.lamp.colour, np.float32))


def _sky(place: Place, rays: Picture, seed: int) -> Picture:
    """Night in these directions (n, 3), with far lights along the other shore; shape (n, 3)."""
    rng = np.random.default_rng([seed, 77])
    view = rays / np.linalg.norm(rays, axis=1, keepdims=True)
    picture = np.array(place.sky, np.float32) * (1.4 - np.clip(view[:, 1:2], 0, 1))
    heading = np.arctan2(view[:, 0], view[:, 2])
    for _ in range(90):
        at, rise = rng.uniform(-np.pi, np.pi), rng.uniform(0.004, 0.05)
        size, bright = rng.uniform(0.002, 0.005), rng.uniform(0.1, 0.6)
        colour = LIGHTS[rng.integers(len(LIGHTS))] * bright
        out = np.hypot(heading - at, view[:, 1] - rise) / size
        near = out < 1.6
        picture[near] += np.clip(1.6 - out[near, None], 0, 1) * colour
    return np.asarray(picture, np.float32)


def _defocused(plate: Picture, depth: Picture, camera: Camera) -> Picture:
    """The plate with its far parts a little soft."""
    focus = camera.motion.distance
    spread = camera.width / 640
    far = np.clip((depth - focus) / (1.2 * focus), 0, 1)
    soft = cv2.GaussianBlur(plate, (0, 0), 0.7 * spread)
    softer = cv2.GaussianBlur(plate, (0, 0), 2.0 * spread)
    share = cv2.GaussianBlur(np.where(np.isfinite(far), far, 1).astype(np.float32), (0, 0), 2)
    return np.asarray(soft + (softer - soft) * share[..., None], np.float32)
