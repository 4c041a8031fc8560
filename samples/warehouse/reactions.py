"""A hit from the receiver's side: the jolt, the stagger, the fall."""

from __future__ import annotations

import numpy as np

from .fighter import Fighter
from .figure import posture
from .spec import Beat
from .strikes import STRIKES
from .throwing import level
from .timing import eased, jolt
from .vectors import Floats, forward_of, left_of

FALL_SECONDS = 0.62
_STEP_BACK = {"none": 0.0, "recoil": 0.08, "stagger": 0.36, "fall": 0.30}


def receive(receiver: Fighter, striker: Fighter, beat: Beat, start: float) -> float | None:
    """Add the reaction to a hit to the receiver's part.

    Parameters
    ----------
    receiver, striker : Fighter
    beat : Beat
    start : float
        Second at which the reaction starts; it starts with a jolt, not gently.

    Returns
    -------
    float or None
        Second at which the body lands on the ground, for one who falls.
    """
    if beat.sell == "none":
        return None
    push = _push(receiver, striker, beat)
    local = _local(receiver, beat.at, push)
    low = STRIKES[beat.kind].limb in ("foot", "hands")
    changes = _body_blow(local) if low else _head_blow(local)
    _add_jolts(receiver, changes, start, beat.strength)
    falls = beat.sell == "fall"
    way = level(push) * _STEP_BACK[beat.sell] * beat.strength
    _add_step_back(receiver, way, start, 0.0 if falls else 0.6)
    if not falls:
        return None
    return _add_fall(receiver, start + 0.10)


def _push(receiver: Fighter, striker: Fighter, beat: Beat) -> Floats:
    """Which way the blow drives the receiver, in the world; about 1 long."""
    now = np.array([beat.at])
    line = level(receiver.place(now)[0][0] - striker.place(now)[0][0])
    along, swing, up = STRIKES[beat.kind].push
    to_left = np.cross(line, (0.0, 1.0, 0.0)) * (1 if beat.side == "right" else -1)
    return np.asarray(line * along + to_left * swing + np.array([0, up, 0]))


def _local(receiver: Fighter, at: float, push: Floats) -> tuple[float, float, float]:
    _, yaw = receiver.place(np.array([at]))
    return float(push @ forward_of(yaw)[0]), float(push @ left_of(yaw)[0]), float(push[1])


def _head_blow(local: tuple[float, float, float]) -> tuple[Floats, Floats, Floats]:
    """Change of head, trunk and hips for a blow to the head."""
    forward, left, up = local
    head = posture(
        look=(38 * left, -24 * up + 14 * forward, 16 * left), neck=(0.09 * forward, 0.09 * left)
    )
    trunk = posture(
        lean=(17 * forward - 6 * up, 15 * left),
        twist=22 * left,
        left=(-0.06, 0.06, -0.10),
        right=(-0.04, -0.08, -0.12),
    )
    return head, trunk, posture(hips=(0.08 * forward, 0.06 * left, -0.03))


def _body_blow(local: tuple[float, float, float]) -> tuple[Floats, Floats, Floats]:
    """Change of head, trunk and hips for a kick or a shove: the body goes first, folding."""
    forward, left, _ = local
    head = posture(look=(0, 16, 0), neck=(-0.05 * forward, 0))
    trunk = posture(
        hips=(0.16 * forward, 0.10 * left, -0.06),
        lean=(-12 * forward, 6 * left),
        left=(0.10, 0.06, -0.10),
        right=(0.12, -0.06, -0.10),
    )
    return head, trunk, posture(hips=(0.10 * forward, 0, -0.05))


def _add_jolts(
    receiver: Fighter, changes: tuple[Floats, Floats, Floats], start: float, size: float
) -> None:
    def change(times: Floats) -> Floats:
        jolts = (jolt(times, start, peak)[:, None] for peak in (0.10, 0.17, 0.28))
        parts = [size * push * part for push, part in zip(jolts, changes, strict=True)]
        return np.asarray(sum(parts))

    receiver.changes.append(change)


def _add_step_back(receiver: Fighter, way: Floats, start: float, regained: float) -> None:
    def shift(times: Floats) -> Floats:
        gone = 1 - np.exp(-np.maximum(times - start, 0) / 0.24)
        return (gone - regained * eased(times, start + 0.5, start + 1.5))[:, None] * way

    receiver.shifts.append(shift)


def _add_fall(receiver: Fighter, start: float) -> float:
    """Over backward, faster and faster, with a small bounce; returns when the body lands."""
    landing = start + FALL_SECONDS
    down = posture(
        hips=(-0.50, 0, 0.24 - receiver.build.hip_height),
        lean=(-74, 8),
        look=(10, 30, 0),
        left=(-0.10, 0.30, -0.12),
        right=(0.0, -0.38, -0.10),
    )

    def change(times: Floats) -> Floats:
        fallen = np.clip((times - start) / FALL_SECONDS, 0, 1) ** 2
        return (fallen - 0.05 * jolt(times, landing, 0.08))[:, None] * down

    receiver.changes.append(change)
    return landing
