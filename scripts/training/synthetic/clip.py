"""One clip from its number: scene, camera, light, cuts and truth."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from . import camera
from .film import Format, Shot, developed
from .formats import some_format
from .motion import clock, drawn
from .paint import Picture, Pixels, some_look
from .shapes import backdrop, slab
from .splices import cut_together, one_shot, plan_cuts, plan_shows, shown
from .stage import Stage
from .takes import balls, falls, gestures, people, punches, street, things, tools, tosses
from .truth import hits_of, leave_unseen, leave_weaker, thumbnail

Builder = Callable[[Stage], None]
Rng = np.random.Generator

IMPACTS: dict[Builder, float] = {
    tools.rod: 2.4, tools.pound: 1.2, tools.chop: 1.8, tools.stamp: 0.6, tools.tap: 0.6,
    balls.bounce: 1.4, tosses.juggle: 1.0, tosses.catch: 0.9, tosses.batted: 0.6,
    balls.billiards: 0.6, tosses.struck_rows: 0.5,
    falls.dropped: 0.9, falls.toppled: 0.6, falls.sack: 1.0, falls.slid: 0.6,
    punches.pads: 1.6, punches.reach_and_knock: 0.7,
}  # fmt: skip
"""Scenes with impacts; weights."""
CALM: dict[Builder, float] = {
    gestures.signs: 3.0, gestures.waves: 1.2, gestures.shadow_moves: 1.8, gestures.places: 1.4,
    gestures.cups: 2.5, gestures.stirring: 0.9, gestures.talking: 3.0, gestures.big_hand: 0.9,
    people.walkers: 1.5, people.dancers: 1.0, people.postures: 2.5, people.animals: 1.0,
    people.crowd: 0.6, things.pendulums: 0.8, things.spinners: 0.7, street.traffic: 1.3,
    things.cloth: 0.6, things.leaves: 0.5, street.passing: 1.0, things.springs: 0.7,
    things.pushed: 0.9, things.quivering: 0.2, things.hinged: 0.7,
}  # fmt: skip
"""Scenes without."""
BEHIND: dict[Builder, float] = {
    people.walkers: 2, people.crowd: 1, people.dancers: 0.6, people.animals: 0.7,
    things.pendulums: 0.7, things.spinners: 0.7, things.cloth: 0.8, things.leaves: 0.8,
    things.hinged: 0.4, street.traffic: 0.5, gestures.signs: 0.8, gestures.talking: 0.8,
    things.springs: 0.5, things.quivering: 0.3,
}  # fmt: skip
"""Scenes that may go on behind another, or about it."""
LEVEL = (balls.bounce, falls.dropped, falls.toppled, people.walkers, street.traffic)
"""Scenes with a ground, which is not tilted much."""
IMPACT_SHARE, LENS_SHARE = 0.56, 0.07


@dataclass(frozen=True)
class Plan:
    """What a clip is of: name of the kind, whether it has impacts."""

    kind: str
    build: Builder | None
    impact: bool


@dataclass(frozen=True, eq=False)
class Take:
    """A clip as it is filmed: its format, its pictures once, and then its hits."""

    form: Format
    pictures: Iterator[Pixels]
    hits: Callable[[], list[dict[str, Any]]]


def take_of(number: int) -> Take:
    """Clip ``number``; its hits are those of the pictures that have been taken from it so far."""
    rng = np.random.default_rng([4711, number])
    plan = _plan(rng)
    form, source = some_format(rng, plan.kind, plan.impact)
    shots = [_shot(rng, plan, form)]
    weights = one_shot(source.frames)
    if rng.random() < (0.06 if plan.impact else 0.18):
        shots += [_other_shot(rng, form) for _ in range(int(rng.integers(1, 3)))]
        weights = plan_cuts(rng, source.frames, len(shots))
    shows = plan_shows(rng, form, source, plan.impact)
    pictures = developed(cut_together(shots, form, source, weights), form, rng)
    thumbs: list[Picture] = []

    def hits() -> list[dict[str, Any]]:
        every = hits_of(shots[0], form, source, weights, shows) if plan.impact else []
        shown_ones = [hit for hit in every if hit["frame"] < len(thumbs)]
        return leave_weaker(leave_unseen(shown_ones, thumbs, form.grain))

    return Take(form, _noted(shown(pictures, shows), thumbs), hits)


def _noted(pictures: Iterator[Pixels], thumbs: list[Picture]) -> Iterator[Pixels]:
    """The same pictures; adds a thumbnail of each to ``thumbs``."""
    for picture in pictures:
        thumbs.append(thumbnail(picture))
        yield picture


def _plan(rng: Rng) -> Plan:
    draw = rng.random()
    if draw < IMPACT_SHARE:
        build = drawn(rng, IMPACTS)
        return Plan(build.__name__, build, True)
    if draw < IMPACT_SHARE + LENS_SHARE:
        return Plan("lens", None, False)
    build = drawn(rng, CALM)
    return Plan(build.__name__, build, False)


def _shot(rng: Rng, plan: Plan, form: Format) -> Shot:
    stage = Stage(rng, clock(form.frames / float(form.rate)), form.height / form.width, form.width)
    if plan.build is None:
        _still_life(stage)
    else:
        for _ in range(8):
            child = _placed(stage, plan.build)
            if not plan.impact or _worth(child):
                break
        stage.include(child)
    _company(stage, plan)
    return Shot(stage, _camera(rng, stage, plan, form), *_plate(rng, form))


def _placed(stage: Stage, build: Builder) -> Stage:
    """A scene at a place, size and tilt of its own."""
    rng = stage.rng
    child, outer = stage.child(), stage.child()
    build(child)
    tilt = 0.04 if build in LEVEL else 0.12
    outer.include(
        child,
        shift=(rng.normal(0, 0.05), rng.normal(0, 0.04)),
        size=float(np.exp(rng.normal(-0.05, 0.2))),
        turn=float(rng.normal(0, tilt)),
        mirror=bool(rng.random() < 0.5),
    )
    return outer


def _worth(stage: Stage) -> bool:
    """Between 2 and 20 impacts in the picture."""
    seen = [k for k in stage.touches if 0 <= k.x <= 1 and 0 <= k.y <= stage.aspect]
    early = [k for k in seen if 0.1 < k.time < stage.duration - 0.1 and k.speed > 0.15]
    return len(early) >= 2 and len(seen) <= 24


def _company(stage: Stage, plan: Plan) -> None:
    rng = stage.rng
    if rng.random() < (0.4 if plan.impact else 0.3):
        for _ in range(int(rng.integers(1, 3))):
            child = stage.child()
            drawn(rng, BEHIND)(child)
            shift = (rng.normal(0, 0.3), rng.normal(-0.1, 0.12) * stage.aspect)
            size = float(rng.uniform(0.25, 0.6))
            stage.include(child, shift, size, 0.0, bool(rng.random() < 0.5), -40.0, 0.92)
    near = 0.06 if plan.impact else 0.14
    for build in (street.crossing, street.captions):
        if rng.random() < near:
            child = stage.child()
            build(child)
            stage.include(child)


def _still_life(stage: Stage) -> None:
    """Things that stand about, at several depths, for the camera to move over."""
    rng = stage.rng
    for _ in range(int(rng.integers(2, 12))):
        size = np.exp(rng.uniform(np.log(0.05), np.log(0.5)))
        thing = slab(rng, some_look(rng), stage.scale, size, size * rng.uniform(0.4, 2.5))
        at = np.array([rng.uniform(-0.4, 1.4), stage.aspect * rng.uniform(-0.1, 1.1)])
        depth = rng.uniform(0.85, 1.5)
        stage.add(thing, at, rng.normal(0, 0.05), order=depth * 10, depth=depth)
    if rng.random() < 0.4:
        drawn(rng, BEHIND)(stage)


def _camera(rng: Rng, stage: Stage, plan: Plan, form: Format) -> camera.Camera:
    t = stage.t
    if plan.build is None:
        return drawn(rng, camera.ALONE)(rng, t)
    if plan.kind == "traffic" and rng.random() < 0.8:
        return camera.still(rng, t)
    if stage.follow is not None and rng.random() < 0.3:
        return camera.following(rng, t, stage.follow)
    wild = rng.random() < (0.14 if plan.impact else 0.26)
    return drawn(rng, camera.WILD if wild else camera.CALM)(rng, t)


def _plate(rng: Rng, form: Format) -> tuple[Any, float]:
    margin = 0.25
    size = 1 + 2 * margin
    return backdrop(rng, int(form.width * size), int(form.height + 2 * margin * form.width)), margin


def _other_shot(rng: Rng, form: Format) -> Shot:
    build = drawn(rng, CALM)
    return _shot(rng, Plan(build.__name__, build, False), form)
