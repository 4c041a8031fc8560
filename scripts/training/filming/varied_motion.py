"""A capture in which everybody strikes a little otherwise: limbs turned, lengthened, and hurried.

One capture holds a dozen strikes, and a fit soon knows them. Turned about its shoulder or its hip a
limb strikes in another direction; and where the pace swells and ebbs, another moment of the strike
is the fast one, and it ends more or less abruptly.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

LIMBS: Final = {"shoulder": ("elbow", "hand"), "hip": ("ankle", "toe", "knee")}
"""The joints that go with each root."""
TURN: Final = {"shoulder": 0.35, "hip": 0.15}
LENGTH: Final = 0.12
"""Standard deviations of turns about each axis, radians, and of the logarithm of lengths."""
PERIODS: Final = (0.25, 0.8)
SWELL: Final = 0.09
"""Seconds between swells of the pace; each of three changes it by the square root of three times
this share at most."""
KEPT: Final = 0.97
"""Share of the capture that is shown: the pace may carry the last instants past its end."""


class VariedMotion:
    """A motion with limbs and pace drawn at random, as ``stage`` takes one."""

    def __init__(self, motion: Any, rng: np.random.Generator) -> None:
        self.motion = motion
        self.limbs = {
            (side, root): (
                Rotation.from_rotvec(rng.normal(0, TURN[root], 3)).as_matrix(),
                float(np.exp(rng.normal(0, LENGTH))),
            )
            for side in "lr"
            for root in LIMBS
        }
        self.periods, self.phases = rng.uniform(*PERIODS, 3), rng.uniform(0, 6.28, 3)
        self.swells = rng.uniform(0, SWELL, 3)

    @property
    def len(self) -> float:
        """Seconds."""
        return float(self.motion.len) * KEPT

    def k(self, joint: str) -> int:
        """Row of a joint."""
        return int(self.motion.k(joint))

    def instant(self, seconds: Any) -> NDArray[np.float64]:
        """The capture's own instants that are shown at some seconds."""
        even = np.asarray(seconds, float)
        shown = even
        for period, phase, swell in zip(self.periods, self.phases, self.swells, strict=True):
            pulse = 2 * np.pi / period
            swung = np.sin(pulse * even + phase) - np.sin(phase)
            shown = shown + np.sqrt(3) * swell / pulse * swung
        return shown

    def at(self, seconds: Any) -> NDArray[np.float64]:
        """Joints at some instants, metres, float64 (..., joints, 3)."""
        joints = np.array(self.motion.at(np.clip(self.instant(seconds), 0, self.motion.len)))
        for (side, root), (turn, length) in self.limbs.items():
            pivot = joints[..., self.k(f"{side}_{root}"), :]
            for joint in LIMBS[root]:
                row = self.k(f"{side}_{joint}")
                joints[..., row, :] = pivot + (joints[..., row, :] - pivot) @ turn.T * length
        return joints
