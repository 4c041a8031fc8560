"""The camera: where it stands, how it turns over time, and how points fall on the picture.

It turns about its lens and never travels, so the whole background moves by one homography.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .spec import CameraSpec
from .vectors import UP, Floats, unit


@dataclass(frozen=True)
class Camera:
    """A pinhole camera.

    Parameters
    ----------
    position : shape (3,)
        Of the lens in the world, metres.
    axes : shape (3, 3)
        Rows: right, down, forward of the camera at rest, in the world.
    focal : float
        Focal length, pixels.
    width, height : int
        Pixels.
    motion : CameraSpec
        How it turns.
    duration : float
        Seconds; a pan is centred on the middle.
    phases : shape (3, 4)
        Of the waves that make up a hand's unrest.
    """

    position: Floats
    axes: Floats
    focal: float
    width: int
    height: int
    motion: CameraSpec
    duration: float
    phases: Floats

    def angles(self, times: Floats) -> Floats:
        """Turn to the right, turn down and roll at each instant, shape (T, 3), radians."""
        spec = self.motion
        if spec.motion == "locked":
            return np.zeros((len(times), 3))
        rates = np.array([0.43, 0.97, 1.9, 4.3])
        sizes = np.array([1.0, 0.6, 0.3, 0.08]) * spec.shake / 2
        if spec.motion == "panning":
            sizes = sizes * (0.15, 0.1, 0.05, 0.02)
        waves = np.sin(2 * np.pi * rates * times[:, None, None] + self.phases) @ sizes
        turn = waves * np.array([1.0, 0.8, 0.5])
        if spec.motion == "panning":
            turn[:, 0] += spec.pan * (times - self.duration / 2)
        return np.asarray(np.radians(turn))

    def rotations(self, times: Floats) -> Floats:
        """Matrices (T, 3, 3) from the camera's axes at rest to its axes at each instant."""
        right, down, roll = self.angles(times).T
        return _about(1, -right) @ _about(0, down) @ _about(2, roll)

    def at_rest(self, points: Floats) -> Floats:
        """World points, shape (..., 3), in the camera's axes at rest."""
        return np.asarray((points - self.position) @ self.axes.T)

    def on_screen(self, seen: Floats) -> Floats:
        """Pixels (..., 2) of points (..., 3) in the camera's present axes."""
        depth = np.maximum(seen[..., 2:], 0.1)
        centre = np.array([self.width, self.height]) / 2
        return np.asarray(seen[..., :2] / depth * self.focal + centre)

    def place(self, spot: Floats, seconds: float) -> tuple[float, float]:
        """Where a world point (3,) is seen at an instant: shares of the picture's sides."""
        seen = self.at_rest(spot) @ self.rotations(np.array([seconds]))[0].T
        x, y = self.on_screen(seen) / (self.width, self.height)
        return float(x), float(y)

    def homography(self, rotation: Floats, plate_size: tuple[int, int]) -> Floats:
        """Matrix (3, 3) from the picture's pixels to those of a plate seen at rest."""
        plate_width, plate_height = plate_size
        back = _intrinsics(self.focal, plate_width, plate_height) @ rotation.T
        return np.asarray(back @ np.linalg.inv(_intrinsics(self.focal, self.width, self.height)))

    def plate_size(self) -> tuple[int, int]:
        """Width and height of a plate that covers every picture of the clip."""
        angles = np.abs(self.angles(np.linspace(-0.1, self.duration + 0.1, 200))).max(axis=0)
        wide = 2 * self.focal * np.tan(np.arctan(self.width / 2 / self.focal) + angles[0])
        high = 2 * self.focal * np.tan(np.arctan(self.height / 2 / self.focal) + angles[1])
        roll = np.sin(angles[2])
        return int(wide + roll * self.height) + 8, int(high * 1.03 + roll * self.width) + 8


def set_up(spec: CameraSpec, width: int, height: int, duration: float, seed: int) -> Camera:
    """The camera of a spec, aimed at the middle of the fight."""
    azimuth = np.radians(spec.azimuth)
    place = np.array([np.sin(azimuth), 0, -np.cos(azimuth)]) * spec.distance
    position = place + UP * spec.height
    forward = unit(UP * spec.aim_height - position)
    right = unit(np.cross(UP, forward))
    focal = width / 2 / np.tan(np.radians(spec.field) / 2)
    phases = np.random.default_rng(seed).uniform(0, 2 * np.pi, (3, 4))
    axes = np.stack([right, -np.cross(forward, right), forward])
    return Camera(position, axes, float(focal), width, height, spec, duration, phases)


def _intrinsics(focal: float, width: int, height: int) -> Floats:
    return np.array([[focal, 0, width / 2], [0, focal, height / 2], [0, 0, 1.0]])


def _about(axis: int, angle: Floats) -> Floats:
    """Rotations of coordinates about one of the camera's axes, shape (T, 3, 3)."""
    matrices = np.zeros((len(angle), 3, 3))
    first, second = ((1, 2), (2, 0), (0, 1))[axis]
    matrices[:, axis, axis] = 1
    matrices[:, first, first] = matrices[:, second, second] = np.cos(angle)
    matrices[:, first, second] = -np.sin(angle)
    matrices[:, second, first] = np.sin(angle)
    return matrices
