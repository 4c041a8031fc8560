"""The takes and angles of one beat, ranked by how well they sell it, each with the reason.

In this order: whose receiver reacts neither early nor late once the trim is out; who looks fastest
on screen with the trim; who stops hardest; which take was circled. Speeds, and stops, that differ
by less than an attentive viewer can tell count as equal (de'Sperati & Baud-Bovy 2017): they are
counted in steps of that ratio. That order is an engineering choice without a source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from impactcut.core.detect.hits import Hit
from impactcut.core.fight.reading import Reading, early_reaction, late_reaction
from impactcut.core.takes.clip import Clip
from impactcut.core.trims.trim import Trim, lag_after
from impactcut.core.viewer.judge import AS_PUBLISHED, ATTENTIVE, Judge


@dataclass(frozen=True)
class Showing:
    """One take's or angle's version of a beat.

    Parameters
    ----------
    clip : Clip
    hit_id : int
    hit : Hit
    crispness : float
        How hard the strike stops as shot, picture widths per second per second.
    trim : Trim or None
        The one approved, or else proposed.
    reading : Reading
    called : str
        What people call the hit.
    """

    clip: Clip
    hit_id: int
    hit: Hit
    crispness: float
    trim: Trim | None
    reading: Reading
    called: str = ""

    @property
    def gain(self) -> float:
        """How much faster the trim makes it look; 1 without one."""
        return 1.0 if self.trim is None else self.trim.speed_gain

    @property
    def speed(self) -> float:
        """The hit's speed, which every list gives, times the gain; picture widths per second."""
        return self.hit.peak_speed * self.gain

    @property
    def lag(self) -> int | None:
        """Frames from contact to reaction with the trim; None where nobody was seen to react."""
        if self.trim is None:
            return self.hit.reaction_lag
        return lag_after(self.hit, self.trim.first, self.trim.count)


@dataclass(frozen=True)
class Ranked:
    """A showing with its place, from 1, and why it has it."""

    place: int
    showing: Showing
    reason: str


@dataclass(frozen=True)
class ComparedBeat:
    """One beat of a section, counted from 1, with its showings in order of rank."""

    section: str
    number: int
    ranked: tuple[Ranked, ...]

    @property
    def name(self) -> str:
        """Section and number."""
        return f"{self.section}.{self.number}"


def rank_showings(showings: Iterable[Showing], judge: Judge = AS_PUBLISHED) -> tuple[Ranked, ...]:
    """Rank the showings of one beat."""
    ordered = sorted(showings, key=lambda each: _key(each, judge))
    if not ordered:
        return ()
    best = ordered[0]
    return tuple(
        Ranked(place, each, _why(each, best, ordered, judge))
        for place, each in enumerate(ordered, start=1)
    )


def misreaction(showing: Showing, limits: Judge) -> str:
    """How the receiver's reaction is out of time with the trim; empty where it is not."""
    lag, rate = showing.lag, showing.clip.rate
    return late_reaction(lag, rate, limits) or early_reaction(lag, rate)


def _key(showing: Showing, limits: Judge) -> tuple[bool, int, int, bool, int]:
    return (
        bool(misreaction(showing, limits)),
        -_step(showing.speed),
        -_step(showing.crispness),
        not showing.clip.circled,
        showing.hit_id,
    )


def _step(value: float) -> int:
    """So many times can an attentive viewer tell the value from 1."""
    return math.floor(math.log(max(value, 1e-6)) / math.log1p(ATTENTIVE.weber))


def _why(showing: Showing, best: Showing, ordered: Sequence[Showing], limits: Judge) -> str:
    wrong = misreaction(showing, limits)
    if wrong and (showing is not best or len(ordered) == 1):
        return wrong
    if showing is best:
        return _why_best(best, ordered[1:], limits)
    if _step(showing.speed) < _step(best.speed):
        return f"{1 - showing.speed / best.speed:.0%} slower on screen than the first"
    if _step(showing.crispness) < _step(best.crispness):
        return f"as fast, but stops {1 - showing.crispness / best.crispness:.0%} less hard"
    if best.clip.circled and not showing.clip.circled:
        return "as good; the first is of a circled take"
    return "as good as the first"


def _why_best(best: Showing, others: Sequence[Showing], limits: Judge) -> str:
    if not others:
        return "the only one"
    if misreaction(best, limits):
        return f"the fastest, but no receiver reacts in time: {misreaction(best, limits)}"
    in_time = [other for other in others if not misreaction(other, limits)]
    if not in_time:
        return "the only one whose receiver reacts in time"
    if all(_step(other.speed) < _step(best.speed) for other in in_time):
        return "fastest on screen"
    if all(_step(o.crispness) < _step(best.crispness) for o in in_time):
        return "among the fastest, and stops hardest"
    if best.clip.circled and not all(other.clip.circled for other in in_time):
        return "among the fastest, and of a circled take"
    return "among the fastest"
