"""What fits say of clips that they have not seen, scored source by source.

Matching and counting are those of the bench's own ``score.py``: a find is right within a frame of a
label and the label's own doubt.
"""

from __future__ import annotations

import importlib.util
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from impactcut.core.detect.contact import Peak, peaks
from impactcut.core.detect.spotter import BESIDE, LAGS, LOOK, NOT_ASKED, SCOUT, people_or_things

from .labelled import Labelled

PEOPLE: Final = ("acted", "cctv", "sparring")
"""Sources of real people with blows; "calm" are those without."""
LEAST: Final = -6.0
"""Log odds below which no peak is looked at."""
Answers = Mapping[str, Mapping[str, NDArray[Any]]]


@dataclass(frozen=True)
class Find:
    """A peak in a clip, and whether it is right: 1, 0, or -1 where nobody asks."""

    clip: Labelled
    peak: Peak
    place: tuple[float, float]
    right: int
    mark: int


@dataclass(frozen=True)
class Bench:
    """The bench's own scorer."""

    score: Any

    @classmethod
    def of(cls, folder: Path) -> Bench:
        """Read from ``score.py`` in a folder."""
        spec = importlib.util.spec_from_file_location("bench_score", folder / "score.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        return cls(module)


def finds(bench: Bench, clips: Sequence[Labelled], answers: Answers) -> list[Find]:
    """Every peak of every clip that was answered, judged."""
    every: list[Find] = []
    for clip in clips:
        if clip.name not in answers:
            continue
        answer = answers[clip.name]
        odds = answer["odds"].astype(np.float32)
        found = peaks(odds, np.arange(len(odds)), float(clip.rate), LEAST)
        asked = [number for number, mark in enumerate(clip.marks) if mark.scored]
        frames = [clip.marks[number].frame for number in asked]
        reach = [1 + clip.marks[number].off for number in asked]
        # the likeliest first: a find that is wrong takes no label from one that is right
        pairs = bench.score.match(frames, [peak.contact for peak in found], reach)
        of = {j: asked[i] for i, j in pairs}
        for number, peak in enumerate(found):
            x, y = answer["place"][peak.node]
            place = (float(x), float(y))
            right = 1 if number in of else (0 if _held_against(clip, peak.contact) else -1)
            every.append(Find(clip, peak, place, right, of.get(number, -1)))
    return every


def _held_against(clip: Labelled, frame: int) -> bool:
    if not clip.complete:
        return False
    beside = any(not mark.scored and abs(mark.frame - frame) <= 3 for mark in clip.marks)
    return not beside and not any(first - 2 <= frame <= last + 2 for first, last in clip.unsure)


@dataclass(frozen=True)
class Tally:
    """Counts of some clips at one threshold."""

    right: int
    false: int
    missed: int
    minutes: float
    exact: float
    near: float

    @property
    def f1(self) -> float:
        """Harmonic mean of precision and recall."""
        whole = 2 * self.right + self.false + self.missed
        return 2 * self.right / whole if whole else 1.0

    @property
    def recall(self) -> float:
        """Share of the labelled contacts that were found."""
        asked = self.right + self.missed
        return self.right / asked if asked else 1.0

    @property
    def a_minute(self) -> float:
        """False finds a minute."""
        return self.false / self.minutes if self.minutes else 0.0

    def line(self) -> str:
        """In words."""
        return (
            f"F1 {self.f1:.2f} recall {self.recall:.2f} ({self.right} right {self.false} false "
            f"{self.missed} missed, {self.a_minute:.1f} false/min) exact {self.exact:.2f} "
            f"place {self.near:.2f}"
        )


def tally(bench: Bench, clips: Sequence[Labelled], every: Sequence[Find], least: float) -> Tally:
    """Counts of finds at log odds of at least ``least`` in some clips, matched among themselves."""
    right = false = missed = 0
    exact, near = [], []
    by_clip: dict[str, list[Find]] = {clip.name: [] for clip in clips}
    for find in every:
        if find.peak.odds >= least and find.clip.name in by_clip:
            by_clip[find.clip.name].append(find)
    for clip in clips:
        found = by_clip[clip.name]
        asked = [mark for mark in clip.marks if mark.scored]
        frames = [mark.frame for mark in asked]
        pairs = bench.score.match(
            frames, [find.peak.contact for find in found], [1 + mark.off for mark in asked]
        )
        right += len(pairs)
        missed += len(asked) - len(pairs)
        used = {j for _, j in pairs}
        false += sum(
            j not in used and _held_against(clip, find.peak.contact) for j, find in enumerate(found)
        )
        for i, j in pairs:
            exact.append(found[j].peak.contact == frames[i])
            place = asked[i].place
            if place is not None:
                near.append(_apart(clip, found[j].place, place) <= 0.1)
    minutes = sum(clip.frames / float(clip.rate) for clip in clips) / 60
    mean = lambda values: float(np.mean(values)) if values else float("nan")  # noqa: E731
    return Tally(right, false, missed, minutes, mean(exact), mean(near))


def _apart(clip: Labelled, one: tuple[float, float], other: tuple[float, float]) -> float:
    """Distance of two places given in shares of width and height, picture widths."""
    wide, high = clip.shape_on_grid
    tall = high * 96 / (wide * 128)
    return float(np.hypot(one[0] - other[0], (one[1] - other[1]) * tall))


def together(
    answers: Mapping[str, Answers],
    shares: Mapping[str, Mapping[str, float]],
    rate_of: Mapping[str, float],
) -> Answers:
    """What a scout and others say of clips, as `impactcut.core.detect.spotter.Opinions` has it.

    Parameters
    ----------
    answers : mapping of networks' names to answers
    shares : mapping of str to mapping of str to float
        As of `impactcut.core.detect.spotter.Spotter`.
    rate_of : mapping of str to float
        Frames a second of each clip.
    """
    said: dict[str, dict[str, NDArray[Any]]] = {}
    for clip, answer in answers[SCOUT].items():
        scout = answer["odds"].astype(np.float32)
        odds = np.minimum(scout, NOT_ASKED)
        for peak in peaks(scout, np.arange(len(scout)), rate_of[clip], LOOK):
            beside = slice(max(0, peak.node - BESIDE), peak.node + BESIDE + 1)
            counted = shares[people_or_things(answer["kinds"][peak.node])]
            told = [answers[name][clip]["odds"][beside] for name in counted]
            odds[beside] = np.dot(list(counted.values()), told)
        said[clip] = {**answer, "odds": odds}
    return said


def calibrated(every: Sequence[Find], calm: float = 0.5) -> tuple[float, float]:
    """Slope and lift from log odds to those of being right, on finds of real people.

    Parameters
    ----------
    calm : float
        How much a find in film of people who strike nobody counts: there is more of it on the
        bench than among an editor's selects.
    """
    asked = [
        find
        for find in every
        if find.right >= 0 and find.clip.source in (*PEOPLE, "calm") and find.peak.odds > -2.5
    ]
    odds = np.array([find.peak.odds for find in asked])
    right = np.array([find.right for find in asked], float)
    weight = np.array([calm if find.clip.source == "calm" else 1.0 for find in asked])

    def surprise(line: NDArray[np.float64]) -> float:
        said = line[0] * odds + line[1]
        wrong = np.logaddexp(0, -said) * right + np.logaddexp(0, said) * (1 - right)
        return float((weight * wrong).sum())

    slope, lift = minimize(surprise, np.array([1.0, 0.0])).x
    return float(slope), float(lift)


def reliability(every: Sequence[Find], line: tuple[float, float]) -> list[tuple[float, int, float]]:
    """From which confidence, how many finds of real people, and the share of them that is right."""
    rows = []
    for low, high in ((0.9, 1.01), (0.7, 0.9), (0.5, 0.7), (0.3, 0.5), (0.1, 0.3)):
        right = [
            find.right
            for find in every
            if find.right >= 0 and find.clip.source in (*PEOPLE, "calm")
            if low <= 1 / (1 + np.exp(-(line[0] * find.peak.odds + line[1]))) < high
        ]
        rows.append((low, len(right), float(np.mean(right)) if right else float("nan")))
    return rows


def table(
    bench: Bench, clips: Sequence[Labelled], every: Sequence[Find], least: float
) -> list[str]:
    """Scores of every source and group at log odds of at least ``least``."""
    sources = ("acted", "cctv", "sparring", "calm", "things", "rendered")
    rows = [
        f"{source:10} {tally(bench, of_source(clips, source), every, least).line()}"
        for source in sources
    ]
    rows.append(f"{'people':10} {tally(bench, of_source(clips, *PEOPLE), every, least).line()}")
    groups = sorted({_shown_group(clip) for clip in clips if clip.source != "rendered"})
    for group in groups:
        inside = [clip for clip in clips if _shown_group(clip) == group]
        rows.append(f"  {group}: {tally(bench, inside, every, least).line()}")
    return rows


def _shown_group(clip: Labelled) -> str:
    return clip.group if clip.source == "acted" else clip.group.rpartition(": ")[0]


def reactions(clips: Sequence[Labelled], answers: Answers) -> Counter[tuple[str, str]]:
    """How often reactions of acted blows labelled early, in time or late are told as each."""
    told: Counter[tuple[str, str]] = Counter()
    for clip in of_source(clips, "acted"):
        for mark in clip.marks:
            if mark.lag is None or clip.name not in answers:
                continue
            answer = answers[clip.name]
            near = slice(max(0, mark.frame - 2), mark.frame + 3)
            at = int(np.argmax(answer["odds"][near])) + near.start
            likely = np.exp(answer["lags"][at].astype(float))
            lag = LAGS[int(np.searchsorted(np.cumsum(likely) / likely.sum(), 0.5))]
            told[_timing(mark.lag, clip), _timing(lag, clip)] += 1
    return told


def _timing(lag: float, clip: Labelled) -> str:
    late = lag > 0.1 * float(clip.rate)
    return "early" if lag <= -2 else "late" if late else "in time"


def of_source(clips: Sequence[Labelled], *sources: str) -> list[Labelled]:
    """Clips of some sources."""
    return [clip for clip in clips if clip.source in sources]
