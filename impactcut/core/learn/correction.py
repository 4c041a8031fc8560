"""Corrections of the finder: its last layer, refitted a little on a project's own answers.

A frame is described by a row of some sixty numbers, of which the spotter's last layer makes log
odds. A correction adds to what was said

    lift + trust * min(max(said, -`WIDEST`), `WIDEST`) + row . (what describes the frame)

where the numbers are those that make the answers likeliest (logistic regression) without going far
from 0 (ridge), which is what the shipped weights say. It is checked on answers left out, and not
to be used unless it helps there: `Check.helps`.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, FloatArray, IntArray
from impactcut.core.detect.confidence import SURE, Calibration
from impactcut.core.words import counted

LEAST_ANSWERS: Final = 10
"""Answers below which nothing is learnt."""
FOLDS: Final = 5
"""Parts into which clips are divided; each is judged by what the others teach."""
WIDEST: Final = 4.0
"""Log odds beyond which what was said is as good as certain, engineering choice."""
HELD_BACK: Final = (0.3, 3.0)
"""By how much lift and trust (in steps of 3) are held to 0, engineering choice."""
ROW_HELD_BACK: Final = (100.0, 30.0, 10.0)
"""By how much the row, of numbers of unit spread, may be held to 0; on answers left out it is
chosen among these: less was never better on films that no fit had seen."""
_DIGITS: Final = 6
"""Decimals of a correction's numbers, so that machines that differ in the last bit agree."""


@dataclass(frozen=True)
class Correction:
    """What is added to the log odds that the spotter says.

    Parameters
    ----------
    weights : str
        Digest of the weights that say them.
    """

    weights: str
    lift: float
    trust: float
    row: tuple[float, ...]

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.lift, self.trust, *self.row))):
            raise ValueError("a correction's numbers are finite")

    @property
    def digest(self) -> str:
        """Of all its numbers, the same on every machine."""
        text = f"{self.weights} {self.lift!r} {self.trust!r} {self.row!r}"
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    def corrected(self, said: FloatArray, rows: FloatArray) -> FloatArray:
        """Log odds of ``n`` frames with the correction.

        Parameters
        ----------
        said : float32, shape (n,)
        rows : float32, shape (n, numbers)
            What describes them.
        """
        added = self.lift + self.trust * said.clip(-WIDEST, WIDEST) + rows @ np.array(self.row)
        return np.asarray(said + added, np.float32)


@dataclass(frozen=True, eq=False)
class Moments:
    """``n`` moments of one clip of which it is known whether they are contacts.

    Parameters
    ----------
    said : float32, shape (n,)
        Log odds by the shipped weights.
    rows : float32, shape (n, numbers)
    right : bool, shape (n,)
        Whether they are.
    answered : bool, shape (n,)
        Whether somebody said so; the others were passed over by somebody who went through the clip.
    """

    said: FloatArray
    rows: FloatArray
    right: BoolArray
    answered: BoolArray

    def __len__(self) -> int:
        return len(self.said)


@dataclass(frozen=True)
class Check:
    """What a correction is worth on answers that it was not fitted on.

    Parameters
    ----------
    clips, hits, none, passed : int
        Clips; answers that there is a hit, and that there is none; moments passed over.
    found, wrong : (int, int)
        Hits listed at `SURE`, and other moments that are, before and after.
    loss : (float, float)
        Mean surprise of an answer or a moment passed over, in nats, before and after.
    doubt : float
        Standard error of the difference of the two.
    """

    clips: int
    hits: int
    none: int
    passed: int
    found: tuple[int, int]
    wrong: tuple[int, int]
    loss: tuple[float, float]
    doubt: float

    @property
    def answers(self) -> int:
        """Of people."""
        return self.hits + self.none

    @property
    def helps(self) -> bool:
        """Whether answers left out are less of a surprise, beyond chance, and no list gets worse.

        Less by more than a standard error; and what is listed more is worth it at `SURE`: who
        wants finds of that chance listed takes so many false ones for a hit, and no more.
        """
        won, more = self.found[1] - self.found[0], self.wrong[1] - self.wrong[0]
        return self.loss[0] - self.loss[1] > self.doubt and won * (1 - SURE) >= more * SURE


@dataclass(frozen=True)
class Lesson:
    """A correction and its check."""

    correction: Correction
    check: Check


def check_note(check: Check) -> str:
    """What was learnt from, and what it is worth, for people."""
    return (
        f"Learnt from {counted(check.answers, 'answer')} in {counted(check.clips, 'clip')} "
        f"({counted(check.hits, 'hit')}, {check.none} not; {check.passed} moments passed over). "
        f"On those left out: {check.found[0]} -> {check.found[1]} hits listed, "
        f"{check.wrong[0]} -> {check.wrong[1]} others; surprise {check.loss[0]:.3f} -> "
        f"{check.loss[1]:.3f} (+-{check.doubt:.3f})."
    )


def lesson(clips: Sequence[Moments], calibration: Calibration, weights: str) -> Lesson:
    """What the answers about clips teach.

    Parameters
    ----------
    clips : sequence of Moments
        Of each clip; there are hits and others among them.
    calibration : Calibration
        Of what the weights say.
    weights : str
        Their digest.
    """
    known = [clip for clip in clips if len(clip)]
    every = _Table(known, calibration)
    parts = _parts(known)
    after = every.base.copy()
    for part in np.unique(parts):
        left = parts == part
        inside = every.without(left)
        chosen = _held_back(inside, parts[~left])
        after[left] = every.judged(_fitted(inside, chosen), left)
    final = _fitted(every, _held_back(every, parts))
    return Lesson(every.correction(final, weights), _check(known, every, after))


class _Table:
    """Moments side by side: what is fitted to them, in numbers of unit spread."""

    def __init__(self, clips: Sequence[Moments], calibration: Calibration) -> None:
        self.slope = calibration.slope
        said = np.concatenate([clip.said for clip in clips]).astype(np.float64)
        self.base = calibration.slope * said + calibration.lift
        self.right = np.concatenate([clip.right for clip in clips])
        rows = np.concatenate([clip.rows for clip in clips]).astype(np.float64)
        self.middle, spread = rows.mean(axis=0), rows.std(axis=0)
        self.spread = np.where(spread > 0, spread, 1.0)
        self.inputs = np.column_stack(
            [np.ones(len(rows)), said.clip(-WIDEST, WIDEST) / 3, (rows - self.middle) / self.spread]
        )

    def without(self, left: BoolArray) -> _Table:
        """Those that are not left out."""
        part = copy(self)
        part.base, part.right = self.base[~left], self.right[~left]
        part.inputs = self.inputs[~left]
        return part

    def judged(self, numbers: Float64Array, which: BoolArray) -> Float64Array:
        """Calibrated log odds of some of them with a correction."""
        return np.asarray(self.base[which] + self.inputs[which] @ numbers)

    def correction(self, numbers: Float64Array, weights: str) -> Correction:
        """The numbers as they are added to what the weights say."""
        row = numbers[2:] / self.spread
        lift = numbers[0] - float(row @ self.middle)
        raw = np.round(np.array([lift, numbers[1] / 3, *row]) / self.slope, _DIGITS)
        first, second, *rest = map(float, raw)
        return Correction(weights, first, second, tuple(rest))


def _fitted(table: _Table, row_held_back: float) -> Float64Array:
    """The numbers that make the answers likeliest, held back: Newton's steps to the least loss."""
    inputs, right = table.inputs, table.right.astype(np.float64)
    held = np.full(inputs.shape[1], row_held_back)
    held[:2] = HELD_BACK
    numbers = np.zeros(inputs.shape[1])
    for _ in range(50):
        chance = 1 / (1 + np.exp(-(table.base + inputs @ numbers)))
        slope = inputs.T @ (chance - right) + held * numbers
        curve = (inputs * (chance * (1 - chance))[:, None]).T @ inputs + np.diag(held)
        step = np.linalg.solve(curve, slope)
        numbers -= step
        if np.abs(step).max() < 1e-9:
            break
    return numbers


def _held_back(table: _Table, parts: IntArray) -> float:
    """How much the row is best held back, by parts left out in turn."""

    def loss(held: float) -> float:
        total = 0.0
        for part in np.unique(parts):
            left = parts == part
            if left.all():
                continue
            numbers = _fitted(table.without(left), held)
            total += float(_losses(table.judged(numbers, left), table.right[left]).sum())
        return total

    return min(ROW_HELD_BACK, key=loss)


def _parts(clips: Sequence[Moments]) -> IntArray:
    """The part of each moment: clips are never torn where there are enough of them."""
    sizes = [len(clip) for clip in clips]
    if len(clips) >= 3:
        return np.repeat(np.arange(len(clips)) % FOLDS, sizes)
    return np.arange(sum(sizes)) * FOLDS // sum(sizes)


def _losses(odds: Float64Array, right: BoolArray) -> Float64Array:
    return np.asarray(np.logaddexp(0, odds) - right * odds)


def _check(clips: Sequence[Moments], table: _Table, after: Float64Array) -> Check:
    answered = np.concatenate([clip.answered for clip in clips])
    before, right, sure = table.base, table.right, math.log(SURE / (1 - SURE))
    listed = [odds >= sure for odds in (before, after)]
    old, new = (_losses(odds, right) for odds in (before, after))
    first, second = (int((each & right).sum()) for each in listed)
    third, fourth = (int((each & ~right).sum()) for each in listed)
    return Check(
        clips=len(clips),
        hits=int((answered & right).sum()),
        none=int((answered & ~right).sum()),
        passed=int((~answered).sum()),
        found=(first, second),
        wrong=(third, fourth),
        loss=(float(old.mean()), float(new.mean())),
        doubt=float((old - new).std() / math.sqrt(len(old))),
    )
