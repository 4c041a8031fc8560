"""What answers teach, against an optimiser that knows nothing of it, and against plain chance."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from impactcut.core.detect.confidence import SURE, Calibration
from impactcut.core.learn import correction as learning
from impactcut.core.learn.correction import Check, Correction, Moments, lesson

PLAIN = Calibration(1.0, 0.0)


def clips_of(seed: int, told: float, clips: int = 12, beside: int = 20) -> list[Moments]:
    """Clips whose truth the odds tell a little, and one number beside them tells ``told`` much."""
    random = np.random.default_rng(seed)
    made = []
    for _ in range(clips):
        rows = random.normal(0, 1, (beside, 6)).astype(np.float32)
        said = random.normal(-1, 1.5, beside).astype(np.float32)
        chance = 1 / (1 + np.exp(-(said + told * rows[:, 2])))
        right = random.random(beside) < chance
        made.append(Moments(said, rows, right, right | (said > 0)))
    return made


def test_what_is_fitted_is_what_a_general_optimiser_finds() -> None:
    """SciPy's BFGS on the loss written out anew: mean log loss with a quadratic penalty."""
    clips = clips_of(1, 1.5)
    table = learning._Table(clips, PLAIN)
    held = np.array([*learning.HELD_BACK, *[30.0] * 6])

    def loss(numbers: np.ndarray) -> float:
        odds = table.base + table.inputs @ numbers
        surprise = -np.where(table.right, -np.log1p(np.exp(-odds)), -np.log1p(np.exp(odds)))
        return float(surprise.sum() + 0.5 * (held * numbers**2).sum())

    found = minimize(loss, np.zeros(8), method="BFGS", options={"gtol": 1e-7}).x
    np.testing.assert_allclose(learning._fitted(table, 30.0), found, atol=1e-4)


def test_it_helps_where_there_is_something_to_learn_and_on_clips_it_never_saw() -> None:
    taught = lesson(clips_of(2, 1.5), PLAIN, "w")
    assert taught.check.helps
    assert taught.check.clips == 12
    before, after = [], []
    for clip in clips_of(3, 1.5, 40):
        said = taught.correction.corrected(clip.said, clip.rows)
        for odds, losses in ((clip.said, before), (said, after)):
            losses.append(np.logaddexp(0, odds) - clip.right * odds)
    assert np.mean(after) < 0.9 * np.mean(before)
    claimed = taught.check.loss[1] / taught.check.loss[0]
    assert np.mean(after) / np.mean(before) == pytest.approx(claimed, abs=0.15)


def test_where_there_is_nothing_to_learn_it_is_seldom_taken_for_help() -> None:
    """A standard error: by chance alone some 16 % of lessons pass it, and most cost something."""
    helped = [lesson(clips_of(seed, 0.0), PLAIN, "w").check.helps for seed in range(20)]
    assert sum(helped) <= 3


def test_a_check_that_gets_lists_worse_does_not_help() -> None:
    good = Check(3, 8, 4, 9, (5, 6), (3, 3), (0.4, 0.3), 0.01)
    assert good.helps
    assert not Check(3, 8, 4, 9, (5, 5), (3, 4), (0.4, 0.3), 0.01).helps
    worth = int(10 * (1 - SURE) / SURE)  # false finds that ten hits are worth
    assert Check(30, 80, 40, 90, (50, 60), (30, 30 + worth), (0.4, 0.3), 0.01).helps
    assert not Check(30, 80, 40, 90, (50, 60), (30, 31 + worth), (0.4, 0.3), 0.01).helps
    assert not Check(3, 8, 4, 9, (5, 6), (3, 3), (0.4, 0.3), 0.11).helps


def test_the_same_answers_teach_the_same_in_any_order_of_sums() -> None:
    clips = clips_of(4, 1.5)
    first = lesson(clips, PLAIN, "w").correction
    shaken = [
        Moments(c.said, (c.rows.astype(np.float64) * (1 + 1e-12)).astype(np.float32), c.right,
                c.answered) for c in clips
    ]  # fmt: skip
    assert lesson(shaken, PLAIN, "w").correction.digest == first.digest
    assert lesson(clips[:-1], PLAIN, "w").correction.digest != first.digest
    assert lesson(clips, PLAIN, "v").correction.digest != first.digest


def test_a_correction_without_sense_is_refused() -> None:
    with pytest.raises(ValueError, match="finite"):
        Correction("w", float("nan"), 0.0, ())
