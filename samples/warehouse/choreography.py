"""The fight: beats become layers of movement for two fighters, and the truth about every hit."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from .fighter import Fighter, Place, Reach
from .figure import GUARD, Build, Joint
from .footwork import plan_footwork
from .moves import MOVES, draw_back, facing, passer_by, steady, sway
from .reactions import receive
from .spec import Beat, FightSpec
from .throwing import throw
from .vectors import Floats, forward_of

GAP = 1.28
"""Metres between the fighters' roots while they wait."""
REST = 0.1
"""Share of its peak speed under which a striking limb counts as at rest."""
_STRIKING = {
    "hand": (Joint.HAND_L, Joint.HAND_R),
    "elbow": (Joint.ELBOW_L, Joint.ELBOW_R),
    "foot": (Joint.ANKLE_L, Joint.ANKLE_R),
}


@dataclass(frozen=True)
class Performance:
    """Everybody in the clip, and what is true of it.

    Parameters
    ----------
    cast : tuple of Fighter
        The two fighters, then the extras.
    hits : tuple of dict
        As they stand in ``truth.json``.
    falls : tuple of float
        Exact frames at which a body lands on the ground.
    """

    cast: tuple[Fighter, ...]
    hits: tuple[dict[str, object], ...]
    falls: tuple[float, ...]


def perform(spec: FightSpec, lens: Floats) -> Performance:
    """Stage the fight of a spec for a lens at ``lens``, a place (3,) in the world."""
    rng = np.random.default_rng(spec.seed)
    fighters = [_fighter(spec, who, rng) for who in (0, 1)]
    thrown, falls = list[tuple[Beat, Reach]](), list[float]()
    for beat in sorted(spec.beats, key=lambda b: b.at):
        actor, other = fighters[beat.who], fighters[1 - beat.who]
        if not beat.is_strike:
            MOVES[beat.kind](actor, other, beat)
            continue
        reach = throw(actor, other, beat, lens, _span(spec, beat))
        if not beat.is_hit:
            draw_back(other, beat, beat.at + beat.lag / float(spec.rate))
            continue
        thrown.append((beat, reach))
        landing = receive(other, actor, beat, beat.at + beat.lag / float(spec.rate))
        falls += [] if landing is None else [round(spec.frame_position(landing), 3)]
    extras = [_extra(spec, index, lens, rng) for index in range(len(spec.looks) - 2)]
    cast = (*fighters, *extras)
    for who, figure in enumerate(cast):
        figure.footwork = plan_footwork(figure.home_feet, spec.duration, 0.8, spec.seed + who)
    hits = tuple(_truth(spec, fighters[beat.who], beat, reach) for beat, reach in thrown)
    return Performance(cast, hits, tuple(falls))


def _span(spec: FightSpec, beat: Beat) -> tuple[float, float]:
    """Seconds of the striker's contacts before and after this one."""
    own = [b.at for b in spec.beats if b.is_strike and b.who == beat.who]
    before, after = [at for at in own if at < beat.at], [at for at in own if at > beat.at]
    return max(before, default=-np.inf), min(after, default=np.inf)


def _fighter(spec: FightSpec, who: int, rng: np.random.Generator) -> Fighter:
    look = spec.looks[who]
    phases = rng.uniform(0, 2 * np.pi, 3)

    def ground(times: Floats) -> Place:
        """Round a common centre, with a little to and fro of one's own."""
        heading = np.radians(spec.heading + spec.circling * times)
        gap = GAP / 2 + 0.03 * np.sin(2.3 * times + phases[0])
        drift = 0.04 * np.sin(0.9 * times + phases[1])
        root = forward_of(heading) * (gap if who else -gap)[:, None]
        root = root + forward_of(heading + np.pi / 2) * drift[:, None]
        yaw = heading + 0.05 * np.sin(1.1 * times + phases[2]) + (np.pi if who else 0.0)
        return root, yaw

    fighter = Fighter(Build(look.height, look.girth), ground)
    fighter.changes += [steady(GUARD), sway(rng)]
    return fighter


def _extra(spec: FightSpec, index: int, lens: Floats, rng: np.random.Generator) -> Fighter:
    """Somebody who crosses the picture behind the fight."""
    look = spec.looks[2 + index]
    azimuth = spec.camera.azimuth
    away, across = facing(90 - azimuth), facing(-azimuth)
    sign = 1.0 if rng.random() < 0.5 else -1.0
    start = away * rng.uniform(2.2, 3.4) - sign * across * rng.uniform(0.6, 2.6)
    return passer_by(Build(look.height, look.girth), start, sign * across, rng.uniform(0.9, 1.5))


def _truth(spec: FightSpec, striker: Fighter, beat: Beat, reach: Reach) -> dict[str, object]:
    """What is true of a hit, with onset and settle measured on the limb as it moves."""
    contact = spec.frame_position(beat.at)
    onset, settle, peak = _limb_times(striker, reach, beat.at)
    lag = None if beat.sell == "none" else beat.lag
    return {
        "frame": ceil(contact - 0.25),
        "contact": round(contact, 3),
        "onset": round(spec.frame_position(onset), 3),
        "settle": round(spec.frame_position(settle), 3),
        "reaction": None if lag is None else round(contact + lag, 3),
        "lag": lag,
        "kind": beat.kind,
        "side": beat.side,
        "striker": beat.who,
        "receiver": 1 - beat.who,
        "sell": beat.sell,
        "peak_speed": round(peak, 2),
    }


def _limb_times(striker: Fighter, reach: Reach, contact: float) -> tuple[float, float, float]:
    """Onset and settle of a strike, seconds, and its peak speed, m/s, the step in left out."""
    step = 0.001
    times = np.arange(reach.stroke.start, reach.stroke.end, step)
    joint = _STRIKING[reach.limb][reach.side]
    way = striker.joints(times)[:, joint] - striker.place(times)[0]
    speed = np.linalg.norm(np.diff(way, axis=0), axis=1) / step
    first, at = (ceil((t - times[0]) / step) for t in (reach.stroke.reach_start, contact))
    peak = first + int(np.argmax(speed[first : at + 1]))
    resting = speed < REST * speed[peak]
    onset = peak - int(np.argmax(resting[peak::-1]))
    settle = at + int(np.argmax(resting[at:]))
    return float(times[onset]), float(times[settle]), float(speed[peak])
