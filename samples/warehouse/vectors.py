"""Vectors in the world and in a figure's own axes (forward, left, up), many at a time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
UP = np.array([0.0, 1.0, 0.0])


def unit(vectors: Floats) -> Floats:
    """Vectors scaled to length 1 along the last axis."""
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-9))


def forward_of(yaw: Floats) -> Floats:
    """Unit vectors, shape (..., 3), that a heading points to; 0 faces +x, 90 degrees +z."""
    return np.stack([np.cos(yaw), np.zeros_like(yaw), np.sin(yaw)], axis=-1)


def left_of(yaw: Floats) -> Floats:
    """Unit vectors to the left of a heading."""
    return np.stack([-np.sin(yaw), np.zeros_like(yaw), np.cos(yaw)], axis=-1)


def to_world(local: Floats, root: Floats, yaw: Floats) -> Floats:
    """Points from a figure's own axes, shape (T, 3), to the world; ``root`` has shape (T, 3)."""
    along, aside = local[:, :1] * forward_of(yaw), local[:, 1:2] * left_of(yaw)
    return np.asarray(root + along + aside + local[:, 2:] * UP)


def to_local(points: Floats, root: Floats, yaw: Floats) -> Floats:
    """The inverse of `to_world`."""
    away = points - root
    along, aside = (np.sum(away * axis(yaw), axis=1) for axis in (forward_of, left_of))
    return np.stack([along, aside, away[:, 1]], axis=1)


def turned(vectors: Floats, axis: Floats, angle: Floats) -> Floats:
    """Vectors turned about unit axes (Rodrigues' formula), all of shape (T, 3), angle (T,)."""
    cos, sin = np.cos(angle)[:, None], np.sin(angle)[:, None]
    along = np.sum(vectors * axis, axis=1, keepdims=True)
    across = np.cross(axis, vectors)
    return np.asarray(vectors * cos + across * sin + axis * along * (1 - cos))
