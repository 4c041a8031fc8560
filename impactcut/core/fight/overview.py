"""A whole fight at a glance: hits over time, trims, frames taken out, and where hits crowd."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import accumulate
from typing import Final, Literal

from impactcut.core.fight.reading import Reading

TrimState = Literal["approved", "proposed", "declined", "none"]

CLOSE_SECONDS: Final = Fraction(1)
LEAST_CROWD: Final = 3
"""Hits that follow one another within a second, three of them or more, are a crowd; engineering
choice."""


@dataclass(frozen=True)
class ClipSpan:
    """A clip in the programme: clips lie end to end, as in the lists; seconds untrimmed."""

    name: str
    section: str
    take: str
    angle: str
    start: Fraction
    seconds: Fraction


@dataclass(frozen=True)
class HitMark:
    """A hit in the programme.

    Parameters
    ----------
    hit_id : int
    at : Fraction
        Second of its contact in the untrimmed programme.
    speed : float
        Picture widths per second.
    reading : Reading
    state : {"approved", "proposed", "declined", "none"}
        What becomes of its trim.
    frames : int
        That the trim takes out; 0 where none is approved or proposed.
    frame_seconds : Fraction
        How long a frame of its clip lasts.
    called : str
        What people call the hit.
    """

    hit_id: int
    at: Fraction
    speed: float
    reading: Reading
    state: TrimState
    frames: int
    frame_seconds: Fraction
    called: str = ""


@dataclass(frozen=True)
class FightOverview:
    """Clips and hits in record order; ``usual_speed`` is that of the fight, widths/s."""

    clips: tuple[ClipSpan, ...]
    hits: tuple[HitMark, ...]
    usual_speed: float | None

    @property
    def seconds(self) -> Fraction:
        """Length of the untrimmed programme."""
        return sum((clip.seconds for clip in self.clips), Fraction(0))

    def frames_out(self, states: Iterable[TrimState]) -> tuple[int, ...]:
        """Frames taken out so far, with each hit, by the trims in those states."""
        counted = frozenset(states)
        return tuple(accumulate(hit.frames if hit.state in counted else 0 for hit in self.hits))

    def seconds_out(self, states: Iterable[TrimState]) -> Fraction:
        """Seconds that the trims in those states take out altogether."""
        counted = frozenset(states)
        out = (hit.frames * hit.frame_seconds for hit in self.hits if hit.state in counted)
        return sum(out, Fraction(0))

    def crowds(self) -> tuple[tuple[HitMark, ...], ...]:
        """Runs of hits of one clip that follow one another closely."""
        runs: list[list[HitMark]] = []
        for hit in self.hits:
            last = runs[-1][-1] if runs else None
            if last is not None and hit.at - last.at <= CLOSE_SECONDS and self._together(last, hit):
                runs[-1].append(hit)
            else:
                runs.append([hit])
        return tuple(tuple(run) for run in runs if len(run) >= LEAST_CROWD)

    def _together(self, one: HitMark, other: HitMark) -> bool:
        return bisect_right(self._starts, one.at) == bisect_right(self._starts, other.at)

    @cached_property
    def _starts(self) -> list[Fraction]:
        return [clip.start for clip in self.clips]
