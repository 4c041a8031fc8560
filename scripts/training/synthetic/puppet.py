"""Arms and figures of jointed cut-outs.

Lengths of segments as shares of stature: Winter, Biomechanics and Motor Control of Human Movement
(4th ed., 2009), figure 4.1, after Drillis & Contini.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .motion import Floats, two_link
from .paint import Look, skin, some_look
from .shapes import capsule, face, hand
from .stage import Stage

THIGH, SHANK, TRUNK, HEAD, UPPER, FORE, HAND = 0.245, 0.246, 0.288, 0.182, 0.186, 0.146, 0.108


def forearm(
    stage: Stage,
    wrist: Floats,
    turn: Floats | float,
    elbow: Floats,
    size: float,
    shape: str = "fist",
    order: float = 0.0,
    looks: tuple[Look, Look] | None = None,
) -> None:
    """A hand of length ``size`` at a wrist, and the forearm from an elbow, (T, 2) each."""
    rng, t = stage.rng, stage.t
    flesh, sleeve = looks or (skin(rng), skin(rng) if rng.random() < 0.4 else some_look(rng))
    far = np.linalg.norm(np.broadcast_to(elbow, (len(t), 2)) - wrist, axis=1)
    long = float(np.median(far))
    sprite = capsule(rng, sleeve, stage.scale, long, size * 0.34, size * 0.22)
    stage.bar(sprite, long, np.broadcast_to(elbow, (len(t), 2)), wrist, order)
    palm = hand(rng, flesh, stage.scale, size, shape)
    stage.add(palm, wrist, turn, tall=1.0 if rng.random() < 0.5 else -1.0, order=order + 0.1)


@dataclass(frozen=True)
class Pose:
    """Joints of a figure over time, (T, 2) each; ``lean`` and ``nod`` (T,) in radians."""

    pelvis: Floats
    lean: Floats
    nod: Floats
    hands: tuple[Floats, Floats]
    feet: tuple[Floats, Floats]


@dataclass(frozen=True)
class Clothes:
    """Looks of a figure and which way its joints bend (+1 faces right)."""

    trunk: Look
    legs: Look
    flesh: Look
    girth: float
    facing: float


def clothes(rng: np.random.Generator, facing: float = 1.0) -> Clothes:
    """A figure at random."""
    return Clothes(some_look(rng), some_look(rng), skin(rng), float(rng.uniform(0.75, 1.4)), facing)


def shoulder_of(pose: Pose, size: float) -> Floats:
    """Where the arms are hung, (T, 2)."""
    up = np.stack([np.sin(pose.lean), -np.cos(pose.lean)], axis=1)
    return pose.pelvis + up * (TRUNK * size)


def figure(
    stage: Stage, pose: Pose, size: float, wear: Clothes, order: float = 0.0, shape: str = "fist"
) -> tuple[Floats, Floats]:
    """Put in a figure of stature ``size``; returns where its hands really get to."""
    shoulder = shoulder_of(pose, size)
    tips = []
    for side, near in ((1, -1.0), (0, 1.0)):
        leg_order, arm_order = order + 0.3 * near, order + 0.5 * near
        _leg(stage, pose.pelvis, pose.feet[side], size, wear, leg_order)
        tips.append(_arm(stage, shoulder, pose.hands[side], size, wear, arm_order, shape))
    _trunk(stage, pose, shoulder, size, wear, order)
    return tips[1], tips[0]


def _trunk(
    stage: Stage, pose: Pose, shoulder: Floats, size: float, wear: Clothes, order: float
) -> None:
    rng, scale = stage.rng, stage.scale
    thick = 0.085 * size * wear.girth
    trunk = capsule(rng, wear.trunk, scale, TRUNK * size, thick * 0.9, thick, 0.4)
    stage.bar(trunk, TRUNK * size, pose.pelvis, shoulder, order)
    up = np.stack([np.sin(pose.lean), -np.cos(pose.lean)], axis=1)
    head = face(rng, wear.flesh, scale, 0.075 * size)
    stage.add(head, shoulder + up * (0.03 * size), 0.6 * pose.lean + pose.nod, order=order + 0.1)


def _leg(stage: Stage, hip: Floats, foot: Floats, size: float, wear: Clothes, order: float) -> None:
    rng, scale = stage.rng, stage.scale
    knee, ankle = two_link(hip, foot, THIGH * size, SHANK * size, -wear.facing)
    wide = 0.05 * size * wear.girth
    upper = capsule(rng, wear.legs, scale, THIGH * size, wide, wide * 0.75)
    lower = capsule(rng, wear.legs, scale, SHANK * size, wide * 0.75, wide * 0.5)
    stage.bar(upper, THIGH * size, hip, knee, order)
    stage.bar(lower, SHANK * size, knee, ankle, order - 0.01)
    shoe = capsule(rng, some_look(rng), scale, 0.1 * size, wide * 0.55, wide * 0.45)
    tilt = (ankle - knee)[:, 0] / (SHANK * size) * -0.5
    stage.add(shoe, ankle, tilt if wear.facing > 0 else np.pi + tilt, order=order - 0.02)


def _arm(
    stage: Stage,
    shoulder: Floats,
    tip: Floats,
    size: float,
    wear: Clothes,
    order: float,
    shape: str,
) -> Floats:
    rng, scale = stage.rng, stage.scale
    elbow, wrist = two_link(shoulder, tip, UPPER * size, FORE * size, wear.facing)
    wide = 0.034 * size * wear.girth
    upper = capsule(rng, wear.trunk, scale, UPPER * size, wide, wide * 0.85)
    sleeve = wear.trunk if rng.random() < 0.6 else wear.flesh
    lower = capsule(rng, sleeve, scale, FORE * size, wide * 0.85, wide * 0.6)
    stage.bar(upper, UPPER * size, shoulder, elbow, order)
    stage.bar(lower, FORE * size, elbow, wrist, order + 0.01)
    palm = hand(rng, wear.flesh, scale, 0.8 * HAND * size, shape)
    way = wrist - elbow
    stage.add(palm, wrist, np.unwrap(np.arctan2(way[:, 1], way[:, 0])), order=order + 0.02)
    return wrist
