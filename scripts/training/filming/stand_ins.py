"""People for the bench's stage, from pieces of a capture: they stand, react, push, walk, dance.

All take every instant of a shot at once. A person is a motion as `captured.Performer` is one; what
it gives is turned and put somewhere, and further movement is laid on top: `leaned` moves the trunk
and bends the legs under it, `reaching` leads a hand, `walking` sets one foot before the other.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from synthetic.motion import ease, jerk, linked, wander

from .talkers import reached, strokes

Floats = NDArray[np.float64]
Rng = np.random.Generator
Row = Callable[[str], int]

UP: Final = np.array([0.0, 1.0, 0.0])
LEVEL: Final = np.array([1.0, 0.0, 1.0])
CALM_SECONDS: Final = ((0.1, 2.1), (26.2, 27.1))
"""Of the capture, between which its performer only stands."""
GUARDED_SECONDS: Final = ((6.0, 6.5), (11.3, 12.2), (18.7, 19.3), (22.6, 24.7))
"""Between which the performer stands ready to fight."""
LEGS: Final = ("knee", "ankle", "toe")
HANGING: Final = (0.22, -0.52, 0.06)
"""Where a hand hangs, from the chest: to its own side, up, ahead; metres."""
STEP: Final = 0.62
"""Length of a step, metres."""
BROKEN_OFF: Final = 0.7
"""Share of a reach's time that is over when a push arrives: the hands are still under way."""
HEAD: Final = {
    "head": 1.0, "neck": 0.7, "l_shoulder": 0.5, "r_shoulder": 0.5, "l_elbow": 0.5,
    "r_elbow": 0.5, "l_hand": 0.55, "r_hand": 0.55, "chest": 0.4, "spine": 0.2,
}  # fmt: skip
TRUNK: Final = {
    "chest": 1.0, "spine": 0.9, "hips": 0.6, "l_hip": 0.6, "r_hip": 0.6, "neck": 0.7, "head": 0.35,
    "l_shoulder": 0.8, "r_shoulder": 0.8, "l_elbow": 0.7, "r_elbow": 0.7, "l_hand": 0.5,
    "r_hand": 0.5, "l_knee": 0.2, "r_knee": 0.2,
}  # fmt: skip
WHOLE: Final = {
    "chest": 1.0, "spine": 1.0, "hips": 0.95, "l_hip": 0.95, "r_hip": 0.95, "neck": 0.95,
    "head": 0.85, "l_shoulder": 1.0, "r_shoulder": 1.0, "l_elbow": 0.9, "r_elbow": 0.9,
    "l_hand": 0.75, "r_hand": 0.75, "l_knee": 0.6, "r_knee": 0.6,
}  # fmt: skip
"""How far each joint goes along with a blow to the head, to the trunk, and with a push."""


@dataclass(frozen=True)
class Reaction:
    """How somebody answers a blow.

    Parameters
    ----------
    weights : dict
        Share of each joint.
    start : float
        Second at which it begins.
    way : float64, shape (3,)
        Where it drives the body, about 1 long.
    amount : float
        Metres.
    rise, back : float
        Seconds: to get there, and to come back again.
    abrupt : bool
        Whether it starts with a jolt, or gently.
    steps : bool
        Whether the feet follow.
    """

    weights: dict[str, float]
    start: float
    way: Floats
    amount: float
    rise: float
    back: float
    abrupt: bool
    steps: bool


def facing(joints: Floats, k: Row) -> Floats:
    """Level direction in which somebody (joints, 3) looks."""
    across = (joints[k("l_shoulder")] - joints[k("r_shoulder")]) * LEVEL
    return np.asarray(np.cross(across, UP) / np.linalg.norm(across))


def placed(
    person: Any,
    seconds: Floats,
    begins: float,
    ahead: Floats,
    part: str,
    place: Floats,
    travels: float = 1.0,
) -> Floats:
    """Joints of a person turned and put somewhere, float64 (instants, joints, 3).

    Parameters
    ----------
    seconds : float64, shape (instants,)
        Of the person's own time, 0 where he or she is as wanted.
    begins : float
        The person's own second then.
    ahead : float64, shape (3,)
        Level direction that he or she faces then.
    part : str
        A joint that is then over ``place``.
    place : float64, shape (3,)
        On the ground.
    travels : float
        Share of the way along the ground that is kept.
    """
    own = np.clip(begins + seconds, 0.02, person.len - 0.02)
    joints, then = person.at(own), person.at(begins)
    hips = person.k("hips")
    way = (joints[:, hips] - then[hips]) * LEVEL
    joints = joints - (1 - travels) * way[:, None]
    now = facing(then, person.k)
    angle = np.arctan2(ahead[0], ahead[2]) - np.arctan2(now[0], now[2])
    turn = Rotation.from_euler("y", angle).as_matrix()
    return np.asarray((joints - then[person.k(part)] * LEVEL) @ turn.T + place * LEVEL)


def standing(
    rng: Rng, person: Any, times: Floats, ahead: Floats, place: Floats, guarded: bool = False
) -> Floats:
    """Somebody who stands, perhaps ready to fight, and hardly moves; hips over a place."""
    spans = GUARDED_SECONDS if guarded else CALM_SECONDS
    first, last = spans[int(rng.integers(len(spans)))]
    begins = float(rng.uniform(first, last)) / person.pace
    pace = float(rng.uniform(0.1, 0.3))
    return placed(person, (times - times.mean()) * pace, begins, ahead, "hips", place)


def reacted(joints: Floats, k: Row, times: Floats, reaction: Reaction) -> Floats:
    """The same joints, with a reaction laid on top."""
    way = reaction.way * reaction.amount
    shift = np.zeros_like(joints)
    for joint, weight in reaction.weights.items():
        shift[:, k(joint)] = _answer(times, reaction)[:, None] * way * weight
    if reaction.steps:
        for delay, side in ((0.08, "l"), (0.22, "r")):
            gone = ease(times, reaction.start + delay, 0.28)
            for joint in ("ankle", "toe"):
                shift[:, k(f"{side}_{joint}")] = gone[:, None] * way * LEVEL * 0.9
    return joints + shift


def _answer(times: Floats, reaction: Reaction) -> Floats:
    since = np.maximum(times - reaction.start, 0)
    if reaction.abrupt:
        there = 1 - np.exp(-since / reaction.rise)
    else:
        there = jerk(since / (3 * reaction.rise))
    return np.asarray(there * np.exp(-since / reaction.back))


def leaned(joints: Floats, k: Row, shift: Floats, twist: Floats | None = None) -> Floats:
    """Trunk, head and arms shifted and turned about the upright; the legs bend under them.

    Parameters
    ----------
    joints : float64, shape (instants, joints, 3)
    shift : float64, shape (instants, 3)
        Of the hips, metres; the head goes a little further along the ground.
    twist : float64, shape (instants,), optional
        Radians.
    """
    ahead = facing(joints[0], k)
    moved = joints.copy()
    hips = joints[:, k("hips")]
    upper = [row for row in range(joints.shape[1]) if row not in _leg_rows(k)]
    part = joints[:, upper] - hips[:, None]
    if twist is not None:
        turns = Rotation.from_rotvec(twist[:, None] * UP).as_matrix()
        part = np.einsum("tab,tjb->tja", turns, part)
    higher = 1 + 0.35 * np.clip(part[..., 1:2], 0, None) * LEVEL
    moved[:, upper] = hips[:, None] + part + shift[:, None] * higher
    return on_feet(moved, joints, k, ahead)


def on_feet(moved: Floats, before: Floats, k: Row, ahead: Floats) -> Floats:
    """Bend the knees so that the feet of ``moved`` (where they are) carry its hips."""
    for side in "lr":
        hip, knee, ankle = (k(f"{side}_{joint}") for joint in ("hip", "knee", "ankle"))
        thigh = float(np.linalg.norm(before[0, knee] - before[0, hip]))
        shin = float(np.linalg.norm(before[0, ankle] - before[0, knee]))
        bent, end = linked(moved[:, hip], moved[:, ankle], thigh, shin, ahead + 0.15 * UP)
        moved[:, k(f"{side}_toe")] += end - moved[:, ankle]
        moved[:, knee], moved[:, ankle] = bent, end
    return moved


def _leg_rows(k: Row) -> set[int]:
    return {k(f"{side}_{joint}") for side in "lr" for joint in LEGS}


def reaching(joints: Floats, k: Row, side: str, wanted: Floats, share: Floats) -> Floats:
    """Lead a hand towards places (instants, 3), all the way where ``share`` (instants,) is 1."""
    rows = [k(f"{side}_{joint}") for joint in ("shoulder", "elbow", "hand")]
    shoulder, elbow, hand = (joints[:, row] for row in rows)
    own, _, ahead = own_axes(joints[len(joints) // 2], k, side)
    outward = own - UP - 0.3 * ahead
    goal = hand + (wanted - hand) * share[:, None]
    moved = joints.copy()
    moved[:, rows[1]], moved[:, rows[2]] = reached(shoulder, elbow, hand, goal, outward)
    return moved


def own_axes(joints: Floats, k: Row, side: str) -> Floats:
    """To somebody's own left or right, up, and ahead: the rows; of (joints, 3)."""
    ahead = facing(joints, k)
    right = np.cross(ahead, UP)
    return np.stack([right if side == "r" else -right, UP, ahead])


def from_chest(joints: Floats, k: Row, side: str, offset: Any) -> Floats:
    """Places (instants, 3) given from the chest: to the hand's own side, up, ahead; metres."""
    axes = own_axes(joints[len(joints) // 2], k, side)
    return np.asarray(joints[:, k("chest")] + np.asarray(offset) @ axes)


def swaying(rng: Rng, joints: Floats, k: Row, times: Floats, size: float) -> Floats:
    """Somebody whose weight goes from foot to foot."""
    shift = np.stack([wander(rng, times, size * part, 0.15, 1.2) for part in (1, 0.2, 1)], 1)
    shift[:, 1] = -np.abs(shift[:, 1])
    return leaned(joints, k, shift, wander(rng, times, 2.5 * size, 0.2, 1.0))


def stepping(rng: Rng, joints: Floats, k: Row, times: Floats, calm: float) -> Floats:
    """Somebody who shifts about, but is in place at second ``calm``."""
    way = np.zeros((len(times), 3))
    for _ in range(int(rng.integers(1, 4))):
        step = rng.normal(0, 0.22, 3) * LEVEL
        start, length = rng.uniform(times[0], times[-1]), float(rng.uniform(0.35, 0.9))
        gone = ease(times, start, length) - ease(np.array([calm]), start, length)
        way += gone[:, None] * step
    return joints + way[:, None]


def walking(joints: Floats, k: Row, gone: Floats, way: Floats) -> Floats:
    """Carry somebody along a level direction, one foot before the other.

    Parameters
    ----------
    joints : float64, shape (instants, joints, 3)
        Of one who stands.
    gone : float64, shape (instants,)
        Metres, from where he or she stands.
    way : float64, shape (3,)
        Level, of length 1.
    """
    moved = joints + gone[:, None, None] * way
    moved[..., 1] -= 0.04
    for number, side in enumerate("lr"):
        steps = gone / (2 * STEP) + number / 2
        whole = np.floor(steps)
        swung = np.clip(2 * (steps - whole) - 1, 0, 1)
        foot = (whole + jerk(swung) - number / 2 + 0.25) * 2 * STEP
        lift = 0.10 * np.sin(np.pi * swung)
        ankle = k(f"{side}_ankle")
        under = (joints[:, k("hips")] - joints[:, ankle]) @ way
        for row in (ankle, k(f"{side}_toe")):
            along = (foot + under)[:, None] * way
            moved[:, row] = joints[:, row] + along + lift[:, None] * UP
    moved = on_feet(moved, joints, k, way)
    swing = 0.22 * np.sin(np.pi * gone / STEP)
    for side, sign in (("l", 1), ("r", -1)):
        hang = from_chest(moved, k, side, HANGING) + (sign * swing)[:, None] * way
        moved = reaching(moved, k, side, hang, np.ones(len(gone)))
    return moved


@dataclass(frozen=True, eq=False)
class Throw:
    """How a hand or a foot goes out to a place and comes back.

    Parameters
    ----------
    contact : float
        Second at which it arrives, still under way.
    chamber, target : float64, shape (3,)
        Where it is wound up, and where it arrives, metres.
    bow : float64, shape (3,)
        How far the middle of its way stands off the straight line.
    speed : float
        On arrival, metres a second, on a straight way.
    stop : float
        Seconds in which it then comes to rest.
    wind, hold, back : float
        Seconds.
    """

    contact: float
    chamber: Floats
    target: Floats
    bow: Floats
    speed: float
    stop: float
    wind: float
    hold: float
    back: float

    @property
    def seconds(self) -> float:
        """From the chamber to the target: a reach of least jerk that is broken off."""
        share = BROKEN_OFF
        steep = 30 * share**3 * (1 - share) ** 2 / float(jerk(share))
        return steep * float(np.linalg.norm(self.target - self.chamber)) / self.speed

    def wound(self, times: Floats) -> Floats:
        """Share of the winding up that is done."""
        return ease(times, self.contact - self.seconds - self.wind, self.wind)

    def out(self, times: Floats) -> Floats:
        """Share of the way out that is done; more than 1 as it comes to rest."""
        done = np.clip((times - self.contact) / self.seconds + 1, 0, 1)
        since = np.maximum(times - self.contact, 0)
        onward = self.speed * self.stop * (1 - np.exp(-since / self.stop))
        far = float(np.linalg.norm(self.target - self.chamber))
        return jerk(BROKEN_OFF * done) / float(jerk(BROKEN_OFF)) + onward / far

    def kept(self, times: Floats) -> Floats:
        """1 until the limb is taken back, 0 when it is home."""
        return 1 - ease(times, self.contact + self.hold, self.back)

    def path(self, times: Floats, home: Floats) -> Floats:
        """Places (instants, 3) of a limb that is at ``home`` (instants, 3) otherwise."""
        out = self.out(times)[:, None]
        inside = np.minimum(out, 1)
        way = self.chamber + (self.target - self.chamber) * out
        way = way + 4 * inside * (1 - inside) * self.bow
        wound = self.wound(times)[:, None]
        struck = np.where(out > 0, way, home + (self.chamber - home) * wound)
        return home + (struck - home) * self.kept(times)[:, None]


def throwing(joints: Floats, k: Row, times: Floats, side: str, throw: Throw) -> Floats:
    """Somebody whose hand goes out and back."""
    path = throw.path(times, joints[:, k(f"{side}_hand")])
    return reaching(joints, k, side, path, np.ones(len(times)))


def kicking(joints: Floats, k: Row, times: Floats, side: str, throw: Throw) -> Floats:
    """Somebody whose foot goes out and back, toes up."""
    moved, ahead = joints.copy(), facing(joints[0], k)
    ankle, toe = k(f"{side}_ankle"), k(f"{side}_toe")
    moved[:, ankle] = throw.path(times, joints[:, ankle])
    raised = throw.wound(times) * throw.kept(times)
    foot = joints[:, toe] - joints[:, ankle]
    up = float(np.linalg.norm(foot[0])) * (UP * 0.8 + ahead * 0.6)
    moved[:, toe] = moved[:, ankle] + foot + (up - foot) * raised[:, None]
    return on_feet(moved, joints, k, ahead + UP)


def gesturing(rng: Rng, joints: Floats, k: Row, times: Floats, pace: float) -> Floats:
    """Somebody whose hands go from place to place before the chest, ``pace`` times as talkers."""
    since = (times - times[0]) * pace
    for side in "lr":
        offset = strokes(rng, since)
        joints = reaching(joints, k, side, from_chest(joints, k, side, offset), np.ones(len(times)))
    return joints


def dancing(rng: Rng, joints: Floats, k: Row, times: Floats) -> Floats:
    """Somebody who moves to a beat: hips, trunk, arms; or who exercises, which looks alike."""
    beat, size = float(rng.uniform(0.8, 2.6)), float(rng.uniform(0.3, 1.2))
    phase = 2 * np.pi * beat * (times - times[0]) + float(rng.uniform(0, 6))
    across = np.cross(facing(joints[0], k), UP)
    down = float(rng.uniform(0.02, 0.22)) * size * (1 - np.cos(phase)) / 2
    aside = float(rng.uniform(0, 0.12)) * size * np.sin(phase / 2)
    twist = float(rng.uniform(0, 0.5)) * size * np.sin(phase / 2 + float(rng.uniform(0, 6)))
    joints = leaned(joints, k, aside[:, None] * across - down[:, None] * UP, twist)
    if rng.random() < 0.5:
        return gesturing(rng, joints, k, times, float(rng.uniform(1.0, 2.2)))
    shift = float(rng.choice([0, np.pi / 2, np.pi]))
    low, high = (rng.uniform(*bounds) for bounds in (((0.2, -0.5, 0), (0.5, 0, 0.4)),) * 2)
    high = high + np.array([0, rng.uniform(0, 0.9), 0])
    for number, side in enumerate("lr"):
        up = (1 - np.cos(phase + number * shift)) / 2
        offset = low + up[:, None] ** float(rng.uniform(0.7, 1.6)) * (high - low)
        joints = reaching(joints, k, side, from_chest(joints, k, side, offset), np.ones(len(times)))
    return joints
