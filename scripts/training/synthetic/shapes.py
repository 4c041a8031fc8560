"""Shapes of things: bars, balls, boxes, blades, hands, heads, cars. Sizes in picture widths."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np

from .paint import Look, Sprite, cut_out, faded, softened, some_look, surface

Rng = np.random.Generator


def capsule(
    rng: Rng, look: Look, scale: float, length: float, first: float, last: float, shade: float = 0.5
) -> Sprite:
    """A rounded bar along x, held at the centre of its first end; ``first``, ``last`` are radii."""
    big = max(first, last)

    def draw(mask: Any, s: float) -> None:
        a, b = np.array([first, big]) * s, np.array([first + length, big]) * s
        cv2.circle(mask, _whole(a), max(int(first * s), 1), 255, -1)
        cv2.circle(mask, _whole(b), max(int(last * s), 1), 255, -1)
        up = np.array([0, 1])
        corners = [a - up * first * s, b - up * last * s, b + up * last * s, a + up * first * s]
        cv2.fillPoly(mask, [np.array(corners).round().astype(np.int32)], 255)

    return cut_out(rng, look, (length + first + last, 2 * big), scale, draw, (first, big), shade)


def slab(
    rng: Rng,
    look: Look,
    scale: float,
    width: float,
    height: float,
    handle: tuple[float, float] = (0.5, 0.5),
    shade: float = 0.15,
) -> Sprite:
    """A box seen flat; the handle is in shares of its size."""

    def draw(mask: Any, s: float) -> None:
        mask[:] = 255

    at = (handle[0] * width, handle[1] * height)
    return cut_out(rng, look, (width, height), scale, draw, at, shade)


def polygon(
    rng: Rng,
    look: Look,
    scale: float,
    points: list[tuple[float, float]],
    handle: tuple[float, float],
) -> Sprite:
    """A flat shape with corners in picture widths, all positive."""
    corners = np.array(points)

    def draw(mask: Any, s: float) -> None:
        cv2.fillPoly(mask, [(corners * s).round().astype(np.int32)], 255)

    right, bottom = corners.max(axis=0)
    return cut_out(rng, look, (float(right), float(bottom)), scale, draw, handle, 0.25)


def ellipse(
    rng: Rng, look: Look, scale: float, across: float, down: float, shade: float = 0.5
) -> Sprite:
    """An ellipse of two radii, held at its centre."""

    def draw(mask: Any, s: float) -> None:
        axes = (max(int(across * s), 1), max(int(down * s), 1))
        cv2.ellipse(mask, _whole(np.array([across, down]) * s), axes, 0, 0, 360, 255, -1)

    return cut_out(rng, look, (2 * across, 2 * down), scale, draw, (across, down), shade)


def ball(rng: Rng, scale: float, radius: float) -> Sprite:
    """A ball, plain, patched or striped."""
    look = some_look(rng)
    if rng.random() < 0.75:  # light or dark, for it is small and must be seen
        tone = rng.uniform(170, 250) if rng.random() < 0.7 else rng.uniform(5, 40)
        factor = tone / max(look.colour)
        blue, green, red = (channel * factor for channel in look.colour)
        look = Look((blue, green, red), look.surface, look.contrast)
    sprite = ellipse(rng, look, scale, radius, radius, 0.4)
    if rng.random() < 0.65:
        image = sprite.image.astype(np.float32)
        n = image.shape[0]
        mark = np.zeros(image.shape[:2], np.uint8)
        for angle in np.arange(0, 2 * np.pi, 2 * np.pi / rng.integers(2, 6)):
            far = rng.uniform(0.2, 0.6) * n / 2
            spot = _whole(np.array([n / 2 + far * np.cos(angle), n / 2 + far * np.sin(angle)]))
            cv2.circle(mark, spot, max(int(n * rng.uniform(0.06, 0.16)), 1), 255, -1, cv2.LINE_AA)
        dim = 1 - mark.astype(np.float32)[..., None] / 255 * rng.uniform(0.3, 0.9)
        image[..., :3] *= dim
        sprite = Sprite(image.astype(np.uint8), sprite.scale, sprite.handle)
    return sprite


def blade(rng: Rng, scale: float, length: float, depth: float) -> Sprite:
    """A knife or cleaver with its handle, edge down, held at the middle of the handle."""
    look = Look((190, 190, 185), "brick", 0.06) if rng.random() < 0.6 else some_look(rng)
    grip = 0.45 * length
    tip = depth * rng.uniform(0.1, 0.7)
    points = [
        (0.0, 0.0), (grip + length * 0.9, 0.0), (grip + length, tip),
        (grip + length * 0.95, depth), (grip, depth), (grip, depth * 0.35), (0.0, depth * 0.35),
    ]  # fmt: skip
    return polygon(rng, look, scale, points, (grip * 0.5, depth * 0.17))


def hand(rng: Rng, look: Look, scale: float, size: float, shape: str) -> Sprite:
    """A hand along x, held at the wrist; ``shape`` is fist, flat, spread, point or grip."""
    spread = {"spread": 0.42, "flat": 0.12}.get(shape, 0.1)
    reach = {"fist": 0.0, "grip": 0.06}.get(shape, 0.55)

    def draw(mask: Any, s: float) -> None:
        palm = np.array([0.3, 0.5]) * size * s
        axes = (int(0.3 * size * s), int(0.24 * size * s))
        cv2.ellipse(mask, _whole(palm), axes, 0, 0, 360, 255, -1)
        for finger in range(4):
            angle = (finger - 1.5) * spread
            far = reach if shape != "point" or finger == 1 else 0.1
            root = palm + np.array([0.18, (finger - 1.5) * 0.12]) * size * s
            tip = root + np.array([np.cos(angle), np.sin(angle)]) * far * size * s
            cv2.line(mask, _whole(root), _whole(tip), 255, max(int(0.11 * size * s), 1))
        thumb = palm + np.array([0.22, -0.34 if shape != "fist" else -0.2]) * size * s
        cv2.line(mask, _whole(palm), _whole(thumb), 255, max(int(0.12 * size * s), 1))

    return cut_out(rng, look, (1.15 * size, size), scale, draw, (0.05 * size, 0.5 * size), 0.45)


def face(rng: Rng, look: Look, scale: float, radius: float) -> Sprite:
    """A head from the front, held at the neck, without mouth and eyes that move."""
    sprite = ellipse(rng, look, scale, radius * 0.78, radius, 0.35)
    image = sprite.image.copy()
    height, width = image.shape[:2]
    hair = np.array(some_look(rng).colour) * 0.4
    for row in range(int(height * rng.uniform(0.2, 0.34))):
        image[row, :, :3] = (image[row, :, 3:] / 255.0 * hair).astype(np.uint8)
    nose = _whole(np.array([width / 2, height * 0.56]))
    dark = tuple(float(c) * 0.65 for c in look.colour)
    cv2.ellipse(
        image, nose, (max(width // 18, 1), max(height // 14, 1)), 0, 0, 360, (*dark, 255.0), -1
    )
    for side in (-1, 1):
        brow = np.array([width / 2 + side * width * 0.19, height * 0.39])
        start, stop = _whole(brow - [width * 0.08, 0]), _whole(brow - [-width * 0.08, 0])
        cv2.line(image, start, stop, (*(hair * 0.8), 255.0), max(height // 40, 1), cv2.LINE_AA)
    return Sprite(image, scale, (width / 2, height * 0.97))


def car(rng: Rng, scale: float, length: float) -> Sprite:
    """The side of a car or van without wheels, nose to the right, held at the road's level."""
    tall = length * rng.uniform(0.3, 0.5)
    low, front, back = tall * 0.5, rng.uniform(0.55, 0.75), rng.uniform(0.03, 0.3)
    points = [
        (0.0, low), (back * length, 0.0), (front * length, 0.0), ((front + 0.13) * length, low),
        (length, low * 1.15), (length, tall * 0.9), (0.0, tall * 0.9),
    ]  # fmt: skip
    sprite = polygon(rng, some_look(rng, 0.8), scale, points, (length / 2, tall))
    image = sprite.image.copy()
    glass = rng.uniform(30, 90)
    left, right = (back + 0.07) * length * scale, (front + 0.02) * length * scale
    for start, stop in ((left, (left + right) / 2 - 2), ((left + right) / 2 + 2, right)):
        box = (
            slice(int(low * scale * 0.25), int(low * scale * 0.95)),
            slice(int(start), int(stop)),
        )
        image[box][..., :3] = glass
    return Sprite(image, scale, sprite.handle)


def shadow(rng: Rng, scale: float, across: float, down: float) -> Sprite:
    """A soft dark patch, held at its centre."""
    dark = Look((8, 8, 8), "gravel", 0.02)
    soft = softened(ellipse(rng, dark, scale, across, down, 0.0), max(down * scale * 0.35, 1.0))
    return faded(soft, float(rng.uniform(0.3, 0.6)))


def lettering(rng: Rng, scale: float, width: float) -> Sprite:
    """A card or a line of words, held at its centre."""
    height = width * rng.uniform(0.08, 0.5)
    card = slab(rng, some_look(rng, 0.9), scale, width, height, (0.5, 0.5), 0.02)
    image = card.image.copy()
    ink = (250.0,) * 3 if image[..., :3].mean() < 120 else (15.0,) * 3
    size = rng.uniform(0.35, 0.9) * scale / 400
    line = int(26 * size) + 6
    for y in range(line, image.shape[0] - 4, line):
        words = " ".join(
            "".join(rng.choice(list("abcdefghiklmnoprstuvwz"), int(rng.integers(2, 9))))
            for _ in range(6)
        )
        cv2.putText(
            image, words, (6, y), cv2.FONT_HERSHEY_SIMPLEX, size, (*ink, 255.0), 1, cv2.LINE_AA
        )
    return Sprite(image, scale, card.handle)


def backdrop(rng: Rng, width: int, height: int) -> Any:
    """A place to film in: wall and floor, things standing about, uneven light; 8-bit picture."""
    plate = surface(rng, some_look(rng, 0.35), height, width)
    horizon = int(height * rng.uniform(0.35, 0.8))
    if rng.random() < 0.75:
        floor = surface(rng, some_look(rng, 0.4), height - horizon, width)
        plate[horizon:] = floor
    for _ in range(int(rng.integers(0, 9))):
        _furnish(rng, plate, horizon)
    sigma = float(rng.choice([0.5, 0.7, 1.0, 1.6, 3.5]))
    plate = np.asarray(cv2.GaussianBlur(plate, (0, 0), sigma), np.float32)
    x, y = np.linspace(-1, 1, width)[None], np.linspace(-1, 1, height)[:, None]
    light = 1 + rng.uniform(-0.3, 0.3) * x + rng.uniform(-0.3, 0.3) * y
    light = light * (1 - rng.uniform(0, 0.25) * (x**2 + y**2) / 2)
    level = rng.uniform(0.6, 1.15)
    return np.clip(plate * (level * light)[..., None], 0, 255).astype(np.uint8)


def _furnish(rng: Rng, plate: Any, horizon: int) -> None:
    height, width = plate.shape[:2]
    w, h = int(width * rng.uniform(0.03, 0.25)), int(height * rng.uniform(0.05, 0.45))
    left = int(rng.integers(-w // 2, width - w // 2))
    top = int(
        np.clip(horizon + rng.normal(0, 0.12) * height - h * rng.choice([0.5, 1.0]), 0, height - 3)
    )
    left, right, bottom = max(left, 0), min(left + w, width), min(top + h, height)
    thing = surface(rng, some_look(rng), bottom - top, right - left)
    if rng.random() < 0.4:
        mask = np.zeros(thing.shape[:2], np.uint8)
        middle = ((right - left) // 2, (bottom - top) // 2)
        cv2.ellipse(mask, middle, middle, 0, 0, 360, 1, -1)
        keep = mask[..., None] > 0
        plate[top:bottom, left:right] = np.where(keep, thing, plate[top:bottom, left:right])
    else:
        plate[top:bottom, left:right] = thing


def _whole(point: Any) -> tuple[int, int]:
    return round(float(point[0])), round(float(point[1]))
