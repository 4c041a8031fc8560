"""Scenes in which somebody is struck: by a captured strike, or by one that is acted with care."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from synthetic.motion import ease, wander

from .captured import RECEIVER, SAME_STRIKE_SECONDS, STRIKER, Performer, performer
from .scenes import Contact, Scene, Setting, seen_from, some_body
from .shots import Clock, Floats, Rng, some_clock
from .stand_ins import (
    CALM_SECONDS,
    GUARDED_SECONDS,
    HEAD,
    LEVEL,
    TRUNK,
    UP,
    WHOLE,
    Reaction,
    Row,
    Throw,
    facing,
    kicking,
    leaned,
    own_axes,
    placed,
    reacted,
    standing,
    stepping,
    swaying,
    throwing,
    walking,
)
from .varied_motion import VariedMotion

FAST: Final = 3.5
"""Metres a second from which a limb's movement that ends abruptly is not judged."""
NEVER: Final = 1e6
LOWEST: Final = 0.6
"""Metres above the ground under which a fast foot steps and strikes nobody."""
ONE_STRIKE: Final = 0.16
"""Seconds within which another movement belongs to a strike."""
USUAL_RATE: Final = 27
"""Frames a second by which receivers' earliness and lateness is reckoned."""
SECONDS: Final = 8.0
"""Of an acted scene; what happens first happens in the middle."""


def captured_strike(on: Setting, rng: Rng, near: bool = True) -> tuple[Scene, str]:
    """A captured strike at somebody, or at nobody near; and its group."""
    striker, found = _striker(on, rng)
    strike = found[int(rng.integers(len(found)))]
    group = _group(on, striker, strike["contact"])
    slow = 1.0
    if rng.random() < 0.6:
        slow = float(np.clip(rng.uniform(2, 6) / strike["speed"], 0.3, 1))
    others = on.stage.strikes(striker, min_speed=FAST / slow, outward=False)
    striker = replace(striker, pace=striker.pace * slow)
    contact = strike["contact"] / slow
    clock = some_clock(rng, contact, (0.0, striker.len))
    times = clock.times
    now = striker.at(contact)
    tip, hips = now[striker.k(strike["limb"])], now[striker.k("hips")]
    ahead = striker.vel(contact)[striker.k(strike["limb"])] * LEVEL
    ahead = ahead / np.linalg.norm(ahead)
    side = seen_from(rng, ahead)
    kind = "kick" if strike["limb"].endswith("toe") else "punch"
    reacts = _start_of(rng, contact, kind) if near else NEVER
    place = tip + ahead * float(rng.uniform(0.0, 0.28)) - side * float(rng.uniform(0.03, 0.2))
    if not near:
        place = (
            tip + ahead * float(rng.uniform(0.8, 2.0)) + np.cross(UP, ahead) * rng.normal(0, 0.8)
        )
    receiver, joints = _receiver(on, rng, clock, contact, ahead, tip, place)
    weights = HEAD if tip[1] > 1.2 else TRUNK
    joints = reacted(joints, receiver.k, times, _reaction(rng, reacts, ahead, weights))
    contacts = [Contact(contact, kind, tip, reacts)] if near else []
    for other in others:
        if abs(other["contact"] / slow - contact) > ONE_STRIKE:
            contacts.append(Contact(other["contact"] / slow, "other", scored=False))
    middle = (hips + tip) / 2
    middle = middle * LEVEL + UP * max(0.9, (hips[1] + tip[1]) / 2)
    bodies = [some_body(rng, striker.at(times), striker), some_body(rng, joints, receiver)]
    if not near and rng.random() < 0.5:
        del bodies[1]
    return Scene(tuple(bodies), clock, middle, side, tuple(contacts)), group


def _striker(on: Setting, rng: Rng) -> tuple[Performer, list[dict[str, Any]]]:
    """Somebody of some build who strikes more or less as the capture does, and the strikes."""
    striker = performer(rng, on.motion, *STRIKER)
    if rng.random() < 0.7:
        striker = replace(striker, motion=VariedMotion(on.motion, rng))
    high = [
        strike
        for strike in on.stage.strikes(striker)
        if striker.at(strike["contact"])[striker.k(strike["limb"]), 1] > LOWEST
    ]
    return striker, high


def _group(on: Setting, striker: Performer, contact: float) -> str:
    instant = contact * striker.pace
    if isinstance(striker.motion, VariedMotion):
        instant = float(striker.motion.instant(instant))
    nearest = int(np.argmin(np.abs(np.asarray(on.known) - instant)))
    near = abs(on.known[nearest] - instant) < SAME_STRIKE_SECONDS
    return f"strike {nearest}" if near else f"strike at {instant:.1f} s"


def _receiver(
    on: Setting, rng: Rng, clock: Clock, contact: float, ahead: Floats, tip: Floats, place: Floats
) -> tuple[Performer, Floats]:
    """Somebody who stands in the way of a strike, or moves about and is there at the contact."""
    receiver = performer(rng, on.motion, *RECEIVER)
    times, part = clock.times, "head" if tip[1] > 1.2 else "chest"
    if rng.random() < 0.45:
        receiver = replace(receiver, pace=float(rng.uniform(0.2, 0.38)))
        before, after = contact - times[0], times[-1] - contact
        begins = float(rng.uniform(before, max(before + 0.1, receiver.len - after)))
        joints = placed(receiver, times - contact, begins, -ahead, part, place, 0.3)
    else:
        spans = CALM_SECONDS[:1] if rng.random() < 0.5 else GUARDED_SECONDS
        begins = float(rng.uniform(*spans[int(rng.integers(len(spans)))])) / receiver.pace
        pace = float(rng.uniform(0.1, 0.4))
        joints = placed(receiver, (times - contact) * pace, begins, -ahead, part, place)
        joints = swaying(rng, joints, receiver.k, times, float(rng.uniform(0, 0.05)))
    if rng.random() < 0.5:
        joints = stepping(rng, joints, receiver.k, times, contact)
    return receiver, joints


def _start_of(rng: Rng, contact: float, kind: str) -> float:
    """The second at which a receiver starts to react: 7 usual frames early to 6 late."""
    early = rng.random() < (0.65 if kind == "kick" else 0.5)
    lag = float(rng.uniform(-7, 1) if early else rng.uniform(0, 4))
    lag = float(rng.uniform(3, 6)) if rng.random() < 0.08 else lag
    return contact + lag / USUAL_RATE


def _reaction(rng: Rng, start: float, ahead: Floats, weights: dict[str, float]) -> Reaction:
    soft = rng.random() < 0.6
    abrupt = bool(rng.random() < (0.5 if soft else 0.9))
    return Reaction(
        weights,
        start,
        ahead + UP * float(rng.uniform(-0.15, 0.15)) + rng.normal(0, 0.25, 3) * LEVEL,
        float(rng.uniform(0.05, 0.2) if soft else rng.uniform(0.14, 0.3)),
        float(rng.uniform(0.06, 0.16) if soft else rng.uniform(0.03, 0.07)),
        float(rng.uniform(0.4, 1.5)),
        abrupt,
        bool(rng.random() < 0.3),
    )


@dataclass(frozen=True)
class Style:
    """One way to strike; offsets are to the limb's own side, up and ahead, metres.

    Parameters
    ----------
    kind : str
        What the truth calls it.
    limbs : tuple of str
        Of ``hand`` and ``foot``: two of them go out together.
    root : str
        Joint from which the chamber is measured.
    chamber, bow : tuple of float
        Where the limb is wound up; how far the middle of its way stands off the straight line.
    part : str
        Joint of the receiver that it is aimed at.
    gap, speed : tuple of float
        Bounds: metres from hips to hips; metres a second on arrival.
    weights : dict
        How the receiver goes along.
    """

    kind: str
    limbs: tuple[str, ...]
    root: str
    chamber: tuple[float, float, float]
    bow: tuple[float, float, float]
    part: str
    gap: tuple[float, float]
    speed: tuple[float, float]
    weights: dict[str, float]


NEAR, AFAR, CARE = (0.62, 0.8), (0.85, 1.05), (1.5, 6.5)
STYLES: Final = (
    Style("punch", ("hand",), "chest", (0.2, 0.0, 0.1), (0, 0, 0), "head", NEAR, CARE, HEAD),
    Style("punch", ("hand",), "chest", (0.2, -0.1, 0.05), (0, 0, 0), "chest", NEAR, CARE, TRUNK),
    Style("punch", ("hand",), "chest", (0.5, 0.1, 0.0), (0.2, 0, 0.05), "head", NEAR, CARE, HEAD),
    Style("punch", ("hand",), "chest", (0.25, -0.4, 0.1), (0, -0.08, 0), "head", NEAR, CARE, HEAD),
    Style("punch", ("hand",), "chest", (0.2, 0.5, 0.05), (0, 0.15, 0.05), "head", NEAR, CARE, HEAD),
    Style("punch", ("hand",), "chest", (-0.2, 0.1, 0.2), (-0.1, 0, 0), "head", NEAR, CARE, HEAD),
    Style("kick", ("foot",), "hips", (0.1, -0.4, 0.25), (0, 0, 0), "spine", AFAR, (2, 7), TRUNK),
    Style("kick", ("foot",), "hips", (0.35, -0.3, 0.1), (0.25, 0, 0), "chest", AFAR, (2, 7), TRUNK),
    Style("kick", ("foot",), "hips", (0.1, -0.5, 0.1), (0, 0, 0), "hips", AFAR, (2, 6), TRUNK),
    Style("push", ("hand", "hand"), "chest", (0.2, -0.1, 0.1), (0, 0, 0), "chest", (0.55, 0.72),
          (1, 3.2), WHOLE),
)  # fmt: skip
ODDS: Final = (0.13, 0.08, 0.1, 0.04, 0.05, 0.05, 0.13, 0.1, 0.07, 0.25)
AGAIN, AGAIN_FEIGNED = 0.3, 0.7
"""How often another blow follows one that lands, and one that does not."""
FEIGNED: Final = 0.2
"""How likely an acted blow is to stop short, among films of strikes."""
SHORT: Final = (0.28, 0.6)
"""Metres by which it does, and the striker keeps further off; of those that land, up to 0.15."""


def acted_strike(on: Setting, rng: Rng, feigned: float = FEIGNED) -> Scene:
    """Somebody strikes, kicks or pushes as one does who takes care; the other one plays along.

    ``feigned`` is how likely each blow is to stop short, of which no contact is told.
    """
    contact = SECONDS / 2
    clock = some_clock(rng, contact, (0.0, SECONDS))
    times, ahead = clock.times, np.array([0.0, 0, 1])
    style = STYLES[int(rng.choice(len(STYLES), p=ODDS))]
    gap = float(rng.uniform(*style.gap))
    striker, receiver = (performer(rng, on.motion, *RECEIVER) for _ in range(2))
    ours, theirs = _come_together(rng, (striker, receiver), times, contact, gap)
    side, contacts, off = seen_from(rng, ahead), list[Contact](), 0.0
    while True:
        short = float(rng.uniform(*SHORT)) if rng.random() < feigned else 0.0
        stepped = ease(times, contact - 0.5, 0.4) if off or contacts else np.ones(len(times))
        ours, off = ours - ((short - off) * stepped)[:, None, None] * ahead, short
        ours, place = _thrown(
            rng, ours, theirs, (striker, receiver), times, contact, style, side, short
        )
        if short:
            answer = _flinch(rng, style, contact, ahead)
        else:
            answer = _answer_to(rng, style, contact, ahead)
            contacts.append(Contact(contact, style.kind, place, answer.start))
        theirs = reacted(theirs, receiver.k, times, answer)
        contact += float(rng.uniform(0.7, 1.5))
        if (
            rng.random() > (AGAIN if not short else AGAIN_FEIGNED)
            or style.kind == "push"
            or contact > times[-1]
        ):
            break
        same = [other for other in STYLES if other.limbs == style.limbs]
        style = same[int(rng.integers(len(same)))]
    bodies = some_body(rng, ours, striker), some_body(rng, theirs, receiver)
    return Scene(bodies, clock, ahead * gap / 2 + UP * 1.05, side, tuple(contacts))


def _come_together(
    rng: Rng, people: tuple[Performer, Performer], times: Floats, contact: float, gap: float
) -> tuple[Floats, Floats]:
    """Two who face one another; the first comes up, both sway, step, and drift together."""
    ahead = np.array([0.0, 0, 1])
    ours, theirs = (
        standing(rng, person, times, sign * ahead, place, bool(rng.random() < 0.4))
        for person, sign, place in zip(people, (1, -1), (0 * ahead, gap * ahead), strict=True)
    )
    if rng.random() < 0.5:
        seconds, far = float(rng.uniform(0.8, 1.8)), float(rng.uniform(0.3, 1.4))
        until = contact - float(rng.uniform(0.1, 0.8))
        coming = -far * (1 - ease(times, until - seconds, seconds))
        ours = walking(ours, people[0].k, coming, ahead)
    theirs = swaying(rng, theirs, people[1].k, times, float(rng.uniform(0, 0.05)))
    if rng.random() < 0.4:
        theirs = stepping(rng, theirs, people[1].k, times, contact)
    if rng.random() < 0.4:
        drift = np.stack([wander(rng, times, 0.15 * part, 0.1, 0.6) for part in (1, 0, 1)], 1)
        ours, theirs = ours + drift[:, None], theirs + drift[:, None]
    return ours, theirs


def _thrown(
    rng: Rng,
    ours: Floats,
    theirs: Floats,
    people: tuple[Performer, Performer],
    times: Floats,
    contact: float,
    style: Style,
    side: Floats,
    short: float,
) -> tuple[Floats, Floats]:
    """The striker's joints with a blow laid on top, and where it arrives."""
    index, k = int(np.argmin(np.abs(times - contact))), people[0].k
    hands = "rl" if len(style.limbs) == 2 else "rl"[int(rng.integers(2))]
    target = _aimed_at(rng, theirs[index, people[1].k(style.part)], ours[index], k, style, side)
    speed, stop = float(rng.uniform(*style.speed)), float(rng.uniform(0.015, 0.09))
    if short:
        stop = stop / 3
        target = target - facing(ours[index], k) * (short + speed * stop)
    wind, hold = float(rng.uniform(0.15, 0.45)), float(rng.uniform(0.05, 0.3))
    back = float(rng.uniform(0.3, 0.6))
    throws = {}
    for hand in hands:
        axes = own_axes(ours[index], k, hand)
        chamber = ours[index, k(style.root)] + np.asarray(style.chamber) @ axes
        spot = target + (0.13 * axes[0] if len(hands) == 2 else 0)
        bow = np.asarray(style.bow) @ axes
        throws[hand] = Throw(contact, chamber, spot, bow, speed, stop, wind, hold, back)
    ours = _weight_behind(ours, k, times, style, throws)
    moves = kicking if style.limbs[0] == "foot" else throwing
    for hand, throw in throws.items():
        ours = moves(ours, k, times, hand, throw)
    tip = "toe" if style.limbs[0] == "foot" else "hand"
    ends = np.mean([ours[:, k(f"{hand}_{tip}")] for hand in hands], axis=0)
    return ours, np.array([np.interp(contact, times, column) for column in ends.T])


def _aimed_at(
    rng: Rng, part: Floats, striker: Floats, k: Row, style: Style, side: Floats
) -> Floats:
    """Where a blow arrives: on the near side of the receiver, or short of it or beside it."""
    ahead = facing(striker, k)
    spot = part - ahead * 0.1 + rng.normal(0, 0.04, 3) + UP * 0.08 * (style.part == "head")
    if style.kind != "push" and rng.random() < 0.5:
        spot = spot - ahead * float(rng.uniform(0, 0.15)) + side * float(rng.uniform(0, 0.15))
    return np.asarray(spot)


def _weight_behind(
    ours: Floats, k: Row, times: Floats, style: Style, throws: dict[str, Throw]
) -> Floats:
    """Trunk and hips that go with a blow: out with a hand, back under a foot."""
    throw = next(iter(throws.values()))
    out = np.minimum(throw.out(times), 1.2) * throw.kept(times)
    wound = throw.wound(times) * throw.kept(times)
    sign = 0 if len(throws) == 2 else 1 if "r" in throws else -1
    foot = style.limbs[0] == "foot"
    far = -0.10 * wound if foot else 0.14 * out
    twist = sign * (0.3 * wound if foot else 0.65 * out - 0.3 * wound)
    shift = far[:, None] * facing(ours[0], k) - 0.03 * wound[:, None] * UP
    return leaned(ours, k, shift, twist)


def _answer_to(rng: Rng, style: Style, contact: float, ahead: Floats) -> Reaction:
    """How the receiver of an acted blow plays along; a push moves all of him."""
    if style.kind == "push":
        start = contact + float(rng.uniform(-1, 8)) / USUAL_RATE
        amount, rise = float(rng.uniform(0.12, 0.5)), float(rng.uniform(0.1, 0.3))
        abrupt = bool(rng.random() < 0.5)
        return Reaction(style.weights, start, ahead, amount, rise, 6.0, abrupt, True)
    return _reaction(rng, _start_of(rng, contact, style.kind), ahead, style.weights)


def _flinch(rng: Rng, style: Style, contact: float, ahead: Floats) -> Reaction:
    """What somebody does about a blow that stops short: nothing, or a little, gently."""
    start = contact + float(rng.uniform(-6, 8)) / USUAL_RATE
    amount = float(rng.uniform(0.02, 0.15)) if rng.random() < 0.55 else 0.0
    rise, back = float(rng.uniform(0.08, 0.2)), float(rng.uniform(0.3, 1.0))
    return Reaction(style.weights, start, ahead, amount, rise, back, False, rng.random() < 0.2)
