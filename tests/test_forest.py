"""Trees evaluated here against scikit-learn's own predictions of the same fitted model."""

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest

from impactcut.core.forest import Forest, Tree, forest_from

SCRIPT = Path(__file__).parents[1] / "scripts" / "training" / "fit.py"


def test_the_answers_are_those_of_scikit_learn(monkeypatch):
    ensemble = pytest.importorskip("sklearn.ensemble")
    spec = importlib.util.spec_from_file_location("fit", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    fit = importlib.util.module_from_spec(spec)
    monkeypatch.syspath_prepend(SCRIPT.parent)
    monkeypatch.setitem(sys.modules, "fit", fit)
    spec.loader.exec_module(fit)
    rng = np.random.default_rng(11)
    traits = rng.normal(size=(400, 6)).astype(np.float32)
    target = traits[:, 0] * traits[:, 1] + np.sin(traits[:, 2]) + rng.normal(0, 0.1, 400)
    model = ensemble.HistGradientBoostingRegressor(max_iter=20, random_state=1)
    model.fit(traits, target)
    ours = forest_from(fit.plain_forest(model)).predict(traits)
    assert ours == pytest.approx(model.predict(traits), abs=1e-4)


def test_a_tree_worked_by_hand():
    tree = Tree(
        trait=np.array([1, 0, 0]),
        threshold=np.array([0.5, 0.0, 0.0]),
        left=np.array([1, 0, 0]),
        right=np.array([2, 0, 0]),
        value=np.array([0.0, 2.0, -3.0]),
    )
    forest = Forest(10.0, (tree, tree))
    traits = np.array([[9.0, 0.5], [9.0, 0.6]], np.float32)
    assert forest.predict(traits).tolist() == [14.0, 4.0]


def test_a_forest_without_samples_answers_nothing():
    assert (
        forest_from({"baseline": 1.0, "trees": []}).predict(np.zeros((0, 3), np.float32)).size == 0
    )
