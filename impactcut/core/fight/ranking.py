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

from impactcut.core.fight.entries import HitEntry
from impactcut.core.fight.reading import early_reaction, late_reaction
from impactcut.core.trims.trim import lag_after
from impactcut.core.viewer.judge import ATTENTIVE


@dataclass(frozen=True)
class Showing:
    """One take's or angle's version of a beat, with the trim approved, or else proposed.

    ``crispness`` is how hard the strike stops as shot, picture widths per second per second.
    """

    entry: HitEntry
    crispness: float

    @property
    def gain(self) -> float:
        """How much faster the trim makes it look; 1 without one."""
        return 1.0 if self.entry.taken is None else self.entry.taken.speed_gain

    @property
    def speed(self) -> float:
        """The hit's speed, which every list gives, times the gain; picture widths per second."""
        return self.entry.impact.peak_speed * self.gain

    @property
    def lag(self) -> int | None:
        """Frames from contact to reaction with the trim; None where nobody was seen to react."""
        hit, trim = self.entry.impact, self.entry.taken
        return hit.reaction_lag if trim is None else lag_after(hit, trim.first, trim.count)

    @property
    def misreaction(self) -> str:
        """How the receiver's reaction is out of time with the trim; empty where it is not."""
        lag, rate = self.lag, self.entry.clip.rate
        return late_reaction(lag, rate, self.entry.judge) or early_reaction(lag, rate)


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


def rank_showings(showings: Iterable[Showing]) -> tuple[Ranked, ...]:
    """Rank the showings of one beat."""
    ordered = sorted(showings, key=_key)
    return tuple(
        Ranked(place, each, _why(each, ordered[0], ordered))
        for place, each in enumerate(ordered, start=1)
    )


def _key(showing: Showing) -> tuple[bool, int, int, bool, int]:
    return (
        bool(showing.misreaction),
        -_step(showing.speed),
        -_step(showing.crispness),
        not showing.entry.clip.circled,
        showing.entry.id,
    )


def _step(value: float) -> int:
    """So many times can an attentive viewer tell the value from 1."""
    return math.floor(math.log(max(value, 1e-6)) / math.log1p(ATTENTIVE.weber))


def _why(showing: Showing, best: Showing, ordered: Sequence[Showing]) -> str:
    wrong = showing.misreaction
    if wrong and (showing is not best or len(ordered) == 1):
        return wrong
    if showing is best:
        return _why_best(best, ordered[1:])
    if _step(showing.speed) < _step(best.speed):
        return f"{1 - showing.speed / best.speed:.0%} slower on screen than the first"
    if _step(showing.crispness) < _step(best.crispness):
        return f"as fast, but stops {1 - showing.crispness / best.crispness:.0%} less hard"
    if best.entry.clip.circled and not showing.entry.clip.circled:
        return "as good; the first is of a circled take"
    return "as good as the first"


def _why_best(best: Showing, others: Sequence[Showing]) -> str:
    if not others:
        return "the only one"
    if best.misreaction:
        return f"the fastest, but no receiver reacts in time: {best.misreaction}"
    in_time = [other for other in others if not other.misreaction]
    if not in_time:
        return "the only one whose receiver reacts in time"
    if all(_step(other.speed) < _step(best.speed) for other in in_time):
        return "fastest on screen"
    if all(_step(o.crispness) < _step(best.crispness) for o in in_time):
        return "among the fastest, and stops hardest"
    if best.entry.clip.circled and not all(other.entry.clip.circled for other in in_time):
        return "among the fastest, and of a circled take"
    return "among the fastest"
