"""Films of people on the bench's stage: they strike one another, or nobody."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from synthetic.motion import drawn
from synthetic.truth import leave_unseen, thumbnail

from . import handled
from .captured import RECEIVER, opened, performer
from .scenes import Contact, Scene, Setting, some_body
from .shots import (
    Body,
    Rng,
    Shot,
    first_shown,
    frames_between,
    pictures,
    some_camera,
    some_floor,
    some_shows,
    some_wall,
)
from .stand_ins import LEVEL, UP, standing, swaying, walking
from .struck import FEIGNED, acted_strike, captured_strike
from .truths import Film, judged
from .unstruck import SCENES

SEEDS: Final = {"strike": 61, "calm": 62, "handled": 65}
ACTED: Final = 0.45
"""Share of the films of strikes that are acted, not captured."""
BACKWARDS, FEINTS, AT_NOBODY = 0.15, 0.22, 0.13
"""Shares of the films of calm people: strikes backwards, that stop short, with nobody near."""


GRAIN: Final = 2.0
"""Levels of grain that films of things are reckoned to have."""
APART: Final = 2
"""Frames within which a second hit is not scored."""


@cache
def setting(bench: Path) -> Setting:
    """What lies in a folder, read once."""
    stage, motion = opened(bench)
    return Setting(stage, motion, tuple(strike["contact"] for strike in stage.strikes(motion)))


def film_strike(on: Setting, number: int, feints: bool) -> Film:
    """Film ``number`` of a strike, a kick or a push; with ``feints`` some stop short."""
    rng = np.random.default_rng([SEEDS["strike"], number])
    if rng.random() < ACTED:
        scene = acted_strike(on, rng, FEIGNED if feints else 0.0)
        return _filmed(on, rng, scene, "strike", f"acted {number}")
    scene, group = captured_strike(on, rng)
    return _filmed(on, rng, scene, "strike", group)


def film_calm(on: Setting, number: int, feints: bool) -> Film:
    """Film ``number`` of people who strike nobody; with ``feints`` some make as if to."""
    rng = np.random.default_rng([SEEDS["calm"], number])
    draw = rng.random()
    if draw < BACKWARDS:
        acted = rng.random() < ACTED
        scene, group = (
            (acted_strike(on, rng, 0.0), f"calm {number}") if acted else captured_strike(on, rng)
        )
        struck = _filmed(on, rng, scene, "calm", group)
        return replace(struck, frames=struck.frames[::-1], hits=())
    if feints and draw < BACKWARDS + FEINTS:
        return _filmed(on, rng, acted_strike(on, rng, 1.0), "calm", f"calm {number}")
    if draw < BACKWARDS + FEINTS + AT_NOBODY:
        scene, group = captured_strike(on, rng, near=False)
        return replace(_filmed(on, rng, scene, "calm", group), hits=())
    scene = SCENES[int(rng.integers(len(SCENES)))](on, rng)
    return _filmed(on, rng, scene, "calm", f"calm {number}")


def film_handled(on: Setting, number: int) -> Film:
    """Film ``number`` of somebody who acts on things."""
    rng = np.random.default_rng([SEEDS["handled"], number])
    made = drawn(rng, handled.SCENES)
    filmed = _filmed(on, rng, made(on, rng), "thing", f"handled {number}")
    height, width = filmed.frames[0].shape
    placed = [hit | {"y": hit["y"] * height / width} for hit in filmed.hits]
    seen = leave_unseen(placed, [thumbnail(frame) for frame in filmed.frames], GRAIN)
    told = (hit | {"scored": near["scored"]} for hit, near in zip(filmed.hits, seen, strict=True))
    return replace(filmed, hits=tuple(told))


FILMED: Final[dict[str, Callable[[Setting, int, bool], Film]]] = {
    "strike": film_strike,
    "calm": film_calm,
}


def _filmed(on: Setting, rng: Rng, scene: Scene, kind: str, group: str) -> Film:
    clock = scene.clock
    camera, turns = some_camera(
        on.stage, rng, clock, scene.middle, scene.side, _share(rng, scene.sizes)
    )
    walkers = tuple(_behind(on, rng, scene) for _ in range(int(rng.choice((0, 0, 1, 2, 3)))))
    grain = float(np.exp(rng.uniform(np.log(0.5), np.log(5))))
    quality = int(rng.integers(25, 80)) if rng.random() < 0.5 else None
    wall = some_wall(on.stage, rng)
    floor = some_floor(on.stage, rng, camera, scene.middle)
    bodies = scene.bodies + walkers
    shot = Shot(camera, turns, clock, wall, floor, bodies, grain, quality)
    main = [contact.seconds for contact in scene.contacts if contact.scored]
    around = round(clock.exact(main[0])) if main else clock.frames // 2
    shows = some_shows(rng, clock.frames, clock.rate, around)
    hits = [_hit(shot, shows, contact) for contact in scene.contacts]
    found = tuple(hit for hit in hits if hit is not None)
    drawn = pictures(shot, shows, rng)
    return Film(kind, group, scene.played or clock.rate, drawn, _parted(found))


def _parted(hits: tuple[dict[str, Any], ...]) -> tuple[dict[str, Any], ...]:
    """Of hits too near one another to be told apart, only the first is scored."""
    kept: list[dict[str, Any]] = []
    for hit in sorted(hits, key=lambda one: one["frame"]):
        near = any(hit["frame"] - one["frame"] < APART and one["scored"] for one in kept)
        kept.append(hit | {"scored": hit["scored"] and not near})
    return tuple(kept)


def _hit(shot: Shot, shows: list[int], contact: Contact) -> dict[str, Any] | None:
    """What the film's truth tells of a contact; None if the film does not show it."""
    exact = shot.clock.exact(contact.seconds)
    frame = first_shown(shows, exact)
    if frame is None:
        return None
    spot = None
    if contact.place is not None:
        picture = shows[frame] * shot.clock.instants + shot.clock.instants // 2
        x, y = shot.camera.project(contact.place, shot.turns[picture])[0]
        spot = (float(x / shot.camera.w), float(y / shot.camera.h))
    lag = None
    if contact.reaction is not None:
        lag = frames_between(shows, exact, shot.clock.exact(contact.reaction))
    hit = judged(frame, spot, lag, contact.kind, len(shows))
    return hit | {"scored": hit["scored"] and contact.scored}


def _share(rng: Rng, sizes: tuple[float, float] | None) -> float:
    """Height of a person in heights of the picture."""
    draw = rng.random()
    bounds = (0.05, 0.12) if draw < 0.1 else (0.12, 0.4) if draw < 0.3 else (0.4, 1.05)
    bounds = sizes or bounds
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
    return some_body(rng, joints, person)
