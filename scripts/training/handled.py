"""Scenes in which somebody acts on things: keeps a ball up, chops, drums, stamps, beats a bag.

The bodies are those of the films of strikes; the things are drawn among their limbs. Contacts are
told where a limb or a tool really gets to, so what is struck is put there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final

import numpy as np
from captured import RECEIVER, Performer, performer
from figures import Thing
from scenes import Contact, Scene, Setting, seen_from, some_body
from shots import RATES, Clock, Floats, Rng, some_clock
from stand_ins import (
    LEVEL,
    UP,
    Row,
    Throw,
    kicking,
    leaned,
    reaching,
    standing,
    swaying,
    throwing,
)
from synthetic.motion import Beat, Manner, beats, ease, hump, raised, ring, unrest, wander

SECONDS: Final = 7.0
"""Of a scene."""
FASTER: Final = tuple(Fraction(rate) for rate in ("48", "50", "60000/1001", "60"))
SLOWED: Final = 0.12
"""Share of the films that are taken faster than they are shown."""
GRAVITY: Final = 9.81
AHEAD: Final = np.array([0.0, 0, 1])
"""Everybody here looks this way; their left is where X grows."""
LEFT: Final = np.array([1.0, 0, 0])
BALL: Final = (0.08, 0.14)
"""Radii of balls that are kept up or dribbled, metres: from a hand's to a basketball's."""
DROPPED: Final = 0.42
"""Seconds that a ball falls before the first touch."""
PARTS: Final = {"l_foot": 0.3, "r_foot": 0.3, "l_knee": 0.8, "r_knee": 0.8, "head": 1.9}
"""That keep a ball up, and how high they are then, metres, roughly."""
SLOWEST: Final = 0.8
"""Metres a second, at least, of a ball upward from one of them and downward to the next."""
IN_AIR: Final = 0.2
"""Share of the scenes with tools and hands in which they stop in the air, at nothing."""
CHOPS: Final = Manner((0.08, 0.2), (0.03, 0.25), (0.2, 0.6), (0.0, 0.4), (0.7, 1.2), 0.15)
BLOWS: Final = Manner((0.14, 0.3), (0.08, 0.5), (0.5, 1.1), (0.0, 0.5), (0.8, 1.1), 0.1)
NAILS: Final = Manner((0.08, 0.18), (0.01, 0.1), (0.15, 0.45), (0.0, 0.3), (0.6, 1.2), 0.5)
RESTS: Final = Manner((0.05, 0.14), (0.12, 0.4), (0.1, 0.3), (0.05, 0.6), (0.7, 1.2), 0.1)
ROLLS: Final = Manner((0.06, 0.16), (0.0, 0.03), (0.08, 0.22), (0.0, 0.15), (0.4, 1.2), 0.9)
"""How knives, axes, hammers, sticks that rest and sticks that rebound are used."""


def _begun(
    on: Setting, rng: Rng, sway: float = 0.02
) -> tuple[Performer, Clock, Floats, Fraction | None]:
    """Somebody who stands at the origin, and the clock of the film."""
    person, played = performer(rng, on.motion, *RECEIVER), None
    clock = some_clock(rng, SECONDS / 2, (0.0, SECONDS), (30, 62), (*RATES[:-3], *FASTER))
    if rng.random() < SLOWED:
        played = clock.rate
        clock = replace(clock, rate=clock.rate * Fraction(int(rng.integers(3, 9)), 2))
        clock = replace(clock, start=SECONDS / 2 - clock.frames / 2 / float(clock.rate))
    joints = standing(rng, person, clock.times, AHEAD, 0 * UP)
    if sway:
        joints = swaying(rng, joints, person.k, clock.times, float(rng.uniform(0, sway)))
    return person, clock, joints, played


def _from_anywhere(rng: Rng, widest: float = 1.9) -> Floats:
    """The level direction of a camera that is not behind somebody; ``widest`` is in radians."""
    angle = float(rng.uniform(-widest, widest))
    return np.array([math.sin(angle), 0, math.cos(angle)])


def _at(clock: Clock, path: Floats, seconds: float) -> Floats:
    return np.array([np.interp(seconds, clock.times, column) for column in path.T])


def _lowest(clock: Clock, path: Floats, seconds: float) -> Floats:
    """The lower of the places at the instants next to some second: where a stroke ends."""
    after = int(np.searchsorted(clock.times, seconds))
    return min(path[after - 1], path[after], key=lambda place: float(place[1]))


def _fixed(clock: Clock, points: Any) -> Floats:
    points = np.asarray(points, float)
    return np.broadcast_to(points, (len(clock.times), *points.shape))


def _folds(rng: Rng, most: int = 7) -> Floats:
    count = int(rng.integers(0, most))
    patches = (rng.uniform(0.1, 0.9, count), rng.uniform(-0.6, 0.6, count))
    return np.stack([*patches, rng.uniform(0.15, 0.4, count), rng.uniform(0.2, 1.4, count)], 1)


def _grey(rng: Rng) -> float:
    return float(rng.uniform(20, 235))


def some_ball(rng: Rng, clock: Clock, middle: Floats, radius: float) -> Thing:
    """A ball that turns as it flies; mostly light or dark."""
    spin = wander(rng, clock.times, float(rng.uniform(0.5, 5.0)))
    tilt = float(rng.uniform(-1, 1))
    pole = np.stack([np.sin(spin), np.full_like(spin, tilt), np.cos(spin)], 1)
    pole = pole / np.linalg.norm(pole, axis=1, keepdims=True) * radius
    grey = float(rng.uniform(170, 250) if rng.random() < 0.6 else rng.uniform(10, 150))
    return Thing("ball", np.stack([middle, middle + pole], 1), (radius, radius), grey, _folds(rng))


def some_block(
    rng: Rng, clock: Clock, top: Floats, size: tuple[float, float, float], shake: Floats | None
) -> Thing:
    """A block under a place: its width to the left, height, depth ahead; perhaps shaken."""
    turn = float(rng.normal(0, 0.3))
    along = np.array([math.cos(turn), 0, math.sin(turn)]) * size[0] / 2
    deep = np.array([-math.sin(turn), 0, math.cos(turn)]) * size[2] / 2
    upper = [top - along - deep, top + along - deep, top + along + deep, top - along + deep]
    points = _fixed(clock, [*upper, *(corner - UP * size[1] for corner in upper)])
    if shake is not None:
        points = points + shake[:, None, None] * UP
    return Thing("block", points, (0.0, 0.0), _grey(rng), _folds(rng, 1), 0.25)


def rod_of(rng: Rng, start: Floats, end: Floats, radii: tuple[float, float]) -> Thing:
    """A rod between two moving places."""
    return Thing("rod", np.stack([start, end], 1), radii, _grey(rng), _folds(rng, 3), -0.05)


def kept_up(on: Setting, rng: Rng) -> Scene:
    """A ball kept up with feet, knees and the head; it may fall and bounce in the end."""
    person, clock, joints, played = _begun(on, rng)
    k, times = person.k, clock.times
    radius = float(rng.uniform(*BALL))
    quick, usual = float(rng.uniform(0.3, 0.55)), tuple(rng.dirichlet((2.0, 2.0, 0.5, 0.5, 0.4)))
    touches: list[tuple[float, Floats]] = []
    now = max(0.0, clock.start - 1.0) + float(rng.uniform(0.1, 0.6))
    until = SECONDS if rng.random() < 0.7 else now + float(rng.uniform(0.8, 3.0))
    plan: list[tuple[float, str]] = []
    while now < min(until, times[-1] + 0.6):
        part = str(rng.choice(list(PARTS), p=usual))
        if plan:
            wait = quick + rng.exponential(0.16) if rng.random() < 0.8 else rng.uniform(0.6, 1.0)
            apart = abs(PARTS[part] - PARTS[plan[-1][1]]) + 0.25
            least = (SLOWEST + math.sqrt(SLOWEST**2 + 2 * GRAVITY * apart)) / GRAVITY
            now += max(float(wait), least)
        plan.append((now, part))
    for number, (second, part) in enumerate(plan):
        before = second - plan[number - 1][0] if number else 1.0
        joints = _touching(rng, joints, k, times, second, part, before)
    for second, part in plan:
        touches.append((second, _touched(clock, joints, k, second, part, radius)))
    path, bounces = _flown(clock, touches, radius)
    ball = some_ball(rng, clock, path, radius)
    contacts = [Contact(second, "thing", spot - UP * radius) for second, spot in touches]
    contacts += [Contact(second, "thing", spot) for second, spot in bounces]
    body = some_body(rng, joints, person, (ball,))
    middle = AHEAD * 0.2 + UP * float(rng.uniform(0.6, 1.0))
    sizes = (0.45, 1.3)
    return Scene((body,), clock, middle, _from_anywhere(rng), tuple(contacts), sizes, played)


def _touching(
    rng: Rng, joints: Floats, k: Row, times: Floats, second: float, part: str, before: float
) -> Floats:
    """Somebody whose foot, knee or head comes up to a ball."""
    if part == "head":
        size = float(rng.uniform(0.03, 0.12))
        dip = hump(times, second - 0.35, 0.22, 0.0, 0.13)
        rise = hump(times, second - 0.05, 0.08, 0.0, 0.3)
        return leaned(joints, k, ((0.4 * rise - dip) * size)[:, None] * UP)
    side = part[0]
    ankle = joints[int(np.argmin(np.abs(times - second))), k(f"{side}_ankle")]
    aside = LEFT * float(rng.normal(0, 0.07))
    if part.endswith("knee"):
        target = ankle + AHEAD * 0.12 + UP * float(rng.uniform(0.3, 0.45)) + aside
        chamber = ankle + AHEAD * 0.05 + UP * 0.08
    else:
        far, high = float(rng.uniform(0.12, 0.5)), float(rng.uniform(0.04, 0.4))
        target = ankle + AHEAD * far + UP * high + aside
        chamber = ankle + AHEAD * (far * 0.4 - 0.05) + UP * float(rng.uniform(0.01, 0.06))
    speed, stop = float(rng.uniform(0.7, 2.6)), float(rng.uniform(0.02, 0.06))
    wind, back = min(0.2, 0.4 * before), float(rng.uniform(0.18, 0.3))
    throw = Throw(second, chamber, target, 0 * UP, speed, stop, wind, 0.01, back)
    return kicking(joints, k, times, side, throw)


def _touched(
    clock: Clock, joints: Floats, k: Row, second: float, part: str, radius: float
) -> Floats:
    """Where the middle of a ball is as a foot, a knee or the head meets it."""
    if part == "head":
        return _at(clock, joints[:, k("head")], second) + UP * (0.22 + radius) + AHEAD * 0.04
    if part.endswith("knee"):
        hip, knee = (
            _at(clock, joints[:, k(f"{part[0]}_{name}")], second) for name in ("hip", "knee")
        )
        return 0.2 * hip + 0.8 * knee + UP * (0.05 + radius) + AHEAD * 0.02
    ankle, toe = (
        _at(clock, joints[:, k(f"{part[0]}_{name}")], second) for name in ("ankle", "toe")
    )
    return 0.35 * ankle + 0.65 * toe + UP * (0.03 + radius) + AHEAD * 0.03


Spots = list[tuple[float, Floats]]
"""Seconds, and where a ball is then."""


def _flown(clock: Clock, touches: Spots, radius: float) -> tuple[Floats, Spots]:
    """A ball's way, let fall before the first touch; bounces on the ground after the last."""
    times, path = clock.times, np.zeros((len(clock.times), 3))
    first, spot = touches[0]
    since = np.clip(times - (first - DROPPED), 0, DROPPED)
    path[:] = spot + (GRAVITY / 2 * (DROPPED**2 - since**2))[:, None] * UP
    for (start, here), (end, there) in pairwise(touches):
        _fly(times, path, start, end, here, there)
    return path, _bounced(times, path, touches, radius)


def _fly(
    times: Floats, path: Floats, start: float, end: float, here: Floats, there: Floats
) -> Floats:
    """Lay a parabola into a path; returns the speed with which it arrives."""
    span = end - start
    speed = (there - here) / span + UP * GRAVITY * span / 2
    part = (times >= start) & (times < end)
    since = (times[part] - start)[:, None]
    path[part] = here + speed * since - UP * GRAVITY * since**2 / 2
    return np.asarray(speed - UP * GRAVITY * span)


def _bounced(times: Floats, path: Floats, touches: Spots, radius: float) -> Spots:
    """Let a ball fly off and bounce on the ground; where and when it does so hard."""
    now, here = touches[-1]
    number = len(touches)
    speed = UP * (2.0 + 0.3 * (number % 5)) + 0.25 * LEFT * (number % 3 - 1)
    kept = 0.5 + 0.06 * (number % 5)
    bounces: Spots = []
    while now < times[-1]:
        up, high = float(speed[1]), float(here[1]) - radius
        span = (up + math.sqrt(max(up**2 + 2 * GRAVITY * high, 0.0))) / GRAVITY
        if span < 0.12:
            part = times >= now
            path[part] = here + (speed * LEVEL) * (times[part] - now)[:, None]
            break
        part = (times >= now) & (times < now + span)
        since = (times[part] - now)[:, None]
        path[part] = here + speed * since - UP * GRAVITY * since**2 / 2
        here = (here + speed * span) * LEVEL + UP * radius
        speed = speed * LEVEL + UP * kept * (GRAVITY * span - up)
        now += span
        bounces.append((now, here * LEVEL))
    return bounces


def dribbled(on: Setting, rng: Rng) -> Scene:
    """A ball that a hand drives to the ground again and again; the hand goes with it."""
    person, clock, joints, played = _begun(on, rng)
    k, times = person.k, clock.times
    side, radius = "lr"[int(rng.integers(2))], float(rng.uniform(*BALL))
    size, period = float(rng.uniform(0.45, 0.85)), float(rng.uniform(0.38, 0.85))
    grounded = [float(rng.uniform(0, period))]
    while grounded[-1] < SECONDS:
        grounded.append(grounded[-1] + period * float(rng.uniform(0.85, 1.15)))
    spot = AHEAD * float(rng.uniform(0.25, 0.45)) + (LEFT if side == "l" else -LEFT) * 0.25
    spots = [spot + rng.normal(0, 0.05, 3) * LEVEL + UP * radius for _ in grounded]
    share = np.interp(times, grounded, np.arange(len(grounded), dtype=float)) % 1
    share[times < grounded[0]] = 0.999
    along = np.stack([np.interp(times, grounded, column) for column in np.array(spots).T], 1)
    path = along + (size * 4 * share * (1 - share))[:, None] * UP
    led = np.clip(share, 0.3, 0.68)
    level = size * 4 * led * (1 - led)
    away = 0.06 * (ease(share, 0.68, 0.1) - ease(share, 0.12, 0.18))
    hand = along + (level + radius + 0.03 + np.abs(away))[:, None] * UP - 0.05 * AHEAD
    joints = reaching(joints, k, side, hand, np.ones(len(times)))
    ball = some_ball(rng, clock, path, radius)
    contacts = tuple(
        Contact(second, "thing", spot - UP * radius)
        for second, spot in zip(grounded, spots, strict=True)
    )
    body = some_body(rng, joints, person, (ball,))
    middle = spot * 0.5 + UP * float(rng.uniform(0.6, 0.9))
    return Scene((body,), clock, middle, _from_anywhere(rng), contacts, (0.35, 1.3), played)


def tooled(on: Setting, rng: Rng) -> Scene:
    """A knife, an axe or a hammer that comes down on a block; chips may fly, or nothing moves."""
    person, clock, joints, played = _begun(on, rng, 0.005)
    kind = str(rng.choice(("knife", "axe", "hammer", "bat"), p=(0.35, 0.25, 0.25, 0.15)))
    manner = {"knife": CHOPS, "axe": BLOWS, "hammer": NAILS, "bat": BLOWS}[kind]
    long, thick, lift, swing, high = {
        "knife": (0.28, 0.02, 0.16, 0.35, 0.9),
        "axe": (0.75, 0.018, 0.55, 1.5, 0.55),
        "hammer": (0.3, 0.016, 0.18, 0.9, 0.75),
        "bat": (0.7, 0.03, 0.4, 1.2, 0.8),
    }[kind]
    size = float(rng.uniform(0.75, 1.3))
    strokes = beats(rng, SECONDS, manner, 30)
    grip = AHEAD * float(rng.uniform(0.3, 0.42)) + UP * (high + float(rng.uniform(-0.1, 0.12)))
    side = "lr"[int(rng.integers(2))]
    share = 1 - 0.4 * np.clip(raised(clock.times, strokes), 0, 1)
    joints = _stooping(joints, person.k, grip, share)
    moved, tip, tools = _wielded(
        rng, clock, joints, person.k, side, strokes, grip, (long * size, thick), lift * size, swing
    )
    if kind in ("axe", "bat"):
        other = "l" if side == "r" else "r"
        held = tools[0].points
        moved = reaching(
            moved, person.k, other, held[:, 0] + 0.25 * (held[:, 1] - held[:, 0]),
            np.ones(len(clock.times)),
        )  # fmt: skip
    if kind == "axe" or (kind == "hammer"):
        tools.append(_head_of(rng, tools[0], 0.09 if kind == "axe" else 0.05))
    tall = float(rng.uniform(0.1, 0.5))
    wide = (float(rng.uniform(0.25, 0.9)), tall, float(rng.uniform(0.25, 0.6)))
    return _struck(rng, clock, person, moved, [(strokes, tip)], tools, wide, played)


def drummed(on: Setting, rng: Rng) -> Scene:
    """Sticks or bare hands, in turn or together, on a drum, a table or a cushion."""
    person, clock, joints, played = _begun(on, rng, 0.005)
    manner = RESTS if rng.random() < 0.4 else ROLLS
    bare, both = rng.random() < 0.35, rng.random() < 0.65
    long = 0.0 if bare else float(rng.uniform(0.25, 0.5))
    lift, swing = float(rng.uniform(0.04, 0.3)), 0.0 if bare else float(rng.uniform(0.3, 1.3))
    high, far = float(rng.uniform(0.8, 1.2)), float(rng.uniform(0.28, 0.42))
    struck, tools = [], []
    joints = _stooping(joints, person.k, AHEAD * far + UP * high, np.ones(len(clock.times)))
    for side in "lr" if both else "r":
        strokes = beats(rng, SECONDS, manner, 60)
        aside = (LEFT if side == "l" else -LEFT) * float(rng.uniform(0.08, 0.22))
        joints, tip, held = _wielded(
            rng, clock, joints, person.k, side, strokes, AHEAD * far + UP * high + aside,
            (long, 0.012), lift, swing,
        )  # fmt: skip
        struck.append((strokes, tip))
        tools += held
    tall = float(rng.uniform(0.08, 0.5))
    wide = (float(rng.uniform(0.35, 1.2)), tall, float(rng.uniform(0.3, 0.6)))
    return _struck(rng, clock, person, joints, struck, tools, wide, played)


def _stooping(joints: Floats, k: Row, grip: Floats, share: Floats) -> Floats:
    """Somebody whose knees bend, where ``share`` (instants,) is 1, so far that a hand gets down."""
    shoulder, elbow, hand = (joints[0, k(f"r_{joint}")] for joint in ("shoulder", "elbow", "hand"))
    arm = float(np.linalg.norm(elbow - shoulder) + np.linalg.norm(hand - elbow))
    low = float(shoulder[1]) - math.sqrt(max((0.9 * arm) ** 2 - (float(grip[2]) + 0.05) ** 2, 0.0))
    down = min(max(low - float(grip[1]), 0.0), 0.55)
    return leaned(joints, k, share[:, None] * (0.15 * AHEAD * (down > 0) - down * UP))


def _wielded(
    rng: Rng,
    clock: Clock,
    joints: Floats,
    k: Row,
    side: str,
    strokes: list[Beat],
    grip: Floats,
    tool: tuple[float, float],
    lift: float,
    swing: float,
) -> tuple[Floats, Floats, list[Thing]]:
    """A hand that comes down at each stroke, a rod in it: joints, its tip, the rod.

    ``grip`` is where the hand is then along the ground, and how high the rod's tip.
    ``tool`` is the rod's length (0 for a bare hand) and radius, ``lift`` how far the hand is
    raised, metres; ``swing`` how far the rod is turned up then, radians.
    """
    times = clock.times
    up = raised(times, strokes)
    whip = raised(times, strokes, float(rng.uniform(1.0, 1.8)))
    way = UP + rng.normal(0, 0.25, 3) * LEVEL - 0.3 * AHEAD * (tool[0] > 0.6)
    drift = np.stack([wander(rng, times, size, 0.1, 0.5) for size in (0.012, 0.0, 0.008)], 1)
    angle = float(rng.uniform(-0.35, 0.1))
    hand = grip - tool[0] * math.sin(angle) * UP + drift + (up * lift)[:, None] * way
    hand[:, :2] += unrest(rng, times, float(rng.uniform(0.0005, 0.002)))
    joints = reaching(joints, k, side, hand, np.ones(len(times)))
    held = joints[:, k(f"{side}_hand")]
    if not tool[0]:
        return joints, held - 0.05 * UP, []
    turned = angle + whip * swing
    aside = LEFT * float(rng.normal(0, 0.35))
    ahead = (AHEAD + aside) / np.linalg.norm(AHEAD + aside)
    tip = held + tool[0] * (np.cos(turned)[:, None] * ahead + np.sin(turned)[:, None] * UP)
    grade = float(rng.uniform(0.6, 1.6))
    return joints, tip, [rod_of(rng, held, tip, (tool[1], tool[1] * grade))]


def _head_of(rng: Rng, shaft: Thing, size: float) -> Thing:
    """The head of an axe or hammer: across the end of its shaft, downward."""
    start, tip = shaft.points[:, 0], shaft.points[:, 1]
    along = (tip - start) / np.linalg.norm(tip - start, axis=1, keepdims=True)
    down = np.cross(along, LEFT)
    down *= -np.sign(down[:, 1:2] + 1e-9) if abs(float(down[0, 1])) > 0.3 else 1.0
    middle = tip - 0.04 * along
    return rod_of(rng, middle - 0.3 * size * down, middle + size * down, (0.4 * size, 0.55 * size))


def _struck(
    rng: Rng,
    clock: Clock,
    person: Performer,
    joints: Floats,
    struck: list[tuple[list[Beat], Floats]],
    tools: list[Thing],
    wide: tuple[float, float, float],
    played: Fraction | None,
) -> Scene:
    """Put what is struck under the tips of tools; or nothing, or out of reach."""
    inside = [
        (beat, _lowest(clock, tip, beat.contact))
        for strokes, tip in struck
        for beat in strokes
        if clock.times[0] < beat.contact < clock.times[-1]
    ]
    spots = np.array([spot for _, spot in inside] or [struck[0][1][0]])
    lowest = max((float(thing.radii[1]) for thing in tools), default=0.05)
    top = spots.mean(axis=0) * LEVEL + UP * (float(spots[:, 1].min()) - 0.7 * lowest)
    contacts = [Contact(beat.contact, "thing", spot) for beat, spot in inside]
    things = list(tools)
    if rng.random() < IN_AIR:
        contacts = []
        top = top - UP * float(rng.uniform(0.12, 0.4)) + AHEAD * float(rng.uniform(0, 0.3))
    if contacts or rng.random() < 0.5:
        shake = None
        if contacts and rng.random() < 0.4:
            size = float(rng.uniform(0.002, 0.012))
            shake = sum((_rung(clock.times, beat.contact, -size) for beat, _ in inside), 0.0)
        things.append(
            some_block(rng, clock, top, wide, np.asarray(shake) if shake is not None else None)
        )
        if contacts and rng.random() < 0.5:
            things += _chips(rng, clock, top, inside)
    body = some_body(rng, joints, person, tuple(things))
    near = rng.random() < 0.6
    middle = spots.mean(axis=0) + UP * float(rng.uniform(0.02, 0.15))
    middle = middle - AHEAD * float(rng.uniform(0, 0.15))
    if not near:
        middle = (middle + joints[0, person.k("chest")]) / 2
    sizes = (1.3, 3.6) if near else (0.6, 1.3)
    ordered = tuple(sorted(contacts, key=lambda contact: contact.seconds))
    return Scene((body,), clock, middle, _from_anywhere(rng, 1.55), ordered, sizes, played)


def _rung(times: Floats, second: float, size: float) -> Floats:
    return ring(times, second, size, 9.0, 0.08)


def _chips(rng: Rng, clock: Clock, top: Floats, inside: list[tuple[Beat, Floats]]) -> list[Thing]:
    """Pieces that lie on a block and jump or roll away at one of the contacts."""
    chips = []
    for _ in range(int(rng.integers(1, 7))):
        size = float(rng.uniform(0.006, 0.035))
        home = top + rng.normal(0, 0.1, 3) * LEVEL + UP * size
        second = inside[int(rng.integers(len(inside)))][0].contact
        since = np.maximum(clock.times - second, 0)[:, None]
        speed = rng.normal(0, 0.7, 3) * LEVEL + UP * float(rng.uniform(0.2, 2.0))
        path = home + speed * since - UP * GRAVITY * since**2 / 2
        chips.append(some_ball(rng, clock, path, size))
    return chips


def stamped(on: Setting, rng: Rng) -> Scene:
    """Feet that stamp on the ground, or are set down softly among that."""
    person, clock, joints, played = _begun(on, rng)
    k, times, contacts = person.k, clock.times, []
    now = max(0.3, clock.start - 0.4)
    while now < times[-1]:
        now += float(rng.uniform(0.45, 1.2))
        side = "lr"[int(rng.integers(2))]
        ankle = _at(clock, joints[:, k(f"{side}_ankle")], now)
        chamber = ankle + UP * float(rng.uniform(0.1, 0.4)) + AHEAD * float(rng.uniform(0, 0.25))
        speed = float(rng.uniform(1.5, 5.0))
        throw = Throw(now, chamber, ankle, 0 * UP, speed, 0.002, 0.25, 0.1, 0.1)
        if rng.random() < 0.2:
            lift = hump(times, now - 0.5, 0.3, 0.0, 0.45)[:, None] * (chamber - ankle)
            for joint in ("ankle", "toe"):
                joints[:, k(f"{side}_{joint}")] += lift
            joints = leaned(joints, k, np.zeros((len(times), 3)))
            continue
        joints = kicking(joints, k, times, side, throw)
        contacts.append(Contact(now, "thing", _at(clock, joints[:, k(f"{side}_toe")], now)))
    body = some_body(rng, joints, person)
    middle = UP * float(rng.uniform(0.4, 0.9))
    return Scene((body,), clock, middle, _from_anywhere(rng), tuple(contacts), (0.4, 1.8), played)


def bagged(on: Setting, rng: Rng) -> Scene:
    """Fists and feet at a bag that hangs; some stop short of it and leave it hanging still."""
    person, clock, joints, played = _begun(on, rng, 0.03)
    k, times = person.k, clock.times
    kicks, radius = rng.random() < 0.3, float(rng.uniform(0.12, 0.22))
    far, high = (
        (0.75, float(rng.uniform(0.7, 1.1))) if kicks else (0.55, float(rng.uniform(1.1, 1.5)))
    )
    contacts, shoves, now = [], [], max(0.4, clock.start - 0.3)
    sides = ["l", "r"] if rng.random() < 0.6 else ["r"]
    while now < times[-1]:
        now += float(rng.uniform(0.9, 1.6) if kicks else rng.uniform(0.35, 1.2))
        side = sides[len(contacts) % len(sides)]
        short = float(rng.uniform(0.08, 0.3)) if rng.random() < 0.25 else 0.0
        target = AHEAD * (far - short) + UP * high + rng.normal(0, 0.05, 3) * (1, 1, 0)
        root = _at(clock, joints[:, k("hips" if kicks else "chest")], now)
        own = LEFT if side == "l" else -LEFT
        chamber = root + 0.2 * own + (AHEAD * 0.2 - UP * 0.35 if kicks else AHEAD * 0.08)
        speed = float(rng.uniform(2.5, 8.0))
        throw = Throw(
            now, chamber, target, own * float(rng.uniform(0, 0.15)), speed,
            float(rng.uniform(0.005, 0.03)), 0.2, float(rng.uniform(0.02, 0.1)), 0.25,
        )  # fmt: skip
        joints = (kicking if kicks else throwing)(joints, k, times, side, throw)
        tip = _at(clock, joints[:, k(f"{side}_{'toe' if kicks else 'hand'}")], now)
        if not short:
            contacts.append(Contact(now, "thing", tip))
            shoves.append((now, speed * float(rng.uniform(0.005, 0.02))))
    face = max(
        (float(contact.place[2]) for contact in contacts if contact.place is not None), default=far
    )
    swing = sum((ring(times, second, size, 0.7, 1.5) for second, size in shoves), 0 * times)
    low, tall = high - float(rng.uniform(0.3, 0.6)), float(rng.uniform(0.6, 1.1))
    hung = AHEAD * (face + radius + (0.0 if kicks else 0.04))
    bottom = hung + UP * low + swing[:, None] * AHEAD
    upper = hung + UP * (low + tall) + 0.4 * swing[:, None] * AHEAD
    bag = Thing("rod", np.stack([bottom, upper], 1), (radius, radius), _grey(rng), _folds(rng, 5))
    rope = rod_of(rng, upper, _fixed(clock, hung + UP * 3.2), (0.01, 0.01))
    body = some_body(rng, joints, person, (bag, rope))
    middle, side = AHEAD * 0.35 + UP * 1.1, seen_from(rng, AHEAD)
    return Scene((body,), clock, middle, side, tuple(contacts), (0.4, 1.1), played)


def batted(on: Setting, rng: Rng) -> Scene:
    """Balls that fly in and are struck back with a bat, a racket or the hand; some are missed."""
    person, clock, joints, played = _begun(on, rng, 0.02)
    k, times = person.k, clock.times
    side, radius = "lr"[int(rng.integers(2))], float(rng.uniform(0.03, 0.12))
    own, long = (LEFT if side == "l" else -LEFT), float(rng.choice((0.0, 0.25, 0.5, 0.8)))
    contacts, balls, now = [], list[Thing](), max(0.4, clock.start - 0.2)
    strokes: list[tuple[float, Floats]] = []
    while now < times[-1]:
        now += float(rng.uniform(0.9, 1.7))
        target = (
            AHEAD * 0.42 + own * float(rng.uniform(0.1, 0.35)) + UP * float(rng.uniform(0.9, 1.4))
        )
        chamber = target - AHEAD * float(rng.uniform(0.4, 0.7)) + own * 0.2
        speed, wind = float(rng.uniform(2, 6)), float(rng.uniform(0.25, 0.4))
        throw = Throw(now, chamber, target, own * 0.15, speed, 0.08, wind, 0.1, 0.35)
        joints = throwing(joints, k, times, side, throw)
        strokes.append((now, target))
    hand = joints[:, k(f"{side}_hand")]
    turn = sum((hump(times, s - 0.35, 0.35, 0.05, 0.4) for s, _ in strokes), 0 * times)
    back = sum((hump(times, s - 0.5, 0.2, 0.05, 0.2) for s, _ in strokes), 0 * times)
    across = turn[:, None] * (0.9 * own) + (0.35 + 0.4 * back - 0.3 * turn)[:, None] * UP
    way = across - (0.6 * back)[:, None] * AHEAD + 0.15 * AHEAD
    tip = hand + long * way / np.linalg.norm(way, axis=1, keepdims=True)
    for second, _ in strokes:
        spot = _at(clock, 0.3 * hand + 0.7 * tip, second) + AHEAD * (radius + 0.03)
        missed = rng.random() < 0.2
        spot = spot + (UP * float(rng.uniform(-0.5, 0.5)) + own * 0.3 if missed else 0)
        coming = np.array([rng.normal(0, 0.6), rng.uniform(-1, 2), -rng.uniform(3, 9)])
        since = (times - second)[:, None]
        off = np.array([rng.normal(0, 1.2), rng.uniform(0, 3), rng.uniform(4, 11)])
        pull = -UP * GRAVITY * since**2 / 2
        after = coming if missed else off
        path = spot + np.where(since < 0, coming, after) * since + pull
        balls.append(some_ball(rng, clock, path, radius))
        if not missed:
            contacts.append(Contact(second, "thing", spot - AHEAD * radius))
    tools = [rod_of(rng, hand, tip, (0.015, float(rng.uniform(0.02, 0.09))))] if long else []
    body = some_body(rng, joints, person, (*balls, *tools))
    middle = AHEAD * 0.4 + UP * 1.1
    return Scene((body,), clock, middle, _from_anywhere(rng), tuple(contacts), (0.35, 1.0), played)


SCENES: Final[dict[Callable[[Setting, Rng], Scene], float]] = {
    kept_up: 0.28, tooled: 0.24, drummed: 0.22, dribbled: 0.06, stamped: 0.05, bagged: 0.08,
    batted: 0.07,
}  # fmt: skip
"""Shares in which they are filmed."""
