"""Fights left to chance, for training and tests: any seed gives a spec of its own."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from .spec import HIT_KINDS, OTHER_KINDS, PLACES, Beat, CameraSpec, FightSpec, Look

RATES = tuple(Fraction(rate) for rate in ("24", "24000/1001", "25", "30000/1001"))
RATE_ODDS = (0.4, 0.4, 0.1, 0.1)
SIZES = ((640, 360), (854, 480), (512, 288))
COMBINATION = (8 / 24, 14 / 24)
"""Seconds between the two hits of a combination."""


def random_spec(seed: int) -> FightSpec:
    """A clip of 2.5 to 5 s with none to four hits; the same seed gives the same clip."""
    rng = np.random.default_rng([seed, 404])
    rate = RATES[rng.choice(len(RATES), p=RATE_ODDS)]
    seconds = rng.uniform(2.5, 5.0)
    width, height = SIZES[rng.choice(3, p=(0.75, 0.15, 0.10))]
    place = str(rng.choice(PLACES))
    extras = int(rng.choice(3, p=(0.5, 0.4, 0.1)))
    return FightSpec(
        section=str(rng.integers(1, 9)),
        take=str(rng.integers(1, 9)),
        angle=str(rng.choice(list("ABCD"))),
        reel=f"R{seed // 1000 % 1000:03d}C{seed % 1000:03d}",
        rate=rate,
        frames=int(seconds * rate),
        start_timecode=f"{rng.integers(0, 24):02d}:{rng.integers(0, 60):02d}:00:00",
        width=width,
        height=height,
        shutter=round(float(rng.uniform(90, 200)), 1),
        place=place,
        camera=_camera(rng, place),
        looks=tuple(_look(rng) for _ in range(2 + extras)),
        beats=_beats(rng, seconds),
        circling=float(rng.normal(0, 6)),
        heading=float(rng.uniform(-20, 20)),
        swing=float(rng.choice((0.0, rng.uniform(3, 12)))),
        exposure=float(rng.uniform(0.75, 1.3)),
        lamplight=float(rng.uniform(0.6, 1.4)),
        fill=float(rng.uniform(0.5, 2.5)),
        grain=float(rng.uniform(1.0, 3.5)),
        seed=seed,
    )


def _camera(rng: np.random.Generator, place: str) -> CameraSpec:
    azimuth = rng.uniform(-45, 45) + (180 if rng.random() < 0.5 else 0)
    behind = place == "quay" and abs(azimuth) > 90
    return CameraSpec(
        azimuth=float(azimuth),
        distance=float(rng.uniform(3.3, 4.1) if behind else rng.uniform(3.4, 5.8)),
        height=float(rng.uniform(1.0, 2.0)),
        aim_height=float(rng.uniform(1.05, 1.3)),
        field=float(rng.uniform(36, 52)),
        motion=str(rng.choice(("locked", "handheld", "panning"), p=(0.35, 0.45, 0.2))),
        shake=float(rng.uniform(0.25, 1.6)),
        pan=float(rng.choice((-1, 1)) * rng.uniform(1.0, 5.0)),
    )


def _look(rng: np.random.Generator) -> Look:
    tone = rng.uniform(0.25, 1.0)
    return Look(
        height=float(rng.uniform(1.62, 1.92)),
        girth=float(rng.uniform(0.9, 1.2)),
        jacket=_dye(rng),
        trousers=_dye(rng),
        skin=(0.58 * tone, 0.38 * tone**1.1, 0.28 * tone**1.2),
        pattern=str(rng.choice(("plain", "stripes", "checks", "patches"))),
        headwear=str(rng.choice(("cap", "hair", "bald"))),
    )


def _dye(rng: np.random.Generator) -> tuple[float, float, float]:
    red, green, blue = rng.uniform(0.6, 1.4, 3) * rng.uniform(0.03, 0.24)
    return float(red), float(green), float(blue)


def _beats(rng: np.random.Generator, seconds: float) -> tuple[Beat, ...]:
    """Moves that are no hits all along; hits between them, in most clips."""
    beats = _other_beats(rng, seconds)
    if rng.random() < 0.15:
        return beats
    at, who = rng.uniform(0.9, 1.5), int(rng.integers(2))
    hits = list[Beat]()
    while at < seconds - 0.45 and len(hits) < 4:
        hits.append(_hit(rng, at, who, hits[-1] if hits else None))
        if rng.random() < 0.3:
            at += rng.uniform(*COMBINATION)
        else:
            at += rng.uniform(0.95, 1.9)
            who = who if rng.random() < 0.4 else 1 - who
    if hits and rng.random() < 0.25:
        hits[-1] = _falling(hits[-1])
    return (*beats, *hits)


def _falling(hit: Beat) -> Beat:
    return Beat(hit.at, hit.kind, hit.who, hit.side, hit.speed, hit.lag, "fall", hit.strength)


def _hit(rng: np.random.Generator, at: float, who: int, before: Beat | None) -> Beat:
    """A hit; in a combination, with the other hand."""
    close = before is not None and at - before.at < 0.8
    kinds = HIT_KINDS[:3] if close else HIT_KINDS
    kind = str(rng.choice(kinds))
    side = str(rng.choice(("left", "right")))
    if close and before is not None:
        side = "left" if before.side == "right" else "right"
    fast = {"shove": (4.5, 6.5), "elbow": (5.0, 7.5)}.get(kind, (5.5, 10.5))
    late = rng.random() < 0.2
    return Beat(
        at=round(float(at), 4),
        kind=kind,
        who=who,
        side=side,
        speed=round(float(rng.uniform(*fast)), 2),
        lag=round(float(rng.uniform(1.5, 3.6) if late else rng.uniform(0.0, 1.5)), 2),
        sell=str(rng.choice(("recoil", "stagger", "none"), p=(0.56, 0.38, 0.06))),
        strength=round(float(rng.uniform(0.6, 1.3)), 2),
    )


def _other_beats(rng: np.random.Generator, seconds: float) -> tuple[Beat, ...]:
    beats = [Beat(0.0, "walk in", int(rng.integers(2)))] if rng.random() < 0.25 else []
    at = rng.uniform(0.1, 0.6)
    while at < seconds - 0.3:
        beats.append(
            Beat(
                at=round(float(at), 3),
                kind=str(rng.choice(OTHER_KINDS[:4], p=(0.4, 0.2, 0.28, 0.12))),
                who=int(rng.integers(2)),
                side=str(rng.choice(("left", "right"))),
                speed=float(rng.uniform(2.0, 3.5)),
                strength=float(rng.uniform(0.5, 1.2)),
            )
        )
        at += rng.uniform(0.45, 1.3)
    return tuple(beats)
