"""Impacts of balls in flight: kicked, juggled, caught, struck with a bat or a fist."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicHermiteSpline

from ..motion import Beat, Floats, ease, flights, raised, ring, wander2, xy
from ..paint import some_look
from ..puppet import forearm
from ..shapes import ball, capsule
from ..stage import Stage
from .tools import note


def juggle(stage: Stage) -> None:
    """A ball kept up by a foot, knee, hand or bat that comes from the opposite way."""
    rng, t = stage.rng, stage.t
    gravity = rng.uniform(2.5, 8)
    home = np.array([rng.uniform(0.4, 0.6), stage.aspect * rng.uniform(0.55, 0.8)])
    times = [-rng.uniform(0.0, 0.4)]
    while times[-1] < stage.duration + 0.2:
        times.append(times[-1] + rng.uniform(0.35, 1.0))
    spots = [home + rng.normal(0, 1, 2) * (0.09, 0.03) for _ in times]
    path, jumps = flights(t, times, spots, np.array([0, gravity]))
    radius = rng.uniform(0.025, 0.09)
    strokes = [
        Beat(c, rng.uniform(0.1, 0.25), rng.uniform(0.5, 0.7), rng.uniform(0.7, 1.2),
             float(rng.choice([0.3, 0.1, -0.5])), rng.uniform(0.03, 0.07), 0.02,
             rng.uniform(0.15, 0.35))
        for c in times[1:-1]
    ]  # fmt: skip
    below = np.array([rng.normal(0, 0.05), rng.uniform(0.08, 0.25)])
    aim = _steps(stage, times[1:-1], spots[1:-1])
    tip = aim + raised(t, strokes)[:, None] * below + xy(0, radius)
    stage.add(ball(rng, stage.scale, radius), path, wander2(rng, t, 2.0)[:, 0], order=1)
    _kicker(stage, tip, raised(t, strokes))
    for stroke, spot, jump in zip(strokes, spots[1:-1], jumps, strict=True):
        stage.touch(stroke.contact, spot + xy(0, radius), "kick", float(np.linalg.norm(jump)))
    stage.follow = path


def _steps(stage: Stage, times: list[float], spots: list[Floats]) -> Floats:
    t = stage.t
    path = np.tile(spots[0], (len(t), 1))
    for a, b, p, r in zip(times, times[1:], spots, spots[1:], strict=False):
        path += (r - p) * ease(t, a + 0.15 * (b - a), 0.55 * (b - a))[:, None]
    return path


def _kicker(stage: Stage, tip: Floats, q: Floats) -> None:
    rng, t = stage.rng, stage.t
    kind = rng.choice(["foot", "hand", "bat"])
    side = rng.choice([-1, 1])
    if kind == "foot":
        wide = rng.uniform(0.03, 0.06)
        shank = capsule(rng, some_look(rng), stage.scale, 0.4, wide * 1.4, wide)
        knee = (
            np.median(tip, axis=0) + xy(side * 0.28, -0.22) + 0.3 * (tip - np.median(tip, axis=0))
        )
        heel = tip + xy(side * 0.06, 0.03)
        stage.bar(shank, 0.4, knee, heel, 0.5)
        shoe = capsule(rng, some_look(rng), stage.scale, 0.11, wide * 0.9, wide * 0.6)
        stage.add(shoe, heel, (np.pi if side > 0 else 0.0) + side * 0.3 * q, order=0.6)
    elif kind == "hand":
        base = tip + xy(side * 0.09, 0.02)
        turn = np.pi if side > 0 else 0.0
        forearm(
            stage, base, turn, base + xy(side * 0.35, 0.25), rng.uniform(0.12, 0.18), "flat", 0.5
        )
    else:
        long = rng.uniform(0.25, 0.5)
        bat = capsule(rng, some_look(rng), stage.scale, long, 0.012, rng.uniform(0.015, 0.04))
        grip = np.median(tip, axis=0) + xy(side * long * 0.9, 0.12) + 0.15 * wander2(rng, t, 0.03)
        stage.bar(bat, long, grip, tip + xy(0, 0.02), 0.5)


def catch(stage: Stage) -> None:
    """A ball tossed from hand to hand: the throw is smooth, the catch stops it dead."""
    rng, t = stage.rng, stage.t
    gravity, radius = rng.uniform(2, 6), rng.uniform(0.025, 0.07)
    level = stage.aspect * rng.uniform(0.5, 0.75)
    gap = rng.uniform(0, 0.6)
    seats = [np.array([0.5 + s * gap / 2, level]) for s in (-1, 1)]
    path = np.zeros((len(t), 2))
    palms: list[list[tuple[float, Floats, Floats]]] = [[], []]
    side, now, at = 0, 0.0, seats[0] + rng.normal(0, 0.03, 2)
    while now < t[-1]:
        other = 1 - side if gap > 0.2 else 0
        span, rest, wind = rng.uniform(0.35, 0.9), rng.uniform(0.05, 0.5), rng.uniform(0.18, 0.35)
        target = seats[other] + rng.normal(0, 0.03, 2)
        leave = now + rest + wind
        top = at + xy(0, -rng.uniform(0.03, 0.12))
        speed = (target - top) / span - np.array([0, gravity * span / 2])
        _carry(t, path, [(now, at, 0 * at), (now + rest, at, 0 * at), (leave, top, speed)])
        palms[side] += [(now + rest, at, 0 * at), (leave, top, 0.9 * speed)]
        seat = seats[side] + rng.normal(0, 0.02, 2)
        palms[side].append((leave + rng.uniform(0.15, 0.25), seat, 0 * at))
        u = (t - leave)[:, None]
        part = (u[:, 0] >= 0) & (u[:, 0] < span)
        path[part] = (top + speed * u + np.array([0, gravity / 2]) * u**2)[part]
        now, side, at = _caught(
            stage, path, palms, other, leave + span, target, speed, gravity * span
        )
    stage.add(ball(rng, stage.scale, radius), path, order=1)
    for number in range(2 if gap > 0.2 else 1):
        _palm(stage, palms[number], seats[number], radius, number)
    stage.follow = path


def _caught(
    stage: Stage, path: Floats, palms: list[list[tuple[float, Floats, Floats]]],
    side: int, time: float, target: Floats, speed: Floats, fall: float,
) -> tuple[float, int, Floats]:  # fmt: skip
    """The ball meets the hand, which gives a little: when it is at rest, in which hand, where."""
    rng = stage.rng
    coming = speed + np.array([0, fall])
    soft, kept = rng.uniform(0.02, 0.06), rng.uniform(0.05, 0.3)
    rest = target + coming * kept * soft
    settle = 4 * soft
    _carry(stage.t, path, [(time, target, coming * kept), (time + settle, rest, 0 * rest)])
    way = target - rng.normal(0, 0.03, 2) - [0, rng.uniform(-0.06, 0.06)]
    palms[side] += [
        (time - rng.uniform(0.12, 0.2), way, 0 * rest),
        (time - 1e-3, target, 0 * rest),
        (time, target, coming * kept),
        (time + settle, rest, 0 * rest),
    ]
    stage.touch(time, target, "catch", float(np.linalg.norm(coming)) * (1 - kept))
    return time + settle, side, rest


def _carry(t: Floats, path: Floats, knots: list[tuple[float, Floats, Floats]]) -> None:
    part = (t >= knots[0][0]) & (t < knots[-1][0])
    path[part] = _smooth(knots)(t[part])


def _smooth(knots: list[tuple[float, Floats, Floats]]) -> CubicHermiteSpline:
    times = [k[0] for k in knots]
    return CubicHermiteSpline(
        times, np.array([k[1] for k in knots]), np.array([k[2] for k in knots])
    )


def _palm(
    stage: Stage,
    knots: list[tuple[float, Floats, Floats]],
    seat: Floats,
    radius: float,
    number: int,
) -> None:
    rng, t = stage.rng, stage.t
    kept = [(-1.0, seat, 0 * seat)]
    for knot in sorted(knots, key=lambda k: k[0]):
        if knot[0] > kept[-1][0] + 5e-4:
            kept.append(knot)
    kept.append((max(t[-1], kept[-1][0]) + 1.0, kept[-1][1], 0 * seat))
    size = radius * rng.uniform(2.5, 4) + 0.04
    out = -1 if number == 0 else 1
    wrist = _smooth(kept)(t) + xy(out * size * 0.5, radius * 0.9)
    elbow = wrist + np.array([out * 0.3, 0.25]) - 0.4 * (wrist - np.median(wrist, axis=0))
    turn = 0.0 if number == 0 else np.pi
    forearm(stage, wrist, turn, elbow, size, str(rng.choice(["flat", "spread", "grip"])), 0.5)


def batted(stage: Stage) -> None:
    """Balls that fly in and are struck back by a bat or a board."""
    rng, t = stage.rng, stage.t
    home = np.array([rng.uniform(0.55, 0.75), stage.aspect * rng.uniform(0.35, 0.65)])
    gravity, radius = rng.uniform(0.5, 4), rng.uniform(0.025, 0.06)
    strokes, now = [], rng.uniform(0.4, 0.9)
    long, swing = rng.uniform(0.2, 0.4), rng.uniform(0.8, 2.0)
    while now < stage.duration - 0.1:
        strokes.append(
            Beat(now, rng.uniform(0.1, 0.2), 0.55, 1.0, -0.6, rng.uniform(0.03, 0.08), 0.15, 0.4)
        )
        now += rng.uniform(0.9, 1.6)
    grip = home + np.array([rng.uniform(-0.02, 0.1), long])
    q = raised(t, strokes)
    tip = np.arctan2(home[1] - grip[1], home[0] - grip[0])
    bat = capsule(rng, some_look(rng), stage.scale, long, 0.012, rng.uniform(0.015, 0.05))
    base = np.broadcast_to(grip, (len(t), 2)) + wander2(rng, t, 0.006) * np.clip(q, 0, 1)[:, None]
    stage.add(bat, base, tip + swing * q, order=1)
    forearm(stage, base, 2.2 + 0.4 * q, base + xy(0.2, 0.35), 0.1, "fist", 1.2)
    for stroke in strokes:
        spans = (rng.uniform(0.4, 0.8), rng.uniform(0.3, 0.6))
        times = [stroke.contact - spans[0], stroke.contact, stroke.contact + spans[1]]
        ends = [np.array([-0.15, home[1] + rng.normal(0, 0.2)]) for _ in range(2)]
        spots = [ends[0], home - [radius + 0.015, 0], ends[1]]
        path, jumps = flights(t, times, spots, np.array([0, gravity]))
        seen = ((t > times[0] - 0.1) & (t < times[2] + 0.1)).astype(float)
        stage.add(ball(rng, stage.scale, radius), path, 9 * t, shown=seen, order=0.9)
        stage.touch(stroke.contact, home, "bat", float(np.linalg.norm(jumps[0])))


def struck_rows(stage: Stage) -> None:
    """A row of hanging weights knocked one after another by a rod: each starts to swing at once."""
    rng, t = stage.rng, stage.t
    count = int(rng.integers(2, 6))
    xs, now = np.linspace(0.2, 0.8, count), rng.uniform(0.3, 0.7)
    level, long = stage.aspect * 0.6, rng.uniform(0.3, 0.6)
    strokes = []
    spots = []
    while now < stage.duration - 0.1:
        spots.append(np.array([xs[int(rng.integers(count))], level]))
        strokes.append(
            Beat(now, rng.uniform(0.08, 0.2), 0.6, 1.0, 0.0, 0.01, rng.uniform(0.03, 0.2), 0.25)
        )
        now += rng.uniform(0.5, 1.0)
    aim = _steps(stage, [s.contact for s in strokes], spots)
    radius = rng.uniform(0.03, 0.07)
    for x in xs:
        hits = [s.contact for s, spot in zip(strokes, spots, strict=True) if spot[0] == x]
        sway = sum((ring(t, c, rng.uniform(0.1, 0.4), 0.9, 1.2) for c in hits), np.zeros_like(t))
        top = np.tile([x, level - long], (len(t), 1))
        end = top + long * np.stack([np.sin(sway), np.cos(sway)], axis=1)
        stage.bar(
            capsule(rng, some_look(rng), stage.scale, long, 0.004, 0.004), long, top, end, -0.2
        )
        stage.add(ball(rng, stage.scale, radius), end, -sway, order=0)
    q = raised(t, strokes)
    wrist = (
        aim - [radius + 0.075, 0] + q[:, None] * [-rng.uniform(0.08, 0.2), rng.uniform(-0.1, 0.1)]
    )
    forearm(stage, wrist, 0.0, wrist - [0.4, -0.1], 0.13, "fist", 1)
    note(stage, strokes, aim - [radius, 0], "knock", 0.2)
