"""A hit from the striker's side: where it is aimed, the step in, the path of the limb."""

from __future__ import annotations

import numpy as np

from .fighter import Fighter, Reach
from .figure import TWIST, shoulders, trunk_of
from .spec import Beat
from .strikes import STRIKES, Strike, bezier, body_change, sided
from .timing import Change, Stroke, eased, minimum_jerk
from .vectors import Floats, left_of, to_local

MISS = 0.13
"""Metres by which a strike at the head passes on the lens side: nobody connects."""
BODY_LEAD = 0.03
"""Seconds by which hips and shoulders go ahead of the limb."""
FURTHEST_ASIDE = 0.7
"""How far aside of the shoulder a strike may be aimed, as a share of its reach."""
STEP_LEAD = 0.16
"""Seconds by which the step in starts before the wind-up."""


def throw(
    actor: Fighter, other: Fighter, beat: Beat, lens: Floats, span: tuple[float, float]
) -> Reach:
    """Add a hit to the striker's part; returns the reach of the limb that strikes.

    Parameters
    ----------
    actor, other : Fighter
        Striker and receiver.
    beat : Beat
    lens : shape (3,)
        Place of the camera: the miss is on its side.
    span : tuple of float
        The striker's contact before and after this one, seconds: the strike starts after the one
        and is taken back before the other.
    """
    strike = STRIKES[beat.kind]
    wound, thrown = body_change(strike, beat.side)
    target = _target(actor, other, strike, beat, lens)
    lunge, target = _step_in(actor, beat, *_socket(actor, strike, beat, thrown), target)
    stroke = _stroke(strike, beat.at, 0.3, span)
    for _ in range(2):
        path = _path(actor, strike, beat, stroke, wound, target - lunge)
        length = _seconds(path, beat.speed, strike.share)
        stroke = _stroke(strike, beat.at, length, span)
    _add_body(actor, stroke, wound, thrown)
    actor.shifts.append(_stepping(stroke, lunge, max(stroke.start - STEP_LEAD, span[0] + 0.02)))
    limb = "hand" if strike.limb == "hands" else strike.limb
    reach = Reach(limb, _index(beat), stroke, *path)
    actor.reaches.append(reach)
    if strike.limb == "hands":
        other_hand = (point * (1, -1, 1) for point in path)
        actor.reaches.append(Reach(limb, 1 - reach.side, stroke, *other_hand))
    return reach


def _seconds(path: tuple[Floats, Floats, Floats], speed: float, share: float) -> float:
    """Seconds of a whole reach whose part up to the contact peaks at ``speed``, m/s."""
    done = np.linspace(0, share, 60)
    points = bezier(*path, minimum_jerk(done) / minimum_jerk(np.array(share)))
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return float(steps.max() / (done[1] * speed))


def _index(beat: Beat) -> int:
    return 0 if beat.side == "left" else 1


def _stroke(strike: Strike, contact: float, length: float, span: tuple[float, float]) -> Stroke:
    reach_start = contact - strike.share * length
    hurry = min(1.0, (span[1] - contact - 0.06) / (strike.hold + strike.back))
    return Stroke(
        contact,
        max(min(strike.wind_up, reach_start - span[0] - 0.02), 0.05),
        length,
        strike.share,
        strike.stop,
        strike.hold * hurry,
        strike.back * hurry,
    )


def _add_body(actor: Fighter, stroke: Stroke, wound: Floats, thrown: Floats) -> None:
    def body(times: Floats) -> Floats:
        carried = stroke.thrown(times, BODY_LEAD) - stroke.released(times)
        return stroke.wound(times)[:, None] * wound + carried[:, None] * thrown

    actor.changes.append(body)


def _stepping(stroke: Stroke, way: Floats, start: float) -> Change:
    """In to the contact, and slowly out again."""

    def shift(times: Floats) -> Floats:
        there = eased(times, start, stroke.contact - 0.02)
        back = eased(times, stroke.return_start, 2 * stroke.end - stroke.return_start)
        return (there - back)[:, None] * way

    return shift


def level(vector: Floats) -> Floats:
    """The vector's direction along the ground, as a unit vector."""
    flat = vector * (1, 0, 1)
    return np.asarray(flat / max(float(np.linalg.norm(flat)), 1e-9))


def _target(actor: Fighter, other: Fighter, strike: Strike, beat: Beat, lens: Floats) -> Floats:
    """A place beside the receiver on the lens side, and a little short of them.

    The less the camera sees the strike from the side, the more is left between: a gap along the
    line of sight cannot be seen, one across it can.
    """
    now = np.array([beat.at])
    trunk = other.trunk(now)
    spot = trunk.neck[0] + trunk.up[0] * strike.aim
    line = level(spot - actor.place(now)[0][0])
    to_lens = level(lens - spot)
    aside = to_lens - line * (to_lens @ line)
    across = float(np.linalg.norm(aside))
    at_body = strike.limb in ("foot", "hands")
    short = 0.05 + 0.12 * (1 - across) + (0.12 if at_body else 0.0)
    aside = aside * MISS * (1.0 if strike.limb == "hand" else 0.35)
    return np.asarray(spot + aside - line * (short + beat.short) + np.array([0, beat.over, 0]))


def _socket(actor: Fighter, strike: Strike, beat: Beat, thrown: Floats) -> tuple[Floats, float]:
    """Where the striking limb hangs at contact, before any step in, and how far it is to reach."""
    now = np.array([beat.at])
    root, yaw = actor.place(now)
    layers = actor.layers(now) + thrown
    trunk = trunk_of(actor.build, root, yaw, layers)
    side = _index(beat)
    if strike.limb == "foot":
        hip = trunk.pelvis[0] + left_of(yaw)[0] * (0.09 if side == 0 else -0.09)
        return hip, sum(actor.build.leg) * strike.reach
    shoulder = shoulders(actor.build, trunk, layers[:, TWIST])[side][0]
    bones = actor.build.arm[:1] if strike.limb == "elbow" else actor.build.arm
    return shoulder, sum(bones) * strike.reach


def _step_in(
    actor: Fighter, beat: Beat, socket: Floats, reach: float, target: Floats
) -> tuple[Floats, Floats]:
    """The step along the ground that lets the limb reach, (3,), and the target.

    A target too far aside or above to be reached from in front is drawn nearer.
    """
    line = level(target - actor.place(np.array([beat.at]))[0][0])
    gap = target - socket
    along = float(gap @ line)
    aside = gap - along * line
    aside = aside * min(1.0, FURTHEST_ASIDE * reach / float(np.linalg.norm(aside)))
    step = along - np.sqrt(reach**2 - float(aside @ aside))
    return line * np.clip(step, -0.4, 1.3), socket + along * line + aside


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
