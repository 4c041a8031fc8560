"""Other people's captured motions, as a stage films them: a kick, a punch, dancing, falling.

They ship with pybullet (package ``pybullet_data``, folder ``data/motions``): rotations of a plain
figure's joints, captured and resampled for character animation. One strike or one dance is a second
or four long.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d
from scipy.spatial.transform import Rotation

STRIKES: Final = (("kick", "toe"), ("punch", "hand"), ("kick", "toe"), ("spinkick", "toe"))
"""Motions and what strikes in them, in turn: kicks more often, since the other capture has hardly
any."""
CALM: Final = (
    "dance_a", "dance_b", "walk", "run", "jump", "cartwheel",
    "roll", "spin", "backflip", "getup_faceup", "getup_facedown", "crawl",
)  # fmt: skip
"""Motions in which nobody is struck."""
JOINTS: Final = (
    "hips", "spine", "chest", "neck", "head",
    "l_shoulder", "l_elbow", "l_hand", "r_shoulder", "r_elbow", "r_hand",
    "l_hip", "l_knee", "l_ankle", "l_toe", "r_hip", "r_knee", "r_ankle", "r_toe",
)  # fmt: skip
HALF_HIPS, THIGH, SHIN = 0.0849, 0.4215, 0.4099
WAIST, TRUNK, NECK = 0.2362, 0.2239, 0.1
SHOULDER, UPPER_ARM, FOREARM = (-0.0241, 0.2435, 0.1831), 0.2748, 0.2589
TOE = (0.13, -0.05, 0.0)
"""The figure, metres: ahead, up, to the right; as ``pybullet_data/humanoid/humanoid.urdf`` has it,
four times as large. Neck and toe, which have no joints of their own there, are by eye."""
TALL: Final = 1.58
"""Metres from ankle to head, as the stage has its people."""
SMOOTHED: Final = 0.010
"""Standard deviation of the smoothing in time, seconds, as the stage smooths its captures."""

_Path = NDArray[np.float64]


class OtherPerson:
    """A motion in metres with Y up, as `stage.film` takes one.

    Parameters
    ----------
    source : str
        What it is called.
    frames : float64, shape (n, 44)
        As in its file: seconds to the next frame, place and turn of the hips, then turns (four
        numbers, the real one first) or bends of chest, neck, right hip, knee, ankle, shoulder and
        elbow, and of the left ones.
    """

    def __init__(self, source: str, frames: _Path) -> None:
        self.source = source
        seconds = float(np.median(frames[:, 0]))
        joints = np.stack(_joints(frames), 1) * (TALL / (WAIST + TRUNK + NECK + THIGH + SHIN))
        joints[..., [0, 2]] -= joints[0, 0, [0, 2]]
        joints[..., 1] -= joints[..., 1].min()
        smooth = gaussian_filter1d(joints, SMOOTHED / seconds, axis=0, mode="nearest")
        instants = np.arange(len(frames)) * seconds
        self.len = float(instants[-1])
        self._path = CubicSpline(instants, smooth)

    def k(self, joint: str) -> int:
        """Row of a joint."""
        return JOINTS.index(joint)

    def at(self, seconds: Any) -> _Path:
        """Joints at some instants, metres, float64 (..., joints, 3); it holds still at its ends."""
        placed: _Path = self._path(np.clip(seconds, 0, self.len))
        return placed


def _joints(frames: _Path) -> list[_Path]:
    """Places of `JOINTS`, float64 (n, 3) each."""
    hips, upright = frames[:, 1:4], _turn(frames, 4)
    chest, chest_turn = _placed(hips, upright, (0, WAIST, 0)), upright * _turn(frames, 8)
    neck = _placed(chest, chest_turn, (0, TRUNK, 0))
    head = _placed(neck, chest_turn * _turn(frames, 12), (0, NECK, 0))
    arms = {
        side: _arm(frames, column, chest, chest_turn, np.multiply(SHOULDER, (1, 1, sign)))
        for side, column, sign in (("l", 39, -1), ("r", 25, 1))
    }
    legs = {
        side: _leg(frames, column, hips, upright, (0, 0, sign * HALF_HIPS))
        for side, column, sign in (("l", 30, -1), ("r", 16, 1))
    }
    spine = _placed(hips, upright, (0, WAIST / 2, 0))
    return [hips, spine, chest, neck, head, *arms["l"], *arms["r"], *legs["l"], *legs["r"]]


def _arm(
    frames: _Path, column: int, chest: _Path, turn: Rotation, shoulder: Any
) -> tuple[_Path, ...]:
    start, upper = _placed(chest, turn, shoulder), turn * _turn(frames, column)
    elbow = _placed(start, upper, (0, -UPPER_ARM, 0))
    hand = _placed(elbow, upper * _bend(frames, column + 4), (0, -FOREARM, 0))
    return start, elbow, hand


def _leg(frames: _Path, column: int, hips: _Path, turn: Rotation, hip: Any) -> tuple[_Path, ...]:
    start, thigh = _placed(hips, turn, hip), turn * _turn(frames, column)
    knee, shin = _placed(start, thigh, (0, -THIGH, 0)), thigh * _bend(frames, column + 4)
    ankle = _placed(knee, shin, (0, -SHIN, 0))
    return start, knee, ankle, _placed(ankle, shin * _turn(frames, column + 5), TOE)


def _placed(origin: _Path, turn: Rotation, offset: Any) -> _Path:
    placed: _Path = origin + turn.apply(np.asarray(offset, float))
    return placed


def _turn(frames: _Path, column: int) -> Rotation:
    return Rotation.from_quat(np.roll(frames[:, column : column + 4], -1, axis=1))


def _bend(frames: _Path, column: int) -> Rotation:
    return Rotation.from_rotvec(np.outer(frames[:, column], (0, 0, 1)))
