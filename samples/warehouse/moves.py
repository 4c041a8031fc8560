"""What fighters do besides hitting: sway, feint, bob, turn, drop the guard, walk; and extras."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .fighter import Fighter, Place
from .figure import GUARD, STANDING, Build, mirrored, posture
from .spec import Beat
from .throwing import level
from .timing import Change, eased, hump
from .vectors import Floats, forward_of


def steady(layer: Floats) -> Change:
    """The same posture all the time."""
    return lambda times: np.tile(layer, (len(times), 1))


def sway(rng: np.random.Generator) -> Change:
    """Two slow waves in every number of the posture: nobody stands still."""
    sizes = posture(
        hips=(0.02, 0.03, 0.012),
        lean=(2.0, 2.0),
        twist=4.0,
        look=(4, 3, 2),
        neck=(0.012, 0.012),
        left=(0.035, 0.02, 0.03),
        right=(0.03, 0.02, 0.03),
    )
    rates = rng.uniform(0.5, 0.9, 17), rng.uniform(1.0, 1.9, 17)
    phases = rng.uniform(0, 2 * np.pi, (2, 17))

    def change(times: Floats) -> Floats:
        slow, quick = (
            np.sin(2 * np.pi * rate * times[:, None] + phase)
            for rate, phase in zip(rates, phases, strict=True)
        )
        return np.asarray(sizes * (0.7 * slow + 0.5 * quick))

    return change


def feint(actor: Fighter, other: Fighter, beat: Beat) -> None:
    """Part of a punch, slower, pulled back; the other one leans away, gently."""
    out = 0.30 * beat.strength
    rise = 1.875 * out / min(beat.speed, 3.5)
    right = posture(hips=(0.05, 0, -0.02), lean=(4, 0), twist=16, right=(out, 0.03, 0.06))
    change = right if beat.side == "right" else mirrored(right)
    flinch = posture(hips=(-0.04, 0, -0.01), lean=(-6, 3), look=(0, 4, 0))
    actor.changes.append(lambda t: hump(t, beat.at, rise, 0.04, 0.3)[:, None] * change)
    other.changes.append(lambda t: hump(t, beat.at + 0.12, 0.28, 0.1, 0.5)[:, None] * flinch)


def draw_back(other: Fighter, beat: Beat, start: float) -> None:
    """What somebody does about a strike that does not land: leans, steps back, parries, nothing."""
    if beat.sell == "none":
        return
    size = beat.strength
    away = posture(hips=(-0.05, 0, -0.02), lean=(-8, 3), look=(0, 5, 0))
    if beat.sell == "recoil":
        guard = posture(right=(0.12, 0.06, 0.05), left=(0.05, -0.03, 0.06))
        away = away + (guard if beat.side == "left" else mirrored(guard))
    other.changes.append(lambda t: size * hump(t, start, 0.26, 0.1, 0.5)[:, None] * away)
    if beat.sell == "stagger":
        _, yaw = other.place(np.array([start]))
        back = -0.25 * size * forward_of(yaw)[0]
        other.shifts.append(lambda t: eased(t, start, start + 0.5)[:, None] * back)


def drop_guard(actor: Fighter, other: Fighter, beat: Beat) -> None:
    """Hands sink, shoulders square up; after a moment they come back."""
    low = posture(
        hips=(-0.02, 0, 0.04),
        lean=(-5, 0),
        twist=14,
        left=(-0.14, 0.12, -0.34),
        right=(-0.06, -0.12, -0.32),
    )
    actor.changes.append(lambda t: hump(t, beat.at, 0.42, 0.5, 0.36)[:, None] * low * beat.strength)


def bob(actor: Fighter, other: Fighter, beat: Beat) -> None:
    """The head goes down and under, to one side and then the other."""
    dip = posture(hips=(0, 0, -0.11), lean=(6, 0), look=(0, 6, 0))
    side = posture(lean=(0, 13), neck=(0.01, 0.05), look=(6, 0, 8))
    to_left = 1.0 if beat.side == "left" else -1.0

    def change(times: Floats) -> Floats:
        down = hump(times, beat.at, 0.28, 0.15, 0.32)[:, None]
        over = hump(times, beat.at, 0.24, 0.0, 0.26) - hump(times, beat.at + 0.34, 0.24, 0.0, 0.3)
        return np.asarray(beat.strength * (down * dip + to_left * over[:, None] * side))

    actor.changes.append(change)


def turn(actor: Fighter, other: Fighter, beat: Beat) -> None:
    """A look away over the shoulder, body and all, and back."""
    away = posture(hips=(0, 0, 0.02), twist=40, look=(62, 0, 0), lean=(-3, 4))
    change = away if beat.side == "left" else mirrored(away)
    actor.changes.append(lambda t: hump(t, beat.at, 0.45, 0.3, 0.45)[:, None] * change)


def walk_in(actor: Fighter, other: Fighter, beat: Beat) -> None:
    """Comes in from further off, hands low, and takes up the guard."""
    now = np.array([beat.at])
    line = level(actor.place(now)[0][0] - other.place(now)[0][0])
    seconds = 1.3
    way = 1.1 * beat.strength * line
    relaxed = (STANDING - GUARD) * 0.8
    actor.shifts.append(lambda t: (1 - eased(t, beat.at - 0.4, beat.at + seconds))[:, None] * way)
    actor.changes.append(
        lambda t: (1 - eased(t, beat.at + 0.6, beat.at + seconds))[:, None] * relaxed
    )


MOVES: dict[str, Callable[[Fighter, Fighter, Beat], None]] = {
    "feint": feint,
    "drop guard": drop_guard,
    "bob": bob,
    "turn": turn,
    "walk in": walk_in,
}


def passer_by(build: Build, start: Floats, way: Floats, pace: float) -> Fighter:
    """Somebody who walks along a straight line, ``pace`` metres a second, arms swinging."""
    heading = float(np.arctan2(way[2], way[0]))

    def ground(times: Floats) -> Place:
        root = start + times[:, None] * pace * level(way)
        return root, np.full(len(times), heading)

    def swing(times: Floats) -> Floats:
        wave = np.sin(2 * np.pi * pace / 1.4 * times)[:, None]
        arms = posture(twist=8, left=(-0.16, 0, 0.02), right=(0.16, 0, 0.02))
        bounce = posture(hips=(0, 0, 0.02))
        return STANDING + posture(hips=(0, 0, -0.05)) + wave * arms + wave**2 * bounce

    figure = Fighter(build, ground, stance=np.array([[0.05, 0.08, 0.0], [0.05, -0.08, 0.0]]))
    figure.changes.append(swing)
    return figure


def facing(heading: float) -> Floats:
    """Unit vector of a heading in degrees."""
    return forward_of(np.radians(np.array(heading)))
