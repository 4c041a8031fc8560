"""What changes on the background from frame to frame: shadows on the ground, and the lamp."""

from __future__ import annotations

import cv2
import numpy as np

from .camera import Camera
from .figure import Joint
from .scene import Lamp
from .textures import Picture
from .vectors import Floats

DARKEST = 0.62
"""Share of the ground's light that a full shadow takes."""
SMALL = 4
"""Shadows are soft: they are drawn this many times smaller."""
BONES = (
    (Joint.PELVIS, Joint.NECK, 0.30),
    (Joint.CHIN, Joint.CROWN, 0.18),
    (Joint.SHOULDER_L, Joint.ELBOW_L, 0.12),
    (Joint.ELBOW_L, Joint.HAND_L, 0.10),
    (Joint.SHOULDER_R, Joint.ELBOW_R, 0.12),
    (Joint.ELBOW_R, Joint.HAND_R, 0.10),
    (Joint.HIP_L, Joint.KNEE_L, 0.18),
    (Joint.KNEE_L, Joint.TOE_L, 0.14),
    (Joint.HIP_R, Joint.KNEE_R, 0.18),
    (Joint.KNEE_R, Joint.TOE_R, 0.14),
)
"""Joints at both ends of what casts a shadow, and its width, metres."""


def shadowed(
    plate: Picture, ground: Picture, camera: Camera, cast: list[Floats], lamp: Floats
) -> Picture:
    """The background with the shadows that the lamp throws of all figures, joints (20, 3) each."""
    height, width = plate.shape[:2]
    mask = np.zeros((height // SMALL, width // SMALL), np.uint8)
    for joints in cast:
        spots = camera.at_rest(_thrown(joints, lamp))
        points = spots[:, :2] / np.maximum(spots[:, 2:], 0.3) * camera.focal
        points = (points + np.array([width, height]) / 2) / SMALL
        across = camera.focal / np.maximum(spots[:, 2], 0.3) / SMALL
        for start, end, wide in BONES:
            line = (np.clip(points[[start, end]], -2000, 2000) * 8).astype(int).tolist()
            thick = max(int(wide * across[start]), 1)
            cv2.line(mask, line[0], line[1], 255, thick, cv2.LINE_AA, 3)
    soft = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), width / 640 * 6 / SMALL)
    full = cv2.resize(soft, (width, height), interpolation=cv2.INTER_LINEAR)
    kept = 1 - cv2.multiply(full, ground, scale=DARKEST / 255)
    return np.asarray(plate * kept[..., None], np.float32)


def _thrown(joints: Floats, lamp: Floats) -> Floats:
    """Where the lamp throws each joint on the ground; far shadows end after 4 m."""
    drop = np.maximum(lamp[1] - joints[:, 1:2], 0.3)
    way = (joints - lamp) * (lamp[1] / drop) + lamp - joints
    length = np.linalg.norm(way, axis=1, keepdims=True)
    spots = joints + way * np.minimum(1, 4 / np.maximum(length, 1e-6))
    return np.asarray(spots * (1, 0, 1))


def hang_lamp(plate: Picture, camera: Camera, lamp: Lamp, at: Floats) -> Picture:
    """The background with the lamp, its cord and its glow; changes and returns ``plate``."""
    height, width = plate.shape[:2]
    seen = camera.at_rest(np.stack([lamp.pivot, at]))
    if seen[:, 2].min() < 0.5:
        return plate
    cord, bulb = seen[:, :2] / seen[:, 2:] * camera.focal + np.array([width, height]) / 2
    size = camera.focal / seen[1, 2]
    if not (-size < bulb[0] < width + size and -size < bulb[1] < height + size):
        return plate
    _draw_shade(plate, cord, bulb, size)
    _add_glow(plate, bulb, size, lamp.colour)
    return plate


def _draw_shade(plate: Picture, cord: Floats, bulb: Floats, size: float) -> None:
    dark = (0.012, 0.013, 0.015)
    ends = [tuple((point * 8).astype(int).tolist()) for point in (cord, bulb)]
    cv2.line(plate, ends[0], ends[1], dark, max(int(size * 0.02), 1), cv2.LINE_AA, 3)
    rim, top = size * 0.17, size * 0.15
    corners = bulb + np.array([[-rim, 0], [rim, 0], [rim * 0.3, -top], [-rim * 0.3, -top]])
    cv2.fillConvexPoly(plate, (corners * 8).astype(np.int32), dark, cv2.LINE_AA, 3)


def _add_glow(
    plate: Picture, bulb: Floats, size: float, colour: tuple[float, float, float]
) -> None:
    reach = int(size * 0.6)
    x, y = int(bulb[0]), int(bulb[1])
    left, right = max(x - reach, 0), min(x + reach, plate.shape[1])
    top, bottom = max(y - reach, 0), min(y + reach, plate.shape[0])
    if left >= right or top >= bottom:
        return
    rows, columns = np.mgrid[top:bottom, left:right]
    out = np.hypot(columns - bulb[0], rows - bulb[1] - size * 0.02) / size
    glow = 3.5 * np.exp(-((out / 0.055) ** 2)) + 0.22 * np.exp(-((out / 0.22) ** 2))
    plate[top:bottom, left:right] += (glow[..., None] * np.array(colour)).astype(np.float32)
