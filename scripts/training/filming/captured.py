"""People of the bench's capture: of another build and pace than the one who was captured."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

STRIKER: Final = ((0.72, 1.25), (0.85, 1.15))
RECEIVER: Final = ((0.5, 1.2), (0.9, 1.1))
"""Least and greatest pace and girth of each."""
SAME_STRIKE_SECONDS: Final = 0.15
"""Strikes found this near to one another in the capture's own time are the same one."""


@dataclass(frozen=True, eq=False)
class Performer:
    """A capture performed at another pace, by somebody of another build.

    Offers what ``stage`` asks of a motion: ``at``, ``vel``, ``k``, ``len``.

    Parameters
    ----------
    motion : object
        As read by `stage.Motion`.
    pace : float
        1 is as captured, 2 twice as fast.
    girth : float
        Reach of the limbs along the ground, 1 as captured.
    """

    motion: Any
    pace: float
    girth: float
    mirrored: bool

    @property
    def len(self) -> float:
        """Seconds."""
        return float(self.motion.len) / self.pace

    def k(self, joint: str) -> int:
        """Row of a joint; left and right change places in a mirror."""
        if self.mirrored and joint[:2] in ("l_", "r_"):
            joint = ("r" if joint[0] == "l" else "l") + joint[1:]
        return int(self.motion.k(joint))

    def at(self, seconds: Any) -> NDArray[np.float64]:
        """Joints at some instants, metres, float64 (..., joints, 3)."""
        joints = self.motion.at(np.asarray(seconds) * self.pace)
        hips = self.motion.k("hips")
        centre = joints[..., hips : hips + 1, :]
        placed = centre + (joints - centre) * np.array([self.girth, 1.0, self.girth])
        turned: NDArray[np.float64] = placed * np.array([-1.0 if self.mirrored else 1.0, 1.0, 1.0])
        return turned

    def vel(self, seconds: Any) -> NDArray[np.float64]:
        """Velocity of the joints, metres a second, as `at`."""
        step = 1e-3
        instants = np.asarray(seconds)
        return (self.at(instants + step) - self.at(instants - step)) / (2 * step)


def performer(
    rng: np.random.Generator, motion: Any, pace: tuple[float, float], girth: tuple[float, float]
) -> Performer:
    """Somebody drawn at random, within bounds of pace and girth."""
    fast, mirrored = float(rng.uniform(*pace)), bool(rng.integers(2))
    return Performer(motion, fast, float(rng.uniform(*girth)), mirrored)


def opened(bench: Path) -> tuple[Any, Any]:
    """The module ``stage`` of BENCH and the motion of its capture, to be filmed with one thread."""
    stage = _stage(bench)
    cv2.setNumThreads(1)
    skeleton, data = bench / "captures/135.asf", bench / "captures/135_06.amc"
    return stage, stage.Motion(f"{skeleton}|{data}")


def _stage(bench: Path) -> Any:
    """The module; it asks for PyAV, with which it writes files, and is had without it."""
    sys.path.insert(0, str(bench))
    try:
        import av  # noqa: F401
    except ImportError:
        sys.modules["av"] = ModuleType("av")
        import stage

        del sys.modules["av"]
    import stage

    return stage
