"""Calibration of the hit model's chances: known distortions recovered, scikit-learn's as judge."""

from __future__ import annotations

import importlib
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.special import expit, logit

from impactcut.core.forest import forest_from

pytest.importorskip("sklearn")
calibrate = importlib.import_module("calibrate")
SLOPE, SHIFT = 1.7, -0.4


def distorted(number: int = 20_000) -> Any:
    """Finds that are right as often as chances say, which are then told too timidly."""
    rng = np.random.default_rng(5)
    true = rng.uniform(0.02, 0.98, number)
    right = rng.random(number) < true
    return calibrate.Finds(expit((logit(true) - SHIFT) / SLOPE), right, np.zeros(number, int))


def test_a_known_distortion_is_undone() -> None:
    """Within three standard errors of the maximum-likelihood estimate (inverse Fisher matrix)."""
    finds = distorted()
    slope, shift = calibrate.line_through(finds)
    odds = np.column_stack([logit(finds.chance), np.ones(len(finds.chance))])
    true = expit(odds @ [SLOPE, SHIFT])
    errors = np.sqrt(np.diag(np.linalg.inv(odds.T @ (odds * (true * (1 - true))[:, None]))))
    assert abs(slope - SLOPE) < 3 * errors[0] < 0.1
    assert abs(shift - SHIFT) < 3 * errors[1] < 0.1


def test_the_line_is_that_of_scikit_learns_sigmoid_calibration() -> None:
    """Its sigmoid method is Platt's own, with his smoothed targets: hence not to the last digit."""
    base = importlib.import_module("sklearn.base")
    frozen = importlib.import_module("sklearn.frozen")
    calibration = importlib.import_module("sklearn.calibration")

    class Told(base.ClassifierMixin, base.BaseEstimator):
        """Tells the log odds that it is given."""

        def fit(self, odds: Any, right: Any) -> Told:
            self.classes_ = np.array([False, True])
            return self

        def decision_function(self, odds: Any) -> Any:
            return odds[:, 0]

        def predict(self, odds: Any) -> Any:
            return odds[:, 0] > 0

    finds = distorted()
    odds = logit(finds.chance)[:, None]
    told = frozen.FrozenEstimator(Told().fit(odds, finds.right))
    platt = calibration.CalibratedClassifierCV(told, method="sigmoid").fit(odds, finds.right)
    slope, shift = calibrate.line_through(finds)
    assert expit(slope * odds[:, 0] + shift) == pytest.approx(
        platt.predict_proba(odds)[:, 1], abs=1e-3
    )


def test_a_forest_is_stretched_in_its_log_odds() -> None:
    tree = {"trait": [0, 0, 0], "threshold": [0.0] * 3, "left": [1, 0, 0], "right": [2, 0, 0]}
    plain = {"baseline": 0.3, "trees": [{**tree, "value": [0.0, -1.25, 0.75]}]}
    traits = np.array([[-1.0], [1.0]], np.float32)
    before = forest_from(plain).predict(traits)
    after = forest_from(calibrate.adjusted(plain, SLOPE, SHIFT)).predict(traits)
    assert after == pytest.approx(SLOPE * before + SHIFT)


def clip(name: str, group: str, contact: float, scored: bool = True) -> Any:
    hit = {"contact": contact, "scored": scored}
    return SimpleNamespace(labels={"clip": name, "group": group, "fps": "25", "hits": [hit]})


def test_finds_are_counted_on_clips_of_groups_that_the_fit_had_not_seen() -> None:
    clips = [clip(f"{g}{n}.mov", g, 50.0) for g in "abcd" for n in range(2)]
    seen: list[tuple[str, str]] = []

    def fit(chosen: list[Any]) -> Any:
        groups = {each.labels["group"] for each in chosen}

        def judge(each: Any) -> Any:
            seen.extend((group, each.labels["group"]) for group in groups)
            return np.array([0.9, 0.8, 0.6]), np.array([50.5, 51.0, 80.0])

        return judge

    finds = calibrate.held_out_finds(clips, 3, fit)
    assert seen and all(one != other for one, other in seen)
    assert finds.chance.tolist() == [0.9, 0.6] * 8
    assert finds.right.tolist() == [True, False] * 8


def test_finds_beside_a_hit_that_is_not_scored_are_left_out() -> None:
    def judge(_: Any) -> Any:
        return np.array([0.9, 0.6]), np.array([50.5, 80.0])

    finds = calibrate.held_out_finds([clip("a.mov", "a", 50.0, False)] * 2, 2, lambda _: judge)
    assert finds.chance.tolist() == [0.6, 0.6] and not finds.right.any()


def test_frames_to_the_nearest_hit_are_told_apart_by_whether_it_is_scored() -> None:
    hits = [{"contact": 10.0}, {"contact": 20.0, "scored": False}]
    contact = np.array([9.5, 14.0, 21.0])
    assert calibrate.from_hits({"hits": hits}, contact).tolist() == [0.5, 4.0, 11.0]
    assert calibrate.from_hits({"hits": hits}, contact, scored=False).tolist() == [10.5, 6.0, 1.0]
    assert np.isinf(calibrate.from_hits({"hits": []}, contact)).all()
    assert len(calibrate.from_hits({"hits": hits}, contact[:0])) == 0


def test_films_without_hits_count_as_often_as_makes_as_much_footage() -> None:
    def film(frames: int, fps: str, *hits: dict[str, Any]) -> dict[str, Any]:
        return {"frames": frames, "fps": fps, "hits": list(hits)}

    unscored = {"contact": 3.0, "scored": False}
    calm = [film(240, "24"), film(250, "25", unscored)]
    played = [film(600, "30", {"contact": 5.0}), film(960, "24", {"contact": 9.0}, unscored)]
    assert [calibrate.is_calm(each) for each in calm + played] == [True, True, False, False]
    assert calibrate.calm_times(calm + played) == 3  # 20 s without, 60 s with
    assert calibrate.calm_times([*calm * 9, played[0]]) == 1


def test_the_table_counts_each_band() -> None:
    right = np.array([True, False, True])
    finds = calibrate.Finds(np.array([0.25, 0.35, 0.95]), right, np.zeros(3, int))
    lines = calibrate.reliability(finds, 1.0, 0.0).splitlines()[1:]
    assert [line.split()[-3:] for line in lines] == [["2", "0.30", "0.50"], ["1", "0.95", "1.00"]]


def test_known_weights_of_neighbours_come_back() -> None:
    """Within three standard errors of the maximum-likelihood estimate (inverse Fisher matrix)."""
    rng = np.random.default_rng(6)
    own, others, shift, number = 0.9, 0.8, -0.6, 20_000
    chance, near = rng.uniform(0.05, 0.95, number), rng.integers(0, 9, number)
    columns = np.column_stack([logit(chance), np.log1p(near), np.ones(number)])
    true = expit(columns @ [own, others, shift])
    fitted = calibrate.neighbours_of(calibrate.Finds(chance, rng.random(number) < true, near))
    errors = np.sqrt(np.diag(np.linalg.inv(columns.T @ (columns * (true * (1 - true))[:, None]))))
    found = np.array([fitted.own, fitted.others, fitted.shift])
    assert (np.abs(found - [own, others, shift]) < 3 * errors).all()
    assert errors.max() < 0.1


def test_finds_of_a_film_know_their_neighbours() -> None:
    labels = {"clip": "quay", "fps": "25", "hits": [{"contact": 10.0}, {"contact": 30.0}]}
    chance, contact = np.array([0.9, 0.8, 0.3]), np.array([10.0, 30.0, 50.0])
    finds = calibrate.finds_in(labels, chance, contact)
    assert finds.others.tolist() == [1, 1, 2]
    assert calibrate.joined([finds, finds]).others.tolist() == [1, 1, 2, 1, 1, 2]
