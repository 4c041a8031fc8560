"""A whole fight at a glance: hits over time, trims, frames taken out, and where hits crowd."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from typing import Final

from impactcut.core.fight.entries import ClipEntry, HitEntry, TrimState
from impactcut.core.grouping import in_runs
from impactcut.core.takes.clip import Clip

CLOSE_SECONDS: Final = Fraction(1)
LEAST_CROWD: Final = 3
"""Hits that follow one another within a second, three of them or more, are a crowd; engineering
choice."""


@dataclass(frozen=True)
class FightOverview:
    """Clips laid end to end in their order, as in the lists; seconds are of the untrimmed whole.

    Parameters
    ----------
    clips : tuple of (Fraction, Clip)
        Each with the second at which it starts.
    hits : tuple of (Fraction, HitEntry)
        Each with the second of its contact.
    """

    clips: tuple[tuple[Fraction, Clip], ...]
    hits: tuple[tuple[Fraction, HitEntry], ...]

    @property
    def seconds(self) -> Fraction:
        """Length of the untrimmed programme."""
        return sum((clip.seconds for _, clip in self.clips), Fraction(0))

    @property
    def usual_speed(self) -> float | None:
        """That of the fight, picture widths per second; None where no hit was seen."""
        return next((entry.usual_speed for _, entry in self.hits), None)

    def frames_out(self, *states: TrimState) -> tuple[int, ...]:
        """Frames taken out so far, with each hit, by the trims in those states."""
        return tuple(accumulate(_out(entry, states) for _, entry in self.hits))

    def seconds_out(self, *states: TrimState) -> Fraction:
        """Seconds that the trims in those states take out altogether."""
        out = (_out(entry, states) / entry.clip.rate for _, entry in self.hits)
        return sum(out, Fraction(0))

    def crowds(self) -> tuple[tuple[Fraction, ...], ...]:
        """Seconds of the hits in each run of one clip's that follow one another closely."""
        runs = in_runs(self.hits, _close)
        return tuple(tuple(at for at, _ in run) for run in runs if len(run) >= LEAST_CROWD)


def fight_overview(entries: Iterable[ClipEntry]) -> FightOverview:
    """The overview of clips and their hits."""
    shown = [entry for entry in entries if entry.clip.frames > 0]
    starts = accumulate((entry.clip.seconds for entry in shown), initial=Fraction(0))
    placed = list(zip(starts, shown, strict=False))
    return FightOverview(
        clips=tuple((start, entry.clip) for start, entry in placed),
        hits=tuple(
            (start + hit.impact.contact / hit.clip.rate, hit)
            for start, entry in placed
            for hit in entry.hits
        ),
    )


def _out(entry: HitEntry, states: Collection[TrimState]) -> int:
    frames = entry.going_out if entry.trim_state in states else None
    return 0 if frames is None else len(frames)


def _close(before: tuple[Fraction, HitEntry], after: tuple[Fraction, HitEntry]) -> bool:
    return after[1].clip == before[1].clip and after[0] - before[0] <= CLOSE_SECONDS
