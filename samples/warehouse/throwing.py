"""A hit from the striker's side: where it is aimed, the step in, the path of the limb."""

from __future__ import annotations

import numpy as np

from .fighter import Fighter, Reach
from .figure import TWIST, Floats, left_of, shoulders, to_local, trunk_of
from .spec import Beat
from .strikes import STRIKES, Strike, body_change, path_length, sided
from .timing import Stroke, eased, reach_length

MISS = 0.13
"""Metres by which a strike at the head passes on the lens side: nobody connects."""
BODY_LEAD = 0.03
"""Seconds by which hips and shoulders go ahead of the limb."""


def throw(actor: Fighter, other: Fighter, beat: Beat, lens: Floats) -> Reach:
    """Add a hit to the striker's part; returns the reach of the limb that strikes."""
    strike = STRIKES[beat.kind]
    wound, thrown = body_change(strike, beat.side)
    target = _target(actor, other, strike, beat.at, lens)
    lunge = _lunge(actor, strike, beat, thrown, target)
    stroke = _stroke(strike, beat.at, 0.3)
    for _ in range(2):
        path = _path(actor, strike, beat, stroke, wound, target - lunge)
        way = path_length(*path)
        stroke = _stroke(strike, beat.at, reach_length(way, beat.speed, strike.share))
    _add_body(actor, stroke, wound, thrown, lunge)
    limb = "hand" if strike.limb == "hands" else strike.limb
    reach = Reach(limb, _index(beat), stroke, *path)
    actor.reaches.append(reach)
    if strike.limb == "hands":
        other_hand = (point * (1, -1, 1) for point in path)
        actor.reaches.append(Reach(limb, 1 - reach.side, stroke, *other_hand))
    return reach


def _index(beat: Beat) -> int:
    return 0 if beat.side == "left" else 1


def _stroke(strike: Strike, contact: float, length: float) -> Stroke:
    return Stroke(
        contact, strike.wind_up, length, strike.share, strike.stop, strike.hold, strike.back
    )


def _add_body(actor: Fighter, stroke: Stroke, wound: Floats, thrown: Floats, lunge: Floats) -> None:
    def body(times: Floats) -> Floats:
        carried = stroke.thrown(times, BODY_LEAD) - stroke.released(times)
        return stroke.wound(times)[:, None] * wound + carried[:, None] * thrown

    def step_in(times: Floats) -> Floats:
        there = eased(times, stroke.start, stroke.contact)
        back = eased(times, stroke.return_start, stroke.end + 0.35)
        return (there - back)[:, None] * lunge

    actor.changes.append(body)
    actor.shifts.append(step_in)


def level(vector: Floats) -> Floats:
    """The vector's direction along the ground, as a unit vector."""
    flat = vector * (1, 0, 1)
    return np.asarray(flat / max(float(np.linalg.norm(flat)), 1e-9))


def _target(actor: Fighter, other: Fighter, strike: Strike, at: float, lens: Floats) -> Floats:
    """A place beside the receiver on the lens side, and a little short of them.

    The less the camera sees the strike from the side, the more is left between: a gap along the
    line of sight cannot be seen, one across it can.
    """
    now = np.array([at])
    trunk = other.trunk(now)
    spot = trunk.neck[0] + trunk.up[0] * strike.aim
    line = level(spot - actor.place(now)[0][0])
    to_lens = level(lens - spot)
    aside = to_lens - line * (to_lens @ line)
    across = float(np.linalg.norm(aside))
    at_body = strike.limb in ("foot", "hands")
    short = 0.05 + 0.12 * (1 - across) + (0.12 if at_body else 0.0)
    return np.asarray(spot + aside * MISS * (0.3 if at_body else 1.0) - line * short)


def _lunge(actor: Fighter, strike: Strike, beat: Beat, thrown: Floats, target: Floats) -> Floats:
    """How far the striker must step in for the limb to reach; shape (3,), along the ground."""
    now = np.array([beat.at])
    root, yaw = actor.place(now)
    layers = actor.layers(now) + thrown
    trunk = trunk_of(actor.build, root, yaw, layers)
    side = _index(beat)
    socket = shoulders(actor.build, trunk, layers[:, TWIST])[side][0]
    length = actor.build.arm[0] if strike.limb == "elbow" else sum(actor.build.arm)
    if strike.limb == "foot":
        socket = trunk.pelvis[0] + left_of(yaw)[0] * (0.09 if side == 0 else -0.09)
        length = sum(actor.build.leg)
    line = level(target - root[0])
    gap = target - socket
    along = float(gap @ line)
    aside = float(gap @ gap) - along**2
    step = along - np.sqrt(max((length * strike.reach) ** 2 - aside, 0.01))
    return np.asarray(line * np.clip(step, -0.4, 1.1))


def _path(
    actor: Fighter, strike: Strike, beat: Beat, stroke: Stroke, wound: Floats, target: Floats
) -> tuple[Floats, Floats, Floats]:
    """Start, control and end of the reach in the striker's own axes, before the step in."""
    end = to_local(target[None], *actor.place(np.array([beat.at])))[0]
    start = sided(strike.chamber, beat.side)
    if strike.limb != "foot":
        then = np.array([stroke.reach_start])
        place = actor.place(then)
        trunk = trunk_of(actor.build, *place, actor.layers(then) + wound)
        start = to_local(trunk.point(start[None]), *place)[0]
    if strike.limb == "hands":
        end = end + sided((0.0, -0.10, 0.0), beat.side)
    control = (start + end) / 2 + 2 * sided(strike.bow, beat.side)
    return start, control, end
