"""Movement over time: smooth reaches, strokes that stop dead, shakes, unrest.

All of it is laid out on one fine clock (`clock`), in seconds and picture widths.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from warehouse.timing import jolt as jolt
from warehouse.timing import minimum_jerk as jerk

T = TypeVar("T")
Floats = NDArray[np.float64]
RATE = 960
"""Instants a second on the fine clock."""
Stop = tuple[float, float, Floats]
"""Start and length of a reach, seconds, and where it ends."""


def xy(x: Floats | float, y: Floats | float) -> Floats:
    """A point or way, (2,), or a path, (T, 2)."""
    return np.stack(np.broadcast_arrays(x, y), axis=-1).astype(float)


def clock(duration: float) -> Floats:
    """Instants from 0 to a little past the end of a clip."""
    return np.arange(round((duration + 0.2) * RATE)) / RATE


def drawn(rng: np.random.Generator, table: Mapping[T, float]) -> T:
    """One of the things in a table, by weight."""
    weights = np.array(list(table.values()))
    return list(table)[int(rng.choice(len(weights), p=weights / weights.sum()))]


def ease(t: Floats, start: float, length: float) -> Floats:
    """0 before ``start``, 1 after ``start + length``, minimum jerk between."""
    return jerk((t - start) / max(length, 1e-3))


def hump(t: Floats, start: float, rise: float, hold: float, fall: float) -> Floats:
    """Up to 1, a rest, and back to 0."""
    return ease(t, start, rise) - ease(t, start + rise + hold, fall)


def flights(
    t: Floats, times: list[float], spots: list[Floats], pull: Floats
) -> tuple[Floats, Floats]:
    """Parabolas from spot to spot under a pull, run on before the first and after the last.

    Returns
    -------
    tuple of float64
        The path (T, d), and the jump in speed (spots - 2, d) at each spot between.
    """
    path, left = np.zeros((len(t), len(pull))), []
    for a, b, p, r in zip(times, times[1:], spots, spots[1:], strict=False):
        left.append((r - p) / (b - a) - pull * (b - a) / 2)
        part = (t >= (a if a > times[0] else -np.inf)) & (t < (b if b < times[-1] else np.inf))
        u = (t[part] - a)[:, None]
        path[part] = p + left[-1] * u + pull * u**2 / 2
    speeds = np.array(left)
    return path, speeds[1:] - (speeds + pull * np.diff(times)[:, None])[:-1]


def ring(t: Floats, start: float, size: float, hertz: float, decay: float) -> Floats:
    """Damped swing that starts at full speed: what a knock leaves behind."""
    u = np.maximum(t - start, 0)
    return np.asarray(size * np.sin(2 * np.pi * hertz * u) * np.exp(-u / decay))


def wander(
    rng: np.random.Generator, t: Floats, size: float, slow: float = 0.2, fast: float = 1.2
) -> Floats:
    """Smooth unrest of standard deviation ``size`` between two rates, Hz."""
    rates = np.exp(rng.uniform(np.log(slow), np.log(fast), 7))
    sizes = rates**-0.7
    waves = np.sin(2 * np.pi * rates * t[:, None] + rng.uniform(0, 2 * np.pi, 7))
    return np.asarray(waves @ (sizes * size * np.sqrt(2 / np.sum(sizes**2))))


def wander2(
    rng: np.random.Generator, t: Floats, size: float, slow: float = 0.2, fast: float = 1.2
) -> Floats:
    """`wander` in two directions, shape (T, 2)."""
    return np.stack([wander(rng, t, size, slow, fast) for _ in range(2)], axis=1)


def unrest(rng: np.random.Generator, t: Floats, size: float = 0.003) -> Floats:
    """A hand that means to keep still: slow drift and an 8-12 Hz tremor, shape (T, 2)."""
    return wander2(rng, t, size, 0.2, 1.5) + wander2(rng, t, size * rng.uniform(0.03, 0.15), 7, 12)


def reaches(rng: np.random.Generator, t: Floats, home: Floats, stops: list[Stop]) -> Floats:
    """A hand that goes from stop to stop, with small misses that it corrects, shape (T, 2)."""
    path = np.tile(np.asarray(home, float), (len(t), 1))
    at = np.asarray(home, float)
    loose = rng.choice([0.03, 0.06, 0.12])
    for start, length, target in stops:
        way = np.asarray(target, float) - at
        miss = rng.normal(0, loose) if rng.random() < 0.6 else 0.0
        s = (t - start) / length
        path += way * ((1 + miss) * jerk(s))[:, None]
        correction = ease(t, start + 0.85 * length, rng.uniform(0.1, 0.3))
        path -= way * (miss * correction)[:, None]
        clipped = np.clip(s, 0, 1)
        bow = 16 * clipped**2 * (1 - clipped) ** 2 * rng.normal(0, 0.12)
        path += np.array([-way[1], way[0]]) * bow[:, None]
        at = np.asarray(target, float)
    return path


def itinerary(
    rng: np.random.Generator,
    duration: float,
    centre: tuple[float, float],
    spread: tuple[float, float],
    move: tuple[float, float] = (0.15, 0.5),
    hold: tuple[float, float] = (0.03, 0.4),
) -> list[Stop]:
    """Stops strewn about a centre; lengths of moves and holds are between two bounds, seconds."""
    stops: list[Stop] = []
    now = float(rng.uniform(0, 0.4))
    while now < duration:
        length = float(np.exp(rng.uniform(*np.log(move))))
        target = np.array(centre) + rng.normal(0, 1, 2) * np.array(spread)
        stops.append((now, length, target))
        now += length * rng.uniform(0.85, 1.0) + float(rng.uniform(*hold))
    return stops


def two_link(
    root: Floats, tip: Floats, upper: float, lower: float, bend: float
) -> tuple[Floats, Floats]:
    """Middle joint and reachable tip of a two-link limb, each (T, 2); ``bend`` is +1 or -1."""
    way = tip - root
    return linked(root, tip, upper, lower, bend * np.stack([-way[:, 1], way[:, 0]], axis=1))


def linked(
    root: Floats, tip: Floats, upper: float, lower: float, pole: Floats, most: float = 0.998
) -> tuple[Floats, Floats]:
    """Middle joint and reachable tip of a two-link limb, each (T, 2) or (T, 3).

    It bends towards the direction ``pole``, and straightens to ``most`` of its length.
    """
    way = tip - root
    far = np.linalg.norm(way, axis=1, keepdims=True)
    reach = np.clip(far, abs(upper - lower) * 1.02 + 1e-6, (upper + lower) * most)
    unit = way / np.maximum(far, 1e-6)
    along = (upper**2 - lower**2 + reach**2) / (2 * reach)
    across = pole - unit * np.sum(pole * unit, axis=1, keepdims=True)
    across /= np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-6)
    aside = np.sqrt(np.maximum(upper**2 - along**2, 0))
    return root + unit * along + across * aside, root + unit * reach


@dataclass(frozen=True)
class Beat:
    """A stroke that ends in a contact; times in seconds.

    The down-stroke is a minimum-jerk reach broken off at ``share`` of its time. From the contact
    the tool has ``rebound`` times its speed (negative: it sinks in), which dies away within
    ``soft``; after ``hold`` it is raised again in ``rise``, to ``height`` times the usual.
    """

    contact: float
    down: float
    share: float
    height: float
    rebound: float
    soft: float
    hold: float
    rise: float

    @property
    def speed(self) -> float:
        """Raises a second, just before the contact."""
        s = self.share
        steep = 30 * s**2 * (1 - s) ** 2 / float(jerk(s))
        return self.height * steep * s / self.down


@dataclass(frozen=True)
class Manner:
    """Bounds, seconds, between which the beats of one clip are drawn."""

    down: tuple[float, float] = (0.07, 0.22)
    hold: tuple[float, float] = (0.03, 0.4)
    rise: tuple[float, float] = (0.12, 0.6)
    rest: tuple[float, float] = (0.0, 0.6)
    height: tuple[float, float] = (0.5, 1.2)
    rebounds: float = 0.35


def beats(rng: np.random.Generator, duration: float, manner: Manner, most: int = 20) -> list[Beat]:
    """Beats of irregular tempo that fill a clip."""
    found: list[Beat] = []
    now = float(rng.uniform(0.15, 0.9))
    bouncy = rng.random() < manner.rebounds
    while now < duration - 0.12 and len(found) < most:
        beat = _beat(rng, now, manner, bouncy if rng.random() < 0.85 else not bouncy)
        found.append(beat)
        next_down = float(rng.uniform(*manner.down))
        now += beat.hold + beat.rise + float(rng.uniform(*manner.rest)) + next_down
    return found


def _beat(rng: np.random.Generator, contact: float, manner: Manner, bouncy: bool) -> Beat:
    rebound = rng.uniform(0.1, 0.5) if bouncy else rng.choice([0.0, -1.0, -1.0])
    soft = rng.uniform(0.03, 0.09) if bouncy else rng.uniform(0.002, 0.010)
    return Beat(
        contact,
        float(rng.uniform(*manner.down)),
        float(rng.uniform(0.5, 0.8)),
        float(rng.uniform(*manner.height)),
        float(rebound),
        float(soft),
        float(rng.uniform(*manner.hold)) * (0.2 if bouncy else 1.0),
        float(rng.uniform(*manner.rise)),
    )


def raised(t: Floats, strokes: list[Beat], quicken: float = 1.0) -> Floats:
    """How far a tool is raised: 0 at each contact, ``height`` before it, shape (T,).

    ``quicken`` shortens the down-stroke: the tip of a whipped rod comes later than the hand, and
    faster.
    """
    q = np.zeros_like(t)
    ends = [b.contact for b in strokes] + [np.inf]
    for number, end in enumerate(ends):
        last = strokes[number - 1] if number else None
        coming = strokes[number] if number < len(strokes) else None
        part = (t >= (last.contact if last else -np.inf)) & (t < end)
        q[part] = _between(t[part], last, coming, quicken)
    return q


def _between(t: Floats, last: Beat | None, coming: Beat | None, quicken: float) -> Floats:
    height = coming.height if coming else (last.height if last else 1.0)
    up = np.full_like(t, height)
    if last:
        u = t - last.contact
        spring = last.rebound * last.speed * last.soft
        up = spring * (1 - np.exp(-u / last.soft))
        up = up + (height - spring) * jerk((u - last.hold) / last.rise)
    if coming:
        down = coming.down / quicken
        s = coming.share * np.clip((t - coming.contact) / down + 1, 0, 1)
        up = up * (1 - jerk(s) / float(jerk(coming.share)))
    return up


def shaken(rng: np.random.Generator, t: Floats, strokes: list[Beat], size: float) -> Floats:
    """Damped shake of a struck thing, scaled by the speed of each contact, shape (T,)."""
    hertz, decay = rng.uniform(5, 18), rng.uniform(0.03, 0.16)
    top = max((b.speed for b in strokes), default=1.0)
    parts = [ring(t, b.contact, size * b.speed / top, hertz, decay) for b in strokes]
    return np.sum(parts, axis=0) if parts else np.zeros_like(t)


def stepping(
    rng: np.random.Generator, t: Floats, strokes: list[Beat], home: Floats, spread: float
) -> Floats:
    """A point that is elsewhere at each contact and moves only while the tool is up, (T, 2)."""
    at = np.asarray(home, float) + rng.normal(0, spread, 2)
    path = np.tile(at, (len(t), 1))
    for beat, coming in pairwise(strokes):
        target = np.asarray(home, float) + rng.normal(0, spread, 2)
        start = beat.contact + beat.hold
        length = max(coming.contact - coming.down - start, 0.05)
        path += (target - at) * ease(t, start, length)[:, None]
        at = target
    return path
