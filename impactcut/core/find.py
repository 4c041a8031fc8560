"""Find hits: weigh impulses, pick the likeliest, follow each strike, refine it into a hit.

Steps, each a function on plain values: `weigh` measures every impulse against the hit model, `pick`
keeps the likeliest of each moment, `follow` traces its strike and looks for a reaction, `refine`
reads onset, peak and settle off the strike around the contact. Contact is not the peak of speed: it
is where the strike ends.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from impactcut.core.arrays import Float64Array, FloatArray
from impactcut.core.camera import camera_word
from impactcut.core.cells import MotionCells
from impactcut.core.hit_model import HitModel
from impactcut.core.hits import Hit
from impactcut.core.impulses import Impulse
from impactcut.core.limb import StrikePath, strike_path
from impactcut.core.traits import traits_of

CONTACT_EARLY: Final = 0.25
"""Frames by which a contact may follow a frame's middle of exposure and still be read in it."""
APART_SECONDS: Final = 0.16
"""Two hits lie at least this far apart, engineering choice: four frames at 24 a second."""
LEAST_CHANCE: Final = 0.05
"""Impulses less likely than this are forgotten; whoever reads the hits sets the real threshold."""
ONSET_SHARE: Final = 0.25
SETTLE_SHARE: Final = 0.3
"""Shares of the peak speed below which a strike has not begun, and has come to rest."""
LATEST_REACTION_SECONDS: Final = 0.25
EARLIEST_REACTION_SECONDS: Final = 0.16
"""By how much a receiver may start before the contact, engineering choice: four frames at 24."""
EARLY_FRAMES: Final = 1
"""A start no more than this before the contact is one at the contact: neither is known better."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """An impulse that may belong to a hit.

    Parameters
    ----------
    impulse : Impulse
    chance : float
        0..1.
    frame : float
        Clip frame of the impulse.
    contact : float
        Instant of contact, clip frames.
    """

    impulse: Impulse
    chance: float
    frame: float
    contact: float


def weigh(
    impulses: Sequence[Impulse], cells: MotionCells, velocity: FloatArray, model: HitModel
) -> tuple[Candidate, ...]:
    """Every impulse with its chance of belonging to a hit, and when the contact would be.

    Parameters
    ----------
    impulses : sequence of Impulse
        Of ``cells``.
    cells : MotionCells
        At the finding rate (`impactcut.core.cadence.at_finding_rate`).
    velocity : float32, shape (n, rows, columns, 2)
        ``cells.velocity()``.
    model : HitModel
    """
    candidates: list[Candidate] = []
    step = float(np.median(np.diff(cells.frames)))
    traits = traits_of(impulses, cells, velocity)
    for kind in ("start", "stop"):
        of_kind = np.array([impulse.kind == kind for impulse in impulses], bool)
        same = [impulse for impulse in impulses if impulse.kind == kind]
        chances = model.chances(kind, traits[of_kind])
        steps = model.contact_steps(kind, traits[of_kind])
        for impulse, chance, offset in zip(same, chances, steps, strict=True):
            frame = float(cells.frames[impulse.node])
            contact = frame + float(offset) * step
            candidates.append(Candidate(impulse, float(chance), frame, contact))
    return tuple(candidates)


def pick(candidates: Iterable[Candidate], rate: float) -> tuple[Candidate, ...]:
    """The likeliest candidate of each moment, in order of contact.

    Parameters
    ----------
    candidates : iterable of Candidate
    rate : float
        Frames per second.
    """
    every = list(candidates)
    kept = likeliest_apart(
        np.array([candidate.chance for candidate in every]),
        np.array([candidate.contact for candidate in every]),
        rate,
    )
    return tuple(sorted((every[index] for index in kept), key=lambda c: c.contact))


def likeliest_apart(chance: Float64Array, contact: Float64Array, rate: float) -> list[int]:
    """Which impulses stand for a moment of their own, the likeliest first.

    Parameters
    ----------
    chance : float64, shape (n,)
        0..1.
    contact : float64, shape (n,)
        Instants, clip frames.
    rate : float
        Frames per second.
    """
    kept: list[int] = []
    for index in np.lexsort((contact, -chance)):
        if chance[index] < LEAST_CHANCE:
            break
        if (np.abs(contact[kept] - contact[index]) >= APART_SECONDS * rate).all():
            kept.append(int(index))
    return kept


@dataclass(frozen=True, eq=False)
class Reaction:
    """The receiver's start to move: the impulse that shows it, and the clip frame to call it."""

    candidate: Candidate
    frame_number: int


@dataclass(frozen=True, eq=False)
class Landing:
    """A candidate's strike, followed.

    Parameters
    ----------
    contact : int
        Clip frame.
    path : StrikePath
        Around the contact.
    reaction : Reaction or None
        None if no receiver was seen to react.
    """

    contact: int
    path: StrikePath
    reaction: Reaction | None


def contact_frame(chosen: Candidate, frames: int) -> int:
    """The first frame of a clip of ``frames`` frames that shows the candidate's contact."""
    return min(max(math.ceil(chosen.contact - CONTACT_EARLY), 0), frames - 1)


def follow(
    chosen: Candidate, candidates: Iterable[Candidate], cells: MotionCells, contact: int
) -> Landing:
    """Follow a candidate's strike, and see who reacts to it.

    Parameters
    ----------
    chosen : Candidate
    candidates : iterable of Candidate
        All of the stretch, for the reaction.
    cells : MotionCells
        The stretch at the clip's own rate.
    contact : int
        From `contact_frame`.
    """
    path = strike_path(chosen.impulse, cells, contact)
    return Landing(contact, path, reaction_to(chosen, candidates, contact, float(cells.rate)))


def refine(chosen: Candidate, landing: Landing, cells: MotionCells, frames: int) -> Hit:
    """The hit that a candidate stands for.

    Parameters
    ----------
    chosen : Candidate
    landing : Landing
        Of the candidate.
    cells : MotionCells
        The stretch at the clip's own rate.
    frames : int
        Frames of the clip known so far; the hit lies within them.
    """
    path, contact, reaction = landing.path, landing.contact, landing.reaction
    onset, peak, settle = _strike_times(path, contact)
    return Hit(
        onset=onset,
        peak=peak,
        contact=contact,
        contact_exact=round(chosen.contact, 3),
        settle=min(settle, frames - 1),
        reaction=None if reaction is None else min(reaction.frame_number, frames - 1),
        confidence=round(chosen.chance, 4),
        peak_speed=round(float(path.speed.max(initial=0.0)), 4),
        region=path.region_at(contact),
        camera=camera_word(cells, contact),
    )


def reaction_to(
    chosen: Candidate, candidates: Iterable[Candidate], contact: int, rate: float
) -> Reaction | None:
    """The receiver's reaction to a hit with its contact at frame ``contact``, if one was seen."""
    earliest = contact - max(1, EARLIEST_REACTION_SECONDS * rate)
    latest = contact + LATEST_REACTION_SECONDS * rate
    starts = [
        candidate
        for candidate in candidates
        if candidate.impulse.kind == "start"
        and earliest <= candidate.frame <= latest
        and (candidate.impulse is chosen.impulse or candidate.chance > 0.5)
    ]
    if not starts:
        return None
    likeliest = max(starts, key=lambda candidate: candidate.chance)
    seen = round(likeliest.frame)
    return Reaction(likeliest, contact if 0 < contact - seen <= EARLY_FRAMES else seen)


def _strike_times(path: StrikePath, contact: int) -> tuple[int, int, int]:
    """Onset, peak and settle, as clip frames around ``contact``."""
    at = contact - path.first
    speed = path.speed
    before = speed[max(0, at - 5) : max(1, at + 1)]
    if len(before) == 0 or before.max() <= 0:
        return contact, contact, contact
    peak = max(0, at - 5) + int(np.argmax(before))
    peak = min(peak, max(0, at))
    slow = np.flatnonzero(speed[: peak + 1] < ONSET_SHARE * speed[peak])
    onset = int(slow[-1]) + 1 if len(slow) else 0
    still = np.flatnonzero(speed[at:] < SETTLE_SHARE * speed[peak])
    settle = at + int(still[0]) if len(still) else len(speed)
    first = path.first
    return first + min(onset, peak), first + min(peak, at), first + max(settle, at)
