"""The beats of a fight: which hits of several takes and angles are the same blow.

Takes begin at different moments, and are performed a little faster or slower. The rhythm of their
contacts is laid over the rhythm of the fullest take, from every start that a pair of contacts
suggests and at several tempos, and contacts are assigned to one another so that as many as can be
are as close as can be; the overlay that brings most contacts closest counts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from impactcut.core.arrays import Float64Array

APART_SECONDS: Final = 0.4
"""Contacts further apart than this, once one rhythm is laid over the other, are not the same beat.
Engineering choice without a source."""
TEMPOS: Final = tuple(1.04**step for step in sorted(range(-5, 6), key=abs))
"""Tempos of one performance beside another that are tried, the likeliest first: to a fifth slower
and faster. Engineering choice."""
_STARTS: Final = 4
"""So many of each take's first and last contacts are tried as the start of the overlay."""


@dataclass(frozen=True)
class ClipRhythm:
    """The hits of a clip, by number, and the seconds of their contacts from the clip's start."""

    hits: tuple[int, ...]
    seconds: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.hits) != len(self.seconds) or list(self.seconds) != sorted(self.seconds):
            raise ValueError("every hit has its second, and they are in order")


@dataclass(frozen=True)
class Overlay:
    """One rhythm laid over another.

    Parameters
    ----------
    pairs : tuple of (int, int)
        Positions in the first and in the second that are the same beat.
    seconds : tuple of float
        Of every contact of the second, on the clock of the first.
    likeness : float
        Sum over the pairs of how close they are: 1 for one that coincides, 0 at `APART_SECONDS`.
    """

    pairs: tuple[tuple[int, int], ...]
    seconds: tuple[float, ...]
    likeness: float


def find_beats(
    clips: Sequence[ClipRhythm], marks: Mapping[int, int] | None = None
) -> tuple[tuple[int, ...], ...]:
    """The beats that clips of one section share, in order; each holds one hit of a clip at most.

    Parameters
    ----------
    marks : mapping of int to int, optional
        Hits that somebody put into the beat of another hit, or alone: then with themselves.
    """
    ordered = sorted(clips, key=lambda clip: -len(clip.hits))
    beats: list[tuple[float, list[int]]] = []
    for clip in ordered:
        overlay = overlay_rhythms([second for second, _ in beats], clip.seconds)
        known = {theirs: mine for mine, theirs in overlay.pairs}
        added = []
        for place, hit in enumerate(clip.hits):
            if place in known:
                beats[known[place]][1].append(hit)
            else:
                added.append((overlay.seconds[place], [hit]))
        beats = sorted([*beats, *added])
    found = [hits for _, hits in beats]
    return _corrected(found, clips, marks or {})


def overlay_rhythms(first: Sequence[float], second: Sequence[float]) -> Overlay:
    """Lay one rhythm over another.

    Where several overlays are as good, which is usual of one or two contacts, the one with the
    likeliest tempo and the least shift counts: takes begin at about the same moment.

    Parameters
    ----------
    first, second : sequence of float
        Seconds of contacts, in order.
    """
    if not first or not second:
        return Overlay((), tuple(second), 0.0)
    one, other = np.asarray(first, float), np.asarray(second, float)
    tried = [
        _paired(one, tempo * other + start)
        for tempo in TEMPOS
        for start in _starts(one, tempo * other)
    ]
    best = max(tried, key=lambda overlay: round(overlay.likeness, 1))
    return _refined(one, other, best)


def _starts(one: Float64Array, other: Float64Array) -> list[float]:
    """The shifts that bring an early or late contact of one onto such a one of the other."""
    shifts = {round(float(a - b), 3) for a in _ends(one) for b in _ends(other)}
    return sorted(shifts, key=abs)


def _ends(seconds: Float64Array) -> Float64Array:
    return np.unique(np.concatenate([seconds[:_STARTS], seconds[-_STARTS:]]))


def _refined(one: Float64Array, other: Float64Array, overlay: Overlay) -> Overlay:
    """The overlay with tempo and start fitted to its pairs, as long as that brings it closer."""
    while len(overlay.pairs) >= 3:
        mine, theirs = (list(places) for places in zip(*overlay.pairs, strict=True))
        tempo, start = np.polyfit(other[theirs], one[mine], 1)
        fitted = _paired(one, tempo * other + start)
        if not min(TEMPOS) <= tempo <= max(TEMPOS) or fitted.likeness <= overlay.likeness:
            break
        overlay = fitted
    return overlay


def _paired(one: Float64Array, moved: Float64Array) -> Overlay:
    """The pairs of contacts, each used once, that are likest in all."""
    from scipy.optimize import linear_sum_assignment  # takes longer to load than most need

    like = np.maximum(0.0, 1 - np.abs(one[:, None] - moved) / APART_SECONDS)
    rows, columns = linear_sum_assignment(like, maximize=True)
    near = like[rows, columns] > 0
    pairs = zip(rows[near].tolist(), columns[near].tolist(), strict=True)
    return Overlay(tuple(pairs), tuple(moved.tolist()), float(like[rows, columns].sum()))


def _corrected(
    found: list[list[int]], clips: Sequence[ClipRhythm], marks: Mapping[int, int]
) -> tuple[tuple[int, ...], ...]:
    """The beats as people put them; a hit that another of its clip displaces stands alone."""
    home = {hit: number for number, clip in enumerate(clips) for hit in clip.hits}
    beats = [list(beat) for beat in found]
    for hit, companion in marks.items():
        if hit not in home or companion not in home:
            continue
        place = _place_of(hit, beats)
        if companion == hit:
            beats[place].remove(hit)
            beats.insert(place + 1, [hit])
        else:
            beats[place].remove(hit)
            _join(beats, _place_of(companion, beats), hit, home)
    order = list(home)
    return tuple(tuple(sorted(beat, key=order.index)) for beat in beats if beat)


def _place_of(hit: int, beats: Sequence[Sequence[int]]) -> int:
    return next(place for place, beat in enumerate(beats) if hit in beat)


def _join(beats: list[list[int]], place: int, hit: int, home: Mapping[int, int]) -> None:
    rivals = [each for each in beats[place] if home[each] == home[hit]]
    beats[place] = [each for each in beats[place] if each not in rivals] + [hit]
    beats[place + 1 : place + 1] = [[each] for each in rivals]
