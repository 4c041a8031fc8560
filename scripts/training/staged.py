"""Films of people on the bench's stage: strikes of a capture, and people who strike nobody."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from captured import RECEIVER, SAME_STRIKE_SECONDS, STRIKER, Performer, opened, performer
from shots import (
    Body,
    Clock,
    Floats,
    Shot,
    first_shown,
    frames_between,
    pictures,
    some_camera,
    some_clock,
    some_greys,
    some_shows,
    some_wall,
)
from stand_ins import (
    CALM_SECONDS,
    GUARDED_SECONDS,
    HEAD,
    LEVEL,
    TRUNK,
    UP,
    WHOLE,
    Reaction,
    dancing,
    gesturing,
    leaned,
    placed,
    pushing,
    reaching,
    reacted,
    standing,
    stepping,
    swaying,
    walking,
)
from synthetic.motion import ease
from truths import Film, judged
from varied_motion import VariedMotion

Rng = np.random.Generator
SEEDS: Final = {"strike": 61, "calm": 62}
FAST: Final = 3.5
"""Metres a second from which a limb's movement that ends abruptly is not judged."""
PUSHES: Final = 0.15
"""Share of the films of strikes that are of pushes."""
NEVER: Final = 1e6
LOWEST: Final = 0.6
"""Metres above the ground under which a fast foot steps and strikes nobody."""
ONE_STRIKE: Final = 0.16
"""Seconds within which another movement belongs to a strike."""


@dataclass(frozen=True, eq=False)
class Setting:
    """The bench's stage, the motion of its capture, and the contacts of its strikes, seconds."""

    stage: Any
    motion: Any
    known: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Scene:
    """People in front of a camera, with what happens between them.

    Parameters
    ----------
    bodies : tuple of Body
    clock : Clock
    middle, side : float64, shape (3,)
        Where the camera looks and in which direction from there it stands.
    contacts : tuple
        Second, place in metres or None, second of the reaction or None, kind, scored.
    """

    bodies: tuple[Body, ...]
    clock: Clock
    middle: Floats
    side: Floats
    contacts: tuple[tuple[float, Floats | None, float | None, str, bool], ...] = ()


@cache
def setting(bench: Path) -> Setting:
    """What lies in a folder, read once."""
    stage, motion = opened(bench)
    return Setting(stage, motion, tuple(strike["contact"] for strike in stage.strikes(motion)))


def film_strike(on: Setting, number: int) -> Film:
    """Film ``number`` of a strike or a push."""
    rng = np.random.default_rng([SEEDS["strike"], number])
    if rng.random() < PUSHES:
        return _filmed(on, rng, _push(on, rng), "strike", f"push {number}")
    scene, group = _strike(on, rng)
    return _filmed(on, rng, scene, "strike", group)


def film_calm(on: Setting, number: int) -> Film:
    """Film ``number`` of people who strike nobody."""
    rng = np.random.default_rng([SEEDS["calm"], number])
    draw = rng.random()
    if draw < 0.2:
        scene, group = _strike(on, rng)
        struck = _filmed(on, rng, scene, "calm", group)
        return replace(struck, frames=struck.frames[::-1], hits=())
    if draw < 0.35:
        scene, group = _strike(on, rng, near=False)
        return replace(_filmed(on, rng, scene, "calm", group), hits=())
    build = (_dance, _meeting, _talk, _dance, _meeting)[int(rng.integers(5))]
    return _filmed(on, rng, build(on, rng), "calm", f"calm {number}")


FILMED: Final[dict[str, Callable[[Setting, int], Film]]] = {
    "strike": film_strike,
    "calm": film_calm,
}


def _filmed(on: Setting, rng: Rng, scene: Scene, kind: str, group: str) -> Film:
    clock = scene.clock
    camera, turns = some_camera(on.stage, rng, clock, scene.middle, scene.side, _share(rng))
    walkers = tuple(_behind(on, rng, scene) for _ in range(int(rng.choice((0, 0, 1, 2, 3)))))
    grain = float(np.exp(rng.uniform(np.log(0.5), np.log(5))))
    quality = int(rng.integers(25, 80)) if rng.random() < 0.5 else None
    wall, bodies = some_wall(on.stage, rng), scene.bodies + walkers
    shot = Shot(on.stage, camera, turns, clock, wall, bodies, grain, quality)
    main = [contact for contact in scene.contacts if contact[4]]
    around = round(clock.exact(main[0][0])) if main else clock.frames // 2
    shows = some_shows(rng, clock.frames, clock.rate, around)
    hits = [_hit(shot, shows, *contact) for contact in scene.contacts]
    found = tuple(hit for hit in hits if hit is not None)
    return Film(kind, group, clock.rate, pictures(shot, shows, rng), found)


def _hit(
    shot: Shot,
    shows: list[int],
    seconds: float,
    place: Floats | None,
    reaction: float | None,
    kind: str,
    scored: bool,
) -> dict[str, Any] | None:
    exact = shot.clock.exact(seconds)
    frame = first_shown(shows, exact)
    if frame is None:
        return None
    spot = None
    if place is not None:
        picture = shows[frame] * shot.clock.instants + shot.clock.instants // 2
        x, y = shot.camera.project(place, shot.turns[picture])[0]
        spot = (float(x / shot.camera.w), float(y / shot.camera.h))
    lag = None
    if reaction is not None:
        lag = frames_between(shows, exact, shot.clock.exact(reaction))
    hit = judged(frame, spot, lag, kind, len(shows))
    return hit | {"scored": hit["scored"] and scored}


def _share(rng: Rng) -> float:
    """Height of a person in heights of the picture."""
    draw = rng.random()
    bounds = (0.05, 0.12) if draw < 0.1 else (0.12, 0.4) if draw < 0.3 else (0.4, 1.05)
    return float(np.exp(rng.uniform(*np.log(bounds))))


def _behind(on: Setting, rng: Rng, scene: Scene) -> Body:
    """Somebody who walks or stands further from the camera, or passes before it."""
    person = performer(rng, on.motion, *RECEIVER)
    times = scene.clock.times
    across = np.cross(scene.side, UP) * (1 if rng.integers(2) else -1)
    away = float(rng.uniform(0.9, 4.5)) if rng.random() < 0.93 else -1.5
    place = scene.middle * LEVEL - scene.side * away
    place = place + across * float(rng.uniform(-1.8, 1.8))
    if rng.random() < 0.4:
        ahead = across * math.cos(1.0) + scene.side * math.sin(1.0)
        joints = swaying(rng, standing(rng, person, times, ahead, place), person.k, times, 0.03)
    else:
        pace = float(rng.uniform(0.7, 1.6))
        stood = standing(rng, person, times, across, place)
        joints = walking(stood, person.k, (times - times.mean()) * pace, across)
    return _body(rng, joints, person)


def _body(rng: Rng, joints: Floats, person: Performer) -> Body:
    return Body(joints, person.k, some_greys(rng), int(rng.integers(1 << 20)))


def _strike(on: Setting, rng: Rng, near: bool = True) -> tuple[Scene, str]:
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
    side = _seen_from(rng, ahead)
    lag = float(rng.uniform(-7, 1) if rng.random() < 0.5 else rng.uniform(0, 4))
    lag = float(rng.uniform(3, 6)) if rng.random() < 0.08 else lag
    reacts = clock.seconds(clock.exact(contact) + lag) if near else NEVER
    place = tip + ahead * float(rng.uniform(0.0, 0.28)) - side * float(rng.uniform(0.03, 0.2))
    if not near:
        place = (
            tip + ahead * float(rng.uniform(0.8, 2.0)) + np.cross(UP, ahead) * rng.normal(0, 0.8)
        )
    receiver, joints = _receiver(on, rng, clock, contact, ahead, tip, place)
    joints = reacted(joints, receiver.k, times, _reaction(rng, reacts, ahead, tip))
    kind = "kick" if strike["limb"].endswith("toe") else "punch"
    contacts = [(contact, tip, reacts, kind, True)] if near else []
    for other in others:
        if abs(other["contact"] / slow - contact) > ONE_STRIKE:
            contacts.append((other["contact"] / slow, None, None, "other", False))
    middle = (hips + tip) / 2
    middle = middle * LEVEL + UP * max(0.9, (hips[1] + tip[1]) / 2)
    bodies = _body(rng, striker.at(times), striker), _body(rng, joints, receiver)
    if not near and rng.random() < 0.5:
        bodies = bodies[:1]
    return Scene(bodies, clock, middle, side, tuple(contacts)), group


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


def _seen_from(rng: Rng, ahead: Floats) -> Floats:
    """The level direction of the camera: mostly from the side of a strike."""
    bounds = (50, 130) if rng.random() < 0.75 else (20, 160)
    angle = math.radians(float(rng.uniform(*bounds)) * (1 if rng.integers(2) else -1))
    angle += math.atan2(ahead[0], ahead[2])
    return np.array([math.sin(angle), 0, math.cos(angle)])


def _receiver(
    on: Setting, rng: Rng, clock: Clock, contact: float, ahead: Floats, tip: Floats, place: Floats
) -> tuple[Performer, Floats]:
    """Somebody who stands in the way of a strike, or moves about and is there at the contact."""
    receiver = performer(rng, on.motion, *RECEIVER)
    times, part = clock.times, "head" if tip[1] > 1.2 else "chest"
    if rng.random() < 0.45:
        slow = float(rng.uniform(0.25, 0.6))
        receiver = replace(receiver, pace=slow)
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


def _reaction(rng: Rng, start: float, ahead: Floats, tip: Floats) -> Reaction:
    soft = rng.random() < 0.6
    abrupt = bool(rng.random() < (0.5 if soft else 0.9))
    return Reaction(
        HEAD if tip[1] > 1.2 else TRUNK,
        start,
        ahead + UP * float(rng.uniform(-0.15, 0.15)) + rng.normal(0, 0.25, 3) * LEVEL,
        float(rng.uniform(0.05, 0.2) if soft else rng.uniform(0.14, 0.3)),
        float(rng.uniform(0.06, 0.16) if soft else rng.uniform(0.03, 0.07)),
        float(rng.uniform(0.4, 1.5)),
        abrupt,
        bool(rng.random() < 0.3),
    )


def _push(on: Setting, rng: Rng) -> Scene:
    """Two hands laid on a chest, slowly, and a body that gives way."""
    contact = 4.0
    clock = some_clock(rng, contact, (0.0, 8.0))
    times = clock.times
    ahead = np.array([0.0, 0, 1])
    pusher, pushed = (performer(rng, on.motion, *RECEIVER) for _ in range(2))
    gap = float(rng.uniform(0.55, 0.72))
    theirs = standing(rng, pushed, times, -ahead, ahead * gap)
    theirs = swaying(rng, theirs, pushed.k, times, float(rng.uniform(0, 0.04)))
    index = int(np.argmin(np.abs(times - contact)))
    speed = float(rng.uniform(1, 3.2))
    chest = theirs[index, pushed.k("chest")] - ahead * 0.12 + UP * float(rng.uniform(-0.05, 0.12))
    ours = standing(rng, pusher, times, ahead, np.zeros(3))
    ours = pushing(ours, pusher.k, times, contact, chest, speed)
    coming = float(rng.choice((0, 0.3, 0.8)))
    ours = ours - coming * ahead * (1 - ease(times, contact - 1.4, 1.2))[:, None, None]
    lag = float(rng.uniform(-1, 8))
    reacts = clock.seconds(clock.exact(contact) + lag)
    way = ahead + UP * float(rng.uniform(-0.1, 0.1))
    amount, rise = float(rng.uniform(0.12, 0.5)), float(rng.uniform(0.1, 0.3))
    gently = bool(rng.random() < 0.5)
    answer = Reaction(WHOLE, reacts, way, amount, rise, 6.0, not gently, True)
    theirs = reacted(theirs, pushed.k, times, answer)
    bodies = _body(rng, ours, pusher), _body(rng, theirs, pushed)
    middle = ahead * gap / 2 + UP * 1.0
    side = _seen_from(rng, ahead)
    return Scene(bodies, clock, middle, side, ((contact, chest, reacts, "push", True),))


def _dance(on: Setting, rng: Rng) -> Scene:
    """One, two or three who dance, sway, exercise or gesture beside one another."""
    clock = some_clock(rng, 4.0, (0.0, 8.0))
    times, bodies = clock.times, []
    side = _seen_from(rng, np.array([0.0, 0, 1]))
    for number in range(int(rng.integers(1, 4))):
        person = performer(rng, on.motion, *RECEIVER)
        turn = rng.normal(0, 0.8)
        ahead = np.array([math.sin(turn), 0, math.cos(turn)])
        ahead = ahead if rng.random() < 0.5 else side
        place = np.array([rng.normal(0, 0.3), 0, 0.75 * number]) - (0, 0, 0.5)
        joints = standing(rng, person, times, ahead, place)
        joints = dancing(rng, joints, person.k, times)
        if rng.random() < 0.5:
            joints = stepping(rng, joints, person.k, times, 4.0)
        bodies.append(_body(rng, joints, person))
    return Scene(tuple(bodies), clock, UP * 1.0, side)


def _talk(on: Setting, rng: Rng) -> Scene:
    """Two who talk with their hands."""
    clock = some_clock(rng, 4.0, (0.0, 8.0))
    times, bodies = clock.times, []
    ahead = np.array([0.0, 0, 1])
    apart = float(rng.uniform(0.8, 1.5))
    for sign in (1, -1):
        person = performer(rng, on.motion, *RECEIVER)
        joints = standing(rng, person, times, sign * ahead, -sign * ahead * apart / 2)
        joints = swaying(rng, joints, person.k, times, float(rng.uniform(0.01, 0.04)))
        pace = float(rng.uniform(0.6, 1.6))
        joints = gesturing(rng, joints, person.k, times, pace)
        bodies.append(_body(rng, joints, person))
    return Scene(tuple(bodies), clock, UP * 1.1, _seen_from(rng, ahead))


def _meeting(on: Setting, rng: Rng) -> Scene:
    """Two who come together to shake hands or to embrace, and part again or do not."""
    clock = some_clock(rng, 4.0, (0.0, 8.0), (35, 55))
    times, embrace = clock.times, rng.random() < 0.5
    ahead = np.array([0.0, 0, 1])
    apart = float(rng.uniform(0.3, 0.42) if embrace else rng.uniform(0.75, 0.95))
    seconds = float(rng.uniform(0.8, 1.8))
    far = float(rng.uniform(0.2, 1.0))
    parts = float(rng.uniform(0.8, 2.0))
    share = ease(times, 4 - 0.45, 0.5) - ease(times, 4 + parts, 0.5)
    people = [performer(rng, on.motion, *RECEIVER) for _ in range(2)]
    posed = []
    for sign, person in zip((1, -1), people, strict=True):
        joints = standing(rng, person, times, sign * ahead, -sign * ahead * apart / 2)
        coming = -far * (1 - ease(times, 4 - seconds, seconds)) - far * ease(times, 4 + parts, 1.2)
        posed.append(walking(joints, person.k, coming, sign * ahead))
    beat = 0.06 * np.sin(2 * np.pi * rng.uniform(1.5, 3) * times) * share
    grip = UP * 1.0 + beat[:, None] * UP
    bodies = []
    for number, (sign, person) in enumerate(zip((1, -1), people, strict=True)):
        joints, other = posed[number], posed[1 - number]
        goals = {"r": grip}
        if embrace:
            joints = leaned(joints, person.k, (0.06 * share)[:, None] * ahead * sign)
            back = other[:, people[1 - number].k("chest")] + sign * 0.14 * ahead
            pat = (
                0.05
                * np.sin(2 * np.pi * rng.uniform(1, 3) * times)[:, None]
                * ahead
                * share[:, None]
            )
            goals = {"r": back + UP * 0.05 + pat, "l": back - UP * 0.12}
        for hand, goal in goals.items():
            joints = reaching(joints, person.k, hand, goal, share)
        bodies.append(_body(rng, joints, person))
    return Scene(tuple(bodies), clock, UP * 1.0, _seen_from(rng, ahead))
