"""The figure: a skeleton of 20 joints, and postures that put it somewhere.

The world is x to the right, y up, z away from a camera at azimuth 0, in metres. A figure's own
axes are forward, left and up. All functions take many instants at once: axis 0 is time.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from .vectors import UP, Floats, forward_of, left_of, to_world, turned, unit


class Joint(IntEnum):
    """Index of each joint on axis 1 of the arrays that `pose` returns."""

    PELVIS = 0
    WAIST = 1
    NECK = 2
    CHIN = 3
    CROWN = 4
    SHOULDER_L = 5
    ELBOW_L = 6
    HAND_L = 7
    SHOULDER_R = 8
    ELBOW_R = 9
    HAND_R = 10
    HIP_L = 11
    KNEE_L = 12
    ANKLE_L = 13
    TOE_L = 14
    HIP_R = 15
    KNEE_R = 16
    ANKLE_R = 17
    TOE_R = 18
    NOSE = 19


HIPS, LEAN, TWIST, LOOK, NECK, LEFT, RIGHT = (
    slice(0, 3),
    slice(3, 5),
    5,
    slice(6, 9),
    slice(9, 11),
    slice(11, 14),
    slice(14, 17),
)
"""Where the parts of a posture lie in its 17 numbers."""


def posture(
    hips: tuple[float, float, float] = (0, 0, 0),
    lean: tuple[float, float] = (0, 0),
    twist: float = 0,
    look: tuple[float, float, float] = (0, 0, 0),
    neck: tuple[float, float] = (0, 0),
    left: tuple[float, float, float] = (0, 0, 0),
    right: tuple[float, float, float] = (0, 0, 0),
) -> Floats:
    """A posture, or a change of posture, as 17 numbers, so that layers of them simply add.

    Parameters
    ----------
    hips : forward, left, up of standing, metres.
    lean : of the trunk, forward and left, degrees.
    twist : of the shoulders to the left, degrees.
    look : turn to the left, nod down, tilt to the left, degrees.
    neck : the head's shift forward and left, metres.
    left, right : each hand from the base of the neck: forward, left, up of the trunk, metres.
    """
    angles = np.radians([*lean, twist, *look])
    return np.concatenate([hips, angles, neck, left, right]).astype(np.float64)


def mirrored(change: Floats) -> Floats:
    """The same posture with left and right exchanged."""
    swapped = change.copy()
    swapped[LEFT], swapped[RIGHT] = change[RIGHT], change[LEFT]
    for index in (1, 4, 5, 6, 8, 10, 12, 15):
        swapped[index] = -swapped[index]
    return swapped


GUARD = posture(
    hips=(0, 0, -0.07),
    lean=(8, 0),
    twist=-28,
    look=(0, 6, 0),
    left=(0.33, 0.10, -0.05),
    right=(0.20, -0.10, -0.08),
)
STANDING = posture(left=(0.06, 0.27, -0.55), right=(0.06, -0.27, -0.55))
FEET = np.array([[0.20, 0.11, 0.0], [-0.24, -0.15, 0.0]])
"""Guard stance of the left and right foot: forward, left, up, metres."""


@dataclass(frozen=True)
class Build:
    """Lengths of a body, metres, after common drawing proportions (no source)."""

    height: float = 1.78
    girth: float = 1.0

    def _part(self, share: float) -> float:
        return share * self.height

    @property
    def hip_height(self) -> float:
        """Of the hip joints over the ground, standing."""
        return self._part(0.525)

    @property
    def spine(self) -> float:
        """Pelvis to the base of the neck."""
        return self._part(0.298)

    @property
    def head(self) -> tuple[float, float]:
        """Chin and crown above the base of the neck."""
        return self._part(0.036), self._part(0.158)

    @property
    def half_shoulders(self) -> float:
        """Base of the neck to a shoulder joint."""
        return self._part(0.105)

    @property
    def arm(self) -> tuple[float, float]:
        """Upper arm, and elbow to the middle of the fist."""
        return self._part(0.166), self._part(0.172)

    @property
    def leg(self) -> tuple[float, float]:
        """Thigh and shin."""
        return self._part(0.245), self._part(0.245)

    @property
    def ankle(self) -> float:
        """Ankle joint above the ground."""
        return self._part(0.045)


def bend(
    root: Floats, target: Floats, lengths: tuple[float, float], pole: Floats
) -> tuple[Floats, Floats]:
    """Middle and end of a two-bone limb from ``root`` to ``target``; the middle bends to ``pole``.

    A target out of reach is approached in a straight line.
    """
    upper, lower = lengths
    direction = unit(target - root)
    distance = np.linalg.norm(target - root, axis=1, keepdims=True)
    distance = np.clip(distance, abs(upper - lower) + 0.02, (upper + lower) * 0.999)
    along = (upper**2 - lower**2 + distance**2) / (2 * distance)
    aside = np.sqrt(np.maximum(upper**2 - along**2, 0))
    away = unit(pole - direction * np.sum(pole * direction, axis=1, keepdims=True))
    return root + direction * along + away * aside, root + direction * distance


@dataclass(frozen=True)
class Trunk:
    """Axes and base of the upper body at each instant, shape (T, 3) each."""

    pelvis: Floats
    neck: Floats
    forward: Floats
    left: Floats
    up: Floats

    def point(self, local: Floats) -> Floats:
        """World place of what is given forward, left, up from the base of the neck."""
        return (
            self.neck
            + local[:, :1] * self.forward
            + local[:, 1:2] * self.left
            + local[:, 2:] * self.up
        )


def trunk_of(build: Build, root: Floats, yaw: Floats, layers: Floats) -> Trunk:
    """The upper body that a posture, shape (T, 17), gives; twist not included."""
    forward, left = forward_of(yaw), left_of(yaw)
    up = np.broadcast_to(UP, forward.shape)
    hips = layers[:, HIPS] + np.array([0, 0, build.hip_height])
    pelvis = to_world(hips, root, yaw)
    angle = np.linalg.norm(layers[:, LEAN], axis=1)
    toward = unit(layers[:, 3:4] * forward + layers[:, 4:5] * left)
    axis = unit(np.cross(up, toward))
    forward, left, up = (turned(v, axis, angle) for v in (forward, left, up))
    return Trunk(pelvis, pelvis + up * build.spine, forward, left, up)


def shoulders(build: Build, trunk: Trunk, twist: Floats) -> tuple[Floats, Floats]:
    """Left and right shoulder joint."""
    across = turned(trunk.left, trunk.up, -twist)
    drop = trunk.up * 0.04
    half = across * build.half_shoulders
    return trunk.neck + half - drop, trunk.neck - half - drop


@dataclass(frozen=True)
class Limbs:
    """Where hands and feet are to go, each (T, 3); elbows where a strike leads with them."""

    hands: tuple[Floats, Floats]
    ankles: tuple[Floats, Floats]
    elbows: tuple[Floats, Floats] | None = None


def pose(build: Build, root: Floats, yaw: Floats, layers: Floats, limbs: Limbs) -> Floats:
    """All joints in the world, shape (T, 20, 3)."""
    trunk = trunk_of(build, root, yaw, layers)
    joints = np.empty((len(root), len(Joint), 3))
    joints[:, Joint.PELVIS] = trunk.pelvis
    joints[:, Joint.WAIST] = trunk.pelvis + trunk.up * build.spine * 0.35
    joints[:, Joint.NECK] = trunk.neck
    _place_head(joints, build, trunk, layers)
    sockets = shoulders(build, trunk, layers[:, TWIST])
    for side, first in enumerate((Joint.SHOULDER_L, Joint.SHOULDER_R)):
        arm = _arm(build, trunk, sockets[side], limbs, side)
        joints[:, first : first + 3] = np.stack(arm, axis=1)
    for side, first in enumerate((Joint.HIP_L, Joint.HIP_R)):
        leg = _leg(build, trunk.pelvis, yaw, limbs.ankles[side], side)
        joints[:, first : first + 4] = np.stack(leg, axis=1)
    return joints


def _place_head(joints: Floats, build: Build, trunk: Trunk, layers: Floats) -> None:
    chin, crown = build.head
    nod, tilt = layers[:, 7:8], layers[:, 8:9]
    shift = 0.03 * trunk.forward + layers[:, 9:10] * trunk.forward + layers[:, 10:11] * trunk.left
    up = unit(trunk.up + np.sin(nod) * trunk.forward + np.sin(tilt) * trunk.left)
    joints[:, Joint.CHIN] = trunk.neck + chin * trunk.up + shift
    joints[:, Joint.CROWN] = joints[:, Joint.CHIN] + (crown - chin) * up
    ahead = turned(trunk.forward, up, -layers[:, 6])
    joints[:, Joint.NOSE] = (joints[:, Joint.CHIN] + joints[:, Joint.CROWN]) / 2 + 0.1 * ahead


def _arm(
    build: Build, trunk: Trunk, socket: Floats, limbs: Limbs, side: int
) -> tuple[Floats, Floats, Floats]:
    outward = trunk.left if side == 0 else -trunk.left
    pole = unit(0.45 * outward - trunk.up - 0.25 * trunk.forward)
    elbow, hand = bend(socket, limbs.hands[side], build.arm, pole)
    if limbs.elbows is not None:
        elbow = socket + unit(limbs.elbows[side] - socket) * build.arm[0]
        hand = elbow + unit(limbs.hands[side] - elbow) * build.arm[1]
    return socket, elbow, hand


def _leg(
    build: Build, pelvis: Floats, yaw: Floats, ankle: Floats, side: int
) -> tuple[Floats, Floats, Floats, Floats]:
    outward = left_of(yaw) if side == 0 else -left_of(yaw)
    hip = pelvis + outward * 0.09
    knee, end = bend(hip, ankle, build.leg, forward_of(yaw) + 0.35 * outward)
    raised = np.clip((end[:, 1:2] - 0.2) / 0.35, 0, 1)
    toward = unit(forward_of(yaw) * (1 - raised) + UP * raised + 0.25 * outward)
    sole = UP * -(build.ankle * 0.6) * (1 - raised)
    return hip, knee, end, end + toward * 0.19 + sole
