"""Fitting the model to viewers: simulated ones give back the numbers that they were made with.

How they answer: `tests.helpers.projects.simulated_viewers`.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom

from impactcut.core.trims.published import trim_dict
from impactcut.core.trims.trim import Trim
from impactcut.core.viewer.calibration import Calibration, calibrated, calibration_note
from impactcut.core.viewer.forced_choice import chance_found, fit_calibration
from impactcut.core.viewer.judge import Judge
from impactcut.core.viewer.session import draw_jumps
from impactcut.project import Project
from impactcut.workflow.hits.listing import find_hit
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip
from tests.helpers.projects.simulated_viewers import answered

VIEW = Judge()
FITTED = Calibration(4.0, 0.1, 2.5, (0.4, 0.03, 0.2), 480, 4, "2026-11-25T12:00:00+00:00")


@pytest.mark.parametrize(
    ("step", "exponent", "ratio"),
    [(2.2, 0.25, 1.5), (4.0, 0.10, 2.5), (1.2, 0.40, 1.2), (3.0, 0.25, 2.0)],
)
def test_simulated_viewers_are_recovered(step: float, exponent: float, ratio: float) -> None:
    jumps = draw_jumps(960, 3, VIEW)
    fit = fit_calibration(jumps, answered(jumps, step, exponent, ratio, 5), VIEW)
    found = (fit.position_step, fit.area_exponent, fit.viewer_ratio)
    off = np.abs(np.subtract(found, (step, exponent, ratio)))
    assert np.all(off < 3 * np.array(fit.errors)), (found, fit.errors)
    assert fit.errors[0] < 0.2 * step and fit.errors[1] < 0.06 and fit.errors[2] < 0.12 * ratio


def test_stated_errors_cover_as_often_as_they_should() -> None:
    # One standard error covers 68 %: of 30 sessions, between what a binomial gives in 99.9 %.
    jumps = draw_jumps(480, 4, VIEW)
    fits = [fit_calibration(jumps, answered(jumps, 2.2, 0.25, 1.5, s), VIEW) for s in range(30)]
    least, most = binom.interval(0.999, 30, 0.683)
    for name, true, at in (("position_step", 2.2, 0), ("viewer_ratio", 1.5, 2)):
        inside = sum(abs(getattr(fit, name) - true) < fit.errors[at] for fit in fits)
        assert least <= inside <= most, name


def test_answers_that_settle_nothing_are_refused() -> None:
    jumps = draw_jumps(120, 1, VIEW)
    with pytest.raises(ValueError, match="too few"):
        fit_calibration(jumps[:20], np.ones(20, bool), VIEW)
    with pytest.raises(ValueError, match="smaller or larger jumps"):
        fit_calibration(jumps, np.ones(120, bool), VIEW)
    with pytest.raises(ValueError, match="smaller or larger jumps"):
        fit_calibration(jumps, np.arange(120) % 2 == 0, VIEW)


def test_chance_runs_from_guessing_to_certain() -> None:
    # Weibull: at threshold 1 - 1/e of the way; by hand.
    chance = chance_found(np.array([0.0, 1.5, 100.0]), 1.5)
    assert chance == pytest.approx([0.5, 0.98 - 0.48 / np.e, 0.98])


def test_a_calibration_replaces_three_numbers() -> None:
    judge = calibrated(FITTED)
    assert (judge.position_step, judge.area_exponent) == (4.0, 0.1)
    # 0.18 / 0.09 apart (de'Sperati & Baud-Bovy 2017).
    assert (judge.attentive_ratio, judge.audience_ratio) == (2.5, 5.0)
    assert calibrated(None) == Judge()
    assert "uncalibrated" in calibration_note(None)
    assert calibration_note(FITTED) == "Visibility is calibrated on 480 answers of 4 viewers."


def test_the_project_keeps_it_and_proposals_use_it(tmp_path: Path) -> None:
    with Project(tmp_path / "night.db", create=True) as project:
        keep_clip(project, make_clip(), 100)
        assert project.calibration() is None
        before = find_hit(project, 1)
        project.store_calibration(FITTED)
    with Project(tmp_path / "night.db") as project:
        assert project.calibration() == FITTED
        after = find_hit(project, 1)
        assert after.calibration == FITTED
        shown = [entry.proposal.trims[0].visibility for entry in (before, after)]
        assert shown[0] != shown[1]
        project.store_calibration(None)
        assert project.calibration() is None
        assert find_hit(project, 1) == before


def test_verdicts_for_the_front_row_are_those_of_the_calibration() -> None:
    trim = Trim(99, 1, 1.2, 1.6, "frame-step", front_row=1.7, felt={})
    strict, lenient = Judge(), calibrated(Calibration(2.2, 0.25, 2.0, (0.1,) * 3, 90, 5))
    found = [trim_dict(trim, judge) for judge in (strict, lenient)]
    assert [each["front_row"]["verdict"] for each in found] == ["attentive", "frame-step"]
    assert found[1]["viewers"]["attentive"]["visibility"] == pytest.approx(0.8)
