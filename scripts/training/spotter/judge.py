"""What fits say of clips that they have not seen, scored source by source.

Matching and counting are those of the bench's own ``score.py``: a find is right within a frame of a
label and the label's own doubt.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from impactcut.core.detect.contact import Peak, peaks

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


def of_source(clips: Sequence[Labelled], *sources: str) -> list[Labelled]:
    """Clips of some sources."""
    return [clip for clip in clips if clip.source in sources]


def report(bench: Bench, clips: Sequence[Labelled], answers: Answers) -> str:
    """Scores by source at the thresholds that matter."""
    answered = [clip for clip in clips if clip.name in answers]
    every = finds(bench, answered, answers)
    people, calm = of_source(answered, *PEOPLE), of_source(answered, "calm")
    odds = sorted({round(find.peak.odds, 2) for find in every if find.right >= 0})
    grid = np.unique(np.quantile(odds, np.linspace(0, 1, 60))) if odds else np.array([0.0])
    best = max(grid, key=lambda least: tally(bench, people + calm, every, least).f1)
    acted = of_source(answered, "acted")
    best_acted = max(grid, key=lambda least: tally(bench, acted, every, least).f1)
    two = min((g for g in grid if tally(bench, calm, every, g).a_minute <= 2), default=grid[-1])
    lines = []
    for name, least in (("best people", best), ("best acted", best_acted), ("calm 2/min", two)):
        each = {
            source: tally(bench, of_source(answered, source), every, least)
            for source in ("acted", "cctv", "sparring", "calm", "things", "rendered")
        }
        both = tally(bench, people, every, least)
        lines.append(
            f"{name:12} {least:5.2f}: people {both.f1:.2f} | "
            + " ".join(f"{s} {t.f1:.2f}/{t.recall:.2f}" for s, t in each.items() if s != "calm")
            + f" | calm {each['calm'].a_minute:.1f}/min | acted exact {each['acted'].exact:.2f} "
            f"place {each['acted'].near:.2f}, rendered exact {each['rendered'].exact:.2f}"
        )
    return "\n".join(lines)
