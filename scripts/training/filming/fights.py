"""Films of fights in the warehouse, and of people there who strike nobody, as grey pictures.

Even numbers give fights as `variety.random_spec` stages them; odd ones are softened: struck at the
speeds of people who take care, answered early or late, seen from near or far in any shape of
picture.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

import cv2
import numpy as np

from warehouse.figure import Joint
from warehouse.film import Shoot, pictures, prepare, truth_of
from warehouse.spec import HIT_KINDS, OTHER_KINDS, Beat, FightSpec
from warehouse.strikes import STRIKES
from warehouse.variety import random_spec

from .shots import RATES, SIZES, first_shown, frames_between, some_shows
from .struck import USUAL_RATE
from .truths import LONGEST, WIDEST, Film, judged

FIRST_SEED: Final = 200_000
"""Of the fights; the demonstration and the tests have others."""
FIRST_QUIET: Final = 500_000
FEINTED: Final = 0.75
"""Share of the fights in which some strikes stop short or pass over, and hit nobody."""
FEINTS_AMONG_CALM: Final = 0.45
"""Share of what people do there who strike nobody."""
SHORT, OVER = (0.28, 0.55), (0.28, 0.45)
"""Metres by which they do; a fight fills some two metres of the picture's height."""
PARTS: Final = 0.3
"""Share of the feints that are but part of a punch."""
APART: Final = 0.5
"""Seconds from a strike to the next one, at least."""
SPEEDS: Final = (2.0, 6.0)
"""Metres a second of a softened strike at its fastest."""
WIDE: Final = (52.0, 88.0)
"""Degrees that a camera sees from which people are small."""
JOINTS: Final = {"hand": "HAND", "hands": "HAND", "elbow": "ELBOW", "foot": "ANKLE"}
CALLED: Final = {"foot": "kick", "hands": "push"}
"""Kinds of the strikes of these limbs; all others are punches."""


def film_fight(number: int, feints: bool) -> Film:
    """Film ``number`` of a fight, with feints among its strikes or without."""
    seed = FIRST_SEED + number
    rng = np.random.default_rng([seed, 1])
    spec = random_spec(seed)
    spec = _softened(_reframed(spec, rng), rng) if number % 2 else _small(spec)
    if feints and rng.random() < FEINTED:
        spec = _with_feints(spec, rng)
    return _filmed("fight", number, spec, rng)


def film_quiet(number: int, feints: bool) -> Film:
    """Film ``number`` of people who circle, duck, walk in or by, and strike nobody."""
    seed = FIRST_QUIET + number
    rng = np.random.default_rng([seed, 2])
    spec = _reframed(random_spec(seed), rng)
    beats, at = list[Beat](), float(rng.uniform(0, 0.5))
    while at < spec.duration - 0.3:
        kind = str(rng.choice(OTHER_KINDS, p=(0.3, 0.2, 0.25, 0.15, 0.1)))
        who, side = int(rng.integers(2)), str(rng.choice(("left", "right")))
        size = float(rng.uniform(0.5, 1.6))
        struck = [beat.at for beat in beats if beat.is_strike]
        if feints and rng.random() < FEINTS_AMONG_CALM and at - max(struck, default=-1.0) > APART:
            beats.append(_feint(rng, at + 0.3, spec))
        else:
            beats.append(Beat(at, kind, who, side, float(rng.uniform(2, 3.5)), strength=size))
        at += float(rng.uniform(0.25, 1.0))
    return _filmed("calm", number, replace(spec, beats=tuple(beats)), rng)


def _feint(rng: np.random.Generator, at: float, spec: FightSpec) -> Beat:
    """A strike as fast as one that lands, that stops short or passes over; or part of a punch."""
    if rng.random() < PARTS:
        who, side = int(rng.integers(2)), str(rng.choice(("left", "right")))
        size = float(rng.uniform(0.6, 1.2))
        return Beat(at, "feint", who, side, float(rng.uniform(2, 3.5)), strength=size)
    kind, over = str(rng.choice(HIT_KINDS)), 0.0
    short = float(rng.uniform(*SHORT))
    if kind in HIT_KINDS[:2] and rng.random() < 0.15:
        short, over = 0.0, float(rng.uniform(*OVER))
    sell = str(rng.choice(("none", "recoil", "stagger"), p=(0.45, 0.4, 0.15)))
    return Beat(
        at, kind, int(rng.integers(2)), str(rng.choice(("left", "right"))),
        speed=float(rng.uniform(SPEEDS[0], 10.5)),
        lag=float(rng.uniform(-5, 6) * float(spec.rate) / USUAL_RATE),
        sell=sell, strength=float(rng.uniform(0.2, 1.2)), short=short, over=over,
    )  # fmt: skip


def _with_feints(spec: FightSpec, rng: np.random.Generator) -> FightSpec:
    beats, at = list(spec.beats), float(rng.uniform(0.35, 0.9))
    while at < spec.duration - 0.2:
        if min((abs(beat.at - at) for beat in beats if beat.is_strike), default=9.0) > APART:
            made = _feint(rng, at, spec)
            beats.append(made)
            if made.over:
                beats.append(Beat(at - 0.3, "bob", 1 - made.who, made.side, strength=1.8))
        at += float(rng.uniform(0.3, 1.2))
    return replace(spec, beats=tuple(beats))


def _small(spec: FightSpec) -> FightSpec:
    height = round(spec.height * WIDEST / spec.width / 2) * 2
    return replace(spec, width=WIDEST, height=height, frames=min(spec.frames, LONGEST))


def _reframed(spec: FightSpec, rng: np.random.Generator) -> FightSpec:
    """The same fight at another rate, in another shape of picture, often from further off."""
    rate = RATES[int(rng.integers(len(RATES)))]
    width, height = SIZES[int(rng.integers(len(SIZES)))]
    camera = spec.camera
    if rng.random() < 0.35:
        camera = replace(camera, field=float(rng.uniform(*WIDE)))
    if rng.random() < 0.3:
        camera = replace(camera, motion="locked")
    if width < height:
        camera = replace(camera, field=camera.field * 0.75)
    frames = min(int(spec.frames / spec.rate * rate), LONGEST)
    return replace(spec, rate=rate, width=width, height=height, camera=camera, frames=frames)


def _softened(spec: FightSpec, rng: np.random.Generator) -> FightSpec:
    frames = float(spec.rate) / USUAL_RATE
    return replace(spec, beats=tuple(_softer(beat, rng, frames) for beat in spec.beats))


def _softer(beat: Beat, rng: np.random.Generator, frames: float) -> Beat:
    """A hit at lower speed, whose receiver starts up to 7 usual frames early or 6 late."""
    if not beat.is_hit:
        return beat
    lag = float(rng.uniform(-7, 1) if rng.random() < 0.5 else rng.uniform(0, 6))
    strength = float(rng.uniform(0.35, 1.0))
    return replace(beat, speed=float(rng.uniform(*SPEEDS)), lag=lag * frames, strength=strength)


def _filmed(kind: str, number: int, spec: FightSpec, rng: np.random.Generator) -> Film:
    shoot = prepare(spec)
    truth = truth_of(spec, shoot.performance)
    around = round(truth["hits"][0]["contact"]) if truth["hits"] else spec.frames // 2
    shows = some_shows(rng, spec.frames, spec.rate, around)
    drawn = [_grey(picture) for picture in pictures(shoot)]
    told = [_hit(hit, spec, shoot, shows) for hit in truth["hits"]]
    told += [_fall(exact, shows) for exact in truth["falls"]]
    hits = tuple(hit for hit in told if hit is not None)
    frames = [drawn[number] for number in shows]
    return Film(kind, f"{kind} {number}", spec.rate, frames, hits)


def _grey(picture: Any) -> Any:
    return cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)


def _hit(
    hit: dict[str, Any], spec: FightSpec, shoot: Shoot, shows: list[int]
) -> dict[str, Any] | None:
    """A hit of a fight's truth as the film shows it; None where it does not."""
    frame = first_shown(shows, hit["contact"])
    if frame is None:
        return None
    seconds = (hit["contact"] + spec.shutter / 720) / float(spec.rate)
    joints = shoot.performance.cast[hit["striker"]].joints(np.array([seconds]))[0]
    limb = STRIKES[hit["kind"]].limb
    sides = ("L", "R") if limb == "hands" else (hit["side"][0].upper(),)
    spot = np.mean([joints[Joint[f"{JOINTS[limb]}_{side}"]] for side in sides], axis=0)
    place = shoot.stage.camera.place(spot, seconds)
    lag = None
    if hit["reaction"] is not None:
        lag = frames_between(shows, hit["contact"], hit["reaction"])
    return judged(frame, place, lag, CALLED.get(limb, "punch"), len(shows))


def _fall(exact: float, shows: list[int]) -> dict[str, Any] | None:
    """A body that lands on the ground: no hit, and nothing to hold against anybody."""
    frame = first_shown(shows, exact)
    if frame is None:
        return None
    return judged(frame, None, None, "fall", len(shows)) | {"scored": False}
