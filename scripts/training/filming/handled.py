"""Scenes in which somebody acts on things: keeps a ball up, chops, drums, stamps, beats a bag.

The bodies are those of the films of strikes; the things are drawn among their limbs. Contacts are
told where a limb or a tool really gets to, so what is struck is put there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any, Final

import numpy as np
from synthetic.motion import Beat, Manner, beats, ease, flights, hump, raised, ring, unrest, wander

from .captured import RECEIVER, Performer, performer
from .figures import Thing
from .scenes import Contact, Scene, Setting, seen_from, some_body
from .shots import RATES, Body, Clock, Floats, Rng, some_clock
from .stand_ins import LEVEL, UP, Throw, kicking, leaned, reaching, standing, swaying, throwing

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


@dataclass(eq=False)
class _Act:
    """Somebody at work: the joints as they are so far, and what has been touched."""

    rng: Rng
    person: Performer
    clock: Clock
    joints: Floats
    played: Fraction | None
    contacts: list[Contact] = field(default_factory=list)

    @property
    def times(self) -> Floats:
        """Seconds of all instants."""
        return self.clock.times

    def path(self, joint: str) -> Floats:
        """Places of a joint."""
        return self.joints[:, self.person.k(joint)]

    def at(self, path: Floats, seconds: float) -> Floats:
        """Where a path is at some second."""
        return np.array([np.interp(seconds, self.times, column) for column in path.T])

    def moved(self, way: Callable[..., Floats], *how: Any) -> None:
        """Lay a movement of `stand_ins` on top, one that asks for the instants."""
        self.joints = way(self.joints, self.person.k, self.times, *how)

    def led(self, side: str, path: Floats) -> Floats:
        """Lead a hand along a path; where it really gets to."""
        whole = np.ones(len(self.times))
        self.joints = reaching(self.joints, self.person.k, side, path, whole)
        return self.path(f"{side}_hand")

    def leant(self, shift: Floats) -> None:
        """Shift the trunk; the knees bend."""
        self.joints = leaned(self.joints, self.person.k, shift)

    def touch(self, seconds: float, place: Floats) -> None:
        """Note a contact."""
        self.contacts.append(Contact(seconds, "thing", place))

    def body(self, *things: Thing) -> Body:
        """Whoever acts, among these things."""
        return some_body(self.rng, self.joints, self.person, things)

    def scene(
        self, body: Body, middle: Floats, sizes: tuple[float, float], side: Floats | None = None
    ) -> Scene:
        """What a camera looks at, from ``side`` or wherever it is well seen."""
        side = _from_anywhere(self.rng) if side is None else side
        told = tuple(sorted(self.contacts, key=lambda contact: contact.seconds))
        return Scene((body,), self.clock, middle, side, told, sizes, self.played)


def _begun(on: Setting, rng: Rng, sway: float = 0.02) -> _Act:
    """Somebody who stands at the origin, and the clock of the film."""
    person, played = performer(rng, on.motion, *RECEIVER), None
    clock = some_clock(rng, SECONDS / 2, (0.0, SECONDS), (30, 62), (*RATES[:-3], *FASTER))
    if rng.random() < SLOWED:
        played = clock.rate
        clock = replace(clock, rate=clock.rate * Fraction(int(rng.integers(3, 9)), 2))
        clock = replace(clock, start=SECONDS / 2 - clock.frames / 2 / float(clock.rate))
    joints = standing(rng, person, clock.times, AHEAD, 0 * UP)
    joints = swaying(rng, joints, person.k, clock.times, float(rng.uniform(0, sway)))
    return _Act(rng, person, clock, joints, played)


def _from_anywhere(rng: Rng, widest: float = 1.9) -> Floats:
    """The level direction of a camera that is not behind somebody; ``widest`` is in radians."""
    angle = float(rng.uniform(-widest, widest))
    return np.array([math.sin(angle), 0, math.cos(angle)])


def _lowest(times: Floats, path: Floats, seconds: float) -> Floats:
    """The lower of the places at the instants next to some second: where a stroke ends."""
    after = int(np.searchsorted(times, seconds))
    return min(path[after - 1], path[after], key=lambda place: float(place[1]))


def _folds(rng: Rng, most: int = 7) -> Floats:
    count = int(rng.integers(0, most))
    patches = (rng.uniform(0.1, 0.9, count), rng.uniform(-0.6, 0.6, count))
    return np.stack([*patches, rng.uniform(0.15, 0.4, count), rng.uniform(0.2, 1.4, count)], 1)


def _grey(rng: Rng) -> float:
    return float(rng.uniform(20, 235))


def _own(side: str) -> Floats:
    """To somebody's left or right."""
    return LEFT if side == "l" else -LEFT


def _fallen(since: Floats) -> Floats:
    """How far something falls freely, (instants, 3)."""
    return -UP * GRAVITY * since**2 / 2


def some_ball(rng: Rng, times: Floats, middle: Floats, radius: float) -> Thing:
    """A ball that turns as it flies; mostly light or dark."""
    spin = wander(rng, times, float(rng.uniform(0.5, 5.0)))
    tilt = float(rng.uniform(-1, 1))
    pole = np.stack([np.sin(spin), np.full_like(spin, tilt), np.cos(spin)], 1)
    pole = pole / np.linalg.norm(pole, axis=1, keepdims=True) * radius
    grey = float(rng.uniform(170, 250) if rng.random() < 0.6 else rng.uniform(10, 150))
    return Thing("ball", np.stack([middle, middle + pole], 1), (radius, radius), grey, _folds(rng))


def some_block(rng: Rng, top: Floats, size: tuple[float, float, float], shake: Floats) -> Thing:
    """A block under a place: its width to the left, height, depth ahead; shaken (instants,)."""
    turn = float(rng.normal(0, 0.3))
    along = np.array([math.cos(turn), 0, math.sin(turn)]) * size[0] / 2
    deep = np.array([-math.sin(turn), 0, math.cos(turn)]) * size[2] / 2
    upper = [top - along - deep, top + along - deep, top + along + deep, top - along + deep]
    corners = np.array([*upper, *(corner - UP * size[1] for corner in upper)])
    points = corners + shake[:, None, None] * UP
    return Thing("block", points, (0.0, 0.0), _grey(rng), _folds(rng, 1), 0.25)


def rod_of(rng: Rng, start: Floats, end: Floats, radii: tuple[float, float]) -> Thing:
    """A rod between two moving places."""
    return Thing("rod", np.stack([start, end], 1), radii, _grey(rng), _folds(rng, 3), -0.05)


Spots = list[tuple[float, Floats]]
"""Seconds, and where a ball is then."""


def kept_up(on: Setting, rng: Rng) -> Scene:
    """A ball kept up with feet, knees and the head; it may fall and bounce in the end."""
    act = _begun(on, rng)
    radius = float(rng.uniform(*BALL))
    plan = _planned(rng, act.clock)
    for number, (second, part) in enumerate(plan):
        _touching(act, second, part, second - plan[number - 1][0] if number else 1.0)
    touches = [(second, _touched(act, second, part, radius)) for second, part in plan]
    path, bounces = _flown(act.times, touches, radius)
    ball = some_ball(rng, act.times, path, radius)
    for second, spot in touches + bounces:
        act.touch(second, spot - UP * radius)
    body = act.body(ball)
    middle = AHEAD * 0.2 + UP * float(rng.uniform(0.6, 1.0))
    return act.scene(body, middle, (0.45, 1.3))


def _planned(rng: Rng, clock: Clock) -> list[tuple[float, str]]:
    """When a ball is touched, and with what; as often as it can have risen and fallen."""
    quick, usual = float(rng.uniform(0.3, 0.55)), rng.dirichlet((2.0, 2.0, 0.5, 0.5, 0.4))
    now = max(0.0, clock.start - 1.0) + float(rng.uniform(0.1, 0.6))
    until = SECONDS if rng.random() < 0.7 else now + float(rng.uniform(0.8, 3.0))
    plan: list[tuple[float, str]] = []
    while now < min(until, clock.times[-1] + 0.6):
        part = str(rng.choice(list(PARTS), p=usual))
        if plan:
            wait = quick + rng.exponential(0.16) if rng.random() < 0.8 else rng.uniform(0.6, 1.0)
            apart = abs(PARTS[part] - PARTS[plan[-1][1]]) + 0.25
            least = (SLOWEST + math.sqrt(SLOWEST**2 + 2 * GRAVITY * apart)) / GRAVITY
            now += max(float(wait), least)
        plan.append((now, part))
    return plan


def _touching(act: _Act, second: float, part: str, before: float) -> None:
    """A foot, a knee or the head comes up to a ball."""
    rng, times = act.rng, act.times
    if part == "head":
        size = float(rng.uniform(0.03, 0.12))
        dip = hump(times, second - 0.35, 0.22, 0.0, 0.13)
        rise = hump(times, second - 0.05, 0.08, 0.0, 0.3)
        act.leant(((0.4 * rise - dip) * size)[:, None] * UP)
        return
    ankle = act.path(f"{part[0]}_ankle")[int(np.argmin(np.abs(times - second)))]
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
    act.moved(kicking, part[0], throw)


ON_BALL: Final = {
    "foot": (("ankle", 0.35), ("toe", 0.65), 0.03, 0.03),
    "knee": (("hip", 0.2), ("knee", 0.8), 0.05, 0.02),
}
"""Joints between which a ball is met, and their shares; how thick it is there, and how far ahead
the ball is, metres."""


def _touched(act: _Act, second: float, part: str, radius: float) -> Floats:
    """Where the middle of a ball is as a foot, a knee or the head meets it."""
    if part == "head":
        return act.at(act.path("head"), second) + UP * (0.22 + radius) + AHEAD * 0.04
    side, limb = part.split("_")
    *ends, thick, ahead = ON_BALL[limb]
    upper, lower = (part * act.at(act.path(f"{side}_{joint}"), second) for joint, part in ends)
    return upper + lower + UP * (thick + radius) + AHEAD * ahead


def _flown(times: Floats, touches: Spots, radius: float) -> tuple[Floats, Spots]:
    """A ball's way, let fall before the first touch; bounces on the ground after the last."""
    first, spot = touches[0]
    path = np.tile(spot, (len(times), 1))
    if len(touches) > 1:
        path, _ = flights(times, *map(list, zip(*touches, strict=True)), -UP * GRAVITY)
    early = times < first
    since = np.clip(times[early] - (first - DROPPED), 0, None)
    path[early] = spot + (GRAVITY / 2 * (DROPPED**2 - since**2))[:, None] * UP
    return path, _bounced(times, path, touches, radius)


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
        path[part] = here + speed * since + _fallen(since)
        here = (here + speed * span) * LEVEL + UP * radius
        speed = speed * LEVEL + UP * kept * (GRAVITY * span - up)
        now += span
        bounces.append((now, here))
    return bounces


def dribbled(on: Setting, rng: Rng) -> Scene:
    """A ball that a hand drives to the ground again and again; the hand goes with it."""
    act = _begun(on, rng)
    times = act.times
    side, radius = "lr"[int(rng.integers(2))], float(rng.uniform(*BALL))
    size, period = float(rng.uniform(0.45, 0.85)), float(rng.uniform(0.38, 0.85))
    grounded = [float(rng.uniform(0, period))]
    while grounded[-1] < SECONDS:
        grounded.append(grounded[-1] + period * float(rng.uniform(0.85, 1.15)))
    spot = AHEAD * float(rng.uniform(0.25, 0.45)) + _own(side) * 0.25
    spots = [spot + rng.normal(0, 0.05, 3) * LEVEL + UP * radius for _ in grounded]
    share = np.interp(times, grounded, np.arange(len(grounded), dtype=float)) % 1
    share[times < grounded[0]] = 0.999
    along = np.stack([np.interp(times, grounded, column) for column in np.array(spots).T], 1)
    path = along + (size * 4 * share * (1 - share))[:, None] * UP
    led = np.clip(share, 0.3, 0.68)
    level = size * 4 * led * (1 - led)
    away = 0.06 * (ease(share, 0.68, 0.1) - ease(share, 0.12, 0.18))
    hand = along + (level + radius + 0.03 + np.abs(away))[:, None] * UP - 0.05 * AHEAD
    act.led(side, hand)
    ball = some_ball(rng, times, path, radius)
    for second, place in zip(grounded, spots, strict=True):
        act.touch(second, place - UP * radius)
    body = act.body(ball)
    middle = spot * 0.5 + UP * float(rng.uniform(0.6, 0.9))
    return act.scene(body, middle, (0.35, 1.3))


KINDS: Final = {
    "knife": (CHOPS, 0.28, 0.02, 0.16, 0.35, 0.9, 0.0),
    "axe": (BLOWS, 0.75, 0.018, 0.55, 1.5, 0.55, 0.09),
    "hammer": (NAILS, 0.3, 0.016, 0.18, 0.9, 0.75, 0.05),
    "bat": (BLOWS, 0.7, 0.03, 0.4, 1.2, 0.8, 0.0),
}
"""How a tool is used; its length and radius, how far it is lifted, metres, and turned, radians; how
high what it strikes is; size of its head, metres."""


def tooled(on: Setting, rng: Rng) -> Scene:
    """A knife, an axe or a hammer that comes down on a block; chips may fly, or nothing moves."""
    act = _begun(on, rng, 0.005)
    kind = str(rng.choice(list(KINDS), p=(0.35, 0.25, 0.25, 0.15)))
    manner, long, thick, lift, swing, high, head = KINDS[kind]
    size = float(rng.uniform(0.75, 1.3))
    strokes = beats(rng, SECONDS, manner, 30)
    grip = AHEAD * float(rng.uniform(0.3, 0.42)) + UP * (high + float(rng.uniform(-0.1, 0.12)))
    side = "lr"[int(rng.integers(2))]
    _stoop(act, grip, 1 - 0.4 * np.clip(raised(act.times, strokes), 0, 1))
    tip, tools = _wielded(act, side, strokes, grip, (long * size, thick), lift * size, swing)
    if kind in ("axe", "bat"):
        held = tools[0].points
        act.led("l" if side == "r" else "r", held[:, 0] + 0.25 * (held[:, 1] - held[:, 0]))
    if head:
        tools.append(_head_of(rng, tools[0], head))
    tall = float(rng.uniform(0.1, 0.5))
    wide = (float(rng.uniform(0.25, 0.9)), tall, float(rng.uniform(0.25, 0.6)))
    return _struck(act, [(strokes, tip)], tools, wide)


def drummed(on: Setting, rng: Rng) -> Scene:
    """Sticks or bare hands, in turn or together, on a drum, a table or a cushion."""
    act = _begun(on, rng, 0.005)
    manner = RESTS if rng.random() < 0.4 else ROLLS
    bare, both = rng.random() < 0.35, rng.random() < 0.65
    long = 0.0 if bare else float(rng.uniform(0.25, 0.5))
    lift, swing = float(rng.uniform(0.04, 0.3)), 0.0 if bare else float(rng.uniform(0.3, 1.3))
    high, far = float(rng.uniform(0.8, 1.2)), float(rng.uniform(0.28, 0.42))
    struck, tools, spot = [], [], AHEAD * far + UP * high
    _stoop(act, spot, np.ones(len(act.times)))
    for side in "lr" if both else "r":
        strokes = beats(rng, SECONDS, manner, 60)
        grip = spot + _own(side) * float(rng.uniform(0.08, 0.22))
        tip, held = _wielded(act, side, strokes, grip, (long, 0.012), lift, swing)
        struck.append((strokes, tip))
        tools += held
    tall = float(rng.uniform(0.08, 0.5))
    wide = (float(rng.uniform(0.35, 1.2)), tall, float(rng.uniform(0.3, 0.6)))
    return _struck(act, struck, tools, wide)


def _stoop(act: _Act, grip: Floats, share: Floats) -> None:
    """Bend the knees, where ``share`` (instants,) is 1, so far that a hand gets down."""
    shoulder, elbow, hand = (act.path(f"r_{joint}")[0] for joint in ("shoulder", "elbow", "hand"))
    arm = float(np.linalg.norm(elbow - shoulder) + np.linalg.norm(hand - elbow))
    low = float(shoulder[1]) - math.sqrt(max((0.9 * arm) ** 2 - (float(grip[2]) + 0.05) ** 2, 0.0))
    down = min(max(low - float(grip[1]), 0.0), 0.55)
    act.leant(share[:, None] * (0.15 * AHEAD * (down > 0) - down * UP))


def _wielded(
    act: _Act,
    side: str,
    strokes: list[Beat],
    grip: Floats,
    tool: tuple[float, float],
    lift: float,
    swing: float,
) -> tuple[Floats, list[Thing]]:
    """A hand comes down at each stroke, a rod in it; its tip (instants, 3), and the rod.

    ``grip`` is where the hand is then along the ground, and how high the rod's tip.
    ``tool`` is the rod's length (0 for a bare hand) and radius, ``lift`` how far the hand is
    raised, metres; ``swing`` how far the rod is turned up then, radians.
    """
    rng, times = act.rng, act.times
    up = raised(times, strokes)
    whip = raised(times, strokes, float(rng.uniform(1.0, 1.8)))
    way = UP + rng.normal(0, 0.25, 3) * LEVEL - 0.3 * AHEAD * (tool[0] > 0.6)
    drift = np.stack([wander(rng, times, size, 0.1, 0.5) for size in (0.012, 0.0, 0.008)], 1)
    angle = float(rng.uniform(-0.35, 0.1))
    hand = grip - tool[0] * math.sin(angle) * UP + drift + (up * lift)[:, None] * way
    hand[:, :2] += unrest(rng, times, float(rng.uniform(0.0005, 0.002)))
    held = act.led(side, hand)
    if not tool[0]:
        return held - 0.05 * UP, []
    turned = angle + whip * swing
    aside = LEFT * float(rng.normal(0, 0.35))
    ahead = (AHEAD + aside) / np.linalg.norm(AHEAD + aside)
    tip = held + tool[0] * (np.cos(turned)[:, None] * ahead + np.sin(turned)[:, None] * UP)
    grade = float(rng.uniform(0.6, 1.6))
    return tip, [rod_of(rng, held, tip, (tool[1], tool[1] * grade))]


def _head_of(rng: Rng, shaft: Thing, size: float) -> Thing:
    """The head of an axe or hammer: across the end of its shaft, downward."""
    start, tip = shaft.points[:, 0], shaft.points[:, 1]
    along = (tip - start) / np.linalg.norm(tip - start, axis=1, keepdims=True)
    down = np.cross(along, LEFT)
    down *= -np.sign(down[:, 1:2] + 1e-9) if abs(float(down[0, 1])) > 0.3 else 1.0
    middle = tip - 0.04 * along
    return rod_of(rng, middle - 0.3 * size * down, middle + size * down, (0.4 * size, 0.55 * size))


def _struck(
    act: _Act,
    struck: list[tuple[list[Beat], Floats]],
    tools: list[Thing],
    wide: tuple[float, float, float],
) -> Scene:
    """Put what is struck under the tips of tools; or nothing, or out of reach."""
    rng, times = act.rng, act.times
    inside = [
        (beat, _lowest(times, tip, beat.contact))
        for strokes, tip in struck
        for beat in strokes
        if times[0] < beat.contact < times[-1]
    ]
    spots = np.array([spot for _, spot in inside] or [struck[0][1][0]])
    lowest = max((float(thing.radii[1]) for thing in tools), default=0.05)
    top = spots.mean(axis=0) * LEVEL + UP * (float(spots[:, 1].min()) - 0.7 * lowest)
    if rng.random() < IN_AIR:
        hits = []
        top = top - UP * float(rng.uniform(0.12, 0.4)) + AHEAD * float(rng.uniform(0, 0.3))
    else:
        hits = inside
    things = list(tools)
    if hits or rng.random() < 0.5:
        size = float(rng.uniform(0.002, 0.012)) if hits and rng.random() < 0.4 else 0.0
        shake = sum((ring(times, beat.contact, -size, 9.0, 0.08) for beat, _ in hits), 0 * times)
        things.append(some_block(rng, top, wide, shake))
        if hits and rng.random() < 0.5:
            things += _chips(rng, times, top, hits)
    for beat, spot in hits:
        act.touch(beat.contact, spot)
    body, near = act.body(*things), rng.random() < 0.6
    middle = spots.mean(axis=0) + UP * float(rng.uniform(0.02, 0.15))
    middle = middle - AHEAD * float(rng.uniform(0, 0.15))
    if not near:
        middle = (middle + act.path("chest")[0]) / 2
    return act.scene(body, middle, (1.3, 3.6) if near else (0.6, 1.3), _from_anywhere(rng, 1.55))


def _chips(rng: Rng, times: Floats, top: Floats, inside: list[tuple[Beat, Floats]]) -> list[Thing]:
    """Pieces that lie on a block and jump or roll away at one of the contacts."""
    chips = []
    for _ in range(int(rng.integers(1, 7))):
        size = float(rng.uniform(0.006, 0.035))
        home = top + rng.normal(0, 0.1, 3) * LEVEL + UP * size
        second = inside[int(rng.integers(len(inside)))][0].contact
        since = np.maximum(times - second, 0)[:, None]
        speed = rng.normal(0, 0.7, 3) * LEVEL + UP * float(rng.uniform(0.2, 2.0))
        chips.append(some_ball(rng, times, home + speed * since + _fallen(since), size))
    return chips


def stamped(on: Setting, rng: Rng) -> Scene:
    """Feet that stamp on the ground, or are set down softly among that."""
    act = _begun(on, rng)
    times, now = act.times, max(0.3, act.clock.start - 0.4)
    while now < times[-1]:
        now += float(rng.uniform(0.45, 1.2))
        side = "lr"[int(rng.integers(2))]
        ankle = act.at(act.path(f"{side}_ankle"), now)
        chamber = ankle + UP * float(rng.uniform(0.1, 0.4)) + AHEAD * float(rng.uniform(0, 0.25))
        speed = float(rng.uniform(1.5, 5.0))
        if rng.random() < 0.2:
            lift = hump(times, now - 0.5, 0.3, 0.0, 0.45)[:, None] * (chamber - ankle)
            for joint in ("ankle", "toe"):
                act.joints[:, act.person.k(f"{side}_{joint}")] += lift
            act.leant(np.zeros((len(times), 3)))
            continue
        throw = Throw(now, chamber, ankle, 0 * UP, speed, 0.002, 0.25, 0.1, 0.1)
        act.moved(kicking, side, throw)
        act.touch(now, act.at(act.path(f"{side}_toe"), now))
    body = act.body()
    return act.scene(body, UP * float(rng.uniform(0.4, 0.9)), (0.4, 1.8))


def bagged(on: Setting, rng: Rng) -> Scene:
    """Fists and feet at a bag that hangs; some stop short of it and leave it hanging still."""
    act = _begun(on, rng, 0.03)
    times, now = act.times, max(0.4, act.clock.start - 0.3)
    kicks, radius = rng.random() < 0.3, float(rng.uniform(0.12, 0.22))
    root, end, way = ("hips", "toe", kicking) if kicks else ("chest", "hand", throwing)
    far, high = 0.75 if kicks else 0.55, float(rng.uniform(*((0.7, 1.1) if kicks else (1.1, 1.5))))
    sides = "lr" if rng.random() < 0.6 else "r"
    faces, swing = list[float](), 0 * times
    while now < times[-1]:
        now += float(rng.uniform(0.9, 1.6) if kicks else rng.uniform(0.35, 1.2))
        side = sides[len(act.contacts) % len(sides)]
        short = float(rng.uniform(0.08, 0.3)) if rng.random() < 0.25 else 0.0
        target = AHEAD * (far - short) + UP * high + rng.normal(0, 0.05, 3) * (1, 1, 0)
        chamber = act.at(act.path(root), now) + 0.2 * _own(side)
        chamber = chamber + (AHEAD * 0.2 - UP * 0.35 if kicks else AHEAD * 0.08)
        speed = float(rng.uniform(2.5, 8.0))
        throw = Throw(
            now, chamber, target, _own(side) * float(rng.uniform(0, 0.15)), speed,
            float(rng.uniform(0.005, 0.03)), 0.2, float(rng.uniform(0.02, 0.1)), 0.25,
        )  # fmt: skip
        act.moved(way, side, throw)
        if not short:
            tip = act.at(act.path(f"{side}_{end}"), now)
            act.touch(now, tip)
            faces.append(float(tip[2]))
            swing = swing + ring(times, now, speed * float(rng.uniform(0.005, 0.02)), 0.7, 1.5)
    low, tall = high - float(rng.uniform(0.3, 0.6)), float(rng.uniform(0.6, 1.1))
    hung = AHEAD * (max(faces, default=far) + radius + (0.0 if kicks else 0.04))
    bottom = hung + UP * low + swing[:, None] * AHEAD
    upper = hung + UP * (low + tall) + 0.4 * swing[:, None] * AHEAD
    bag = Thing("rod", np.stack([bottom, upper], 1), (radius, radius), _grey(rng), _folds(rng, 5))
    hook = np.broadcast_to(hung + UP * 3.2, upper.shape)
    body = act.body(bag, rod_of(rng, upper, hook, (0.01, 0.01)))
    return act.scene(body, AHEAD * 0.35 + UP * 1.1, (0.4, 1.1), seen_from(rng, AHEAD))


def batted(on: Setting, rng: Rng) -> Scene:
    """Balls that fly in and are struck back with a bat, a racket or the hand; some are missed."""
    act = _begun(on, rng, 0.02)
    times, now = act.times, max(0.4, act.clock.start - 0.2)
    side, radius = "lr"[int(rng.integers(2))], float(rng.uniform(0.03, 0.12))
    own, long = _own(side), float(rng.choice((0.0, 0.25, 0.5, 0.8)))
    balls, strokes = list[Thing](), list[float]()
    while now < times[-1]:
        now += float(rng.uniform(0.9, 1.7))
        target = AHEAD * 0.42 + own * float(rng.uniform(0.1, 0.35))
        target = target + UP * float(rng.uniform(0.9, 1.4))
        chamber = target - AHEAD * float(rng.uniform(0.4, 0.7)) + own * 0.2
        speed, wind = float(rng.uniform(2, 6)), float(rng.uniform(0.25, 0.4))
        throw = Throw(now, chamber, target, own * 0.15, speed, 0.08, wind, 0.1, 0.35)
        act.moved(throwing, side, throw)
        strokes.append(now)
    hand = act.path(f"{side}_hand")
    turn = sum((hump(times, each - 0.35, 0.35, 0.05, 0.4) for each in strokes), 0 * times)
    back = sum((hump(times, each - 0.5, 0.2, 0.05, 0.2) for each in strokes), 0 * times)
    across = turn[:, None] * (0.9 * own) + (0.35 + 0.4 * back - 0.3 * turn)[:, None] * UP
    way = across - (0.6 * back)[:, None] * AHEAD + 0.15 * AHEAD
    tip = hand + long * way / np.linalg.norm(way, axis=1, keepdims=True)
    for second in strokes:
        spot = act.at(0.3 * hand + 0.7 * tip, second) + AHEAD * (radius + 0.03)
        missed = rng.random() < 0.2
        spot = spot + (UP * float(rng.uniform(-0.5, 0.5)) + own * 0.3 if missed else 0)
        coming = np.array([rng.normal(0, 0.6), rng.uniform(-1, 2), -rng.uniform(3, 9)])
        since = (times - second)[:, None]
        off = np.array([rng.normal(0, 1.2), rng.uniform(0, 3), rng.uniform(4, 11)])
        flight = np.where(since < 0, coming, coming if missed else off) * since
        balls.append(some_ball(rng, times, spot + flight + _fallen(since), radius))
        if not missed:
            act.touch(second, spot - AHEAD * radius)
    tools = [rod_of(rng, hand, tip, (0.015, float(rng.uniform(0.02, 0.09))))] if long else []
    return act.scene(act.body(*balls, *tools), AHEAD * 0.4 + UP * 1.1, (0.35, 1.0))


SCENES: Final[dict[Callable[[Setting, Rng], Scene], float]] = {
    kept_up: 0.28, tooled: 0.24, drummed: 0.22, dribbled: 0.06, stamped: 0.05, bagged: 0.08,
    batted: 0.07,
}  # fmt: skip
"""Shares in which they are filmed."""
