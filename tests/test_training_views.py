"""Views for training: drawn, split by strikes, and varied."""

from __future__ import annotations

import importlib
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from impactcut.core.glimpse_net import AFTER, BEFORE, SHAPE

pytest.importorskip("sklearn")
views = importlib.import_module("views")


def film(name: str, group: str | None = None, lag: float | None = None) -> dict[str, Any]:
    labels: dict[str, Any] = {"clip": name, "fps": "24", "hits": []}
    if group is not None:
        labels |= {"group": group, "lag": lag}
    return labels


def write(path: Path, films: list[dict[str, Any]], film_of: list[int], steps: list[float]) -> Path:
    count = len(film_of)
    np.savez(
        path,
        films=np.array([json.dumps(each) for each in films]),
        film=np.array(film_of),
        steps=np.array(steps),
        glimpses=np.zeros((count, BEFORE + AFTER + 1, 2, *SHAPE), np.uint8),
    )
    return path


@pytest.fixture
def both(tmp_path: Path) -> list[Path]:
    strikes = [
        film("a.mp4", "strike 1", 0.5),
        film("b.mp4", "strike 2", 1),
        film("c.mp4", "strike 1", 2),
    ]
    things = [film("d.mp4"), film("e.mp4")]
    return [
        write(tmp_path / "strikes.npz", strikes, [0, 0, 1, 2], [1.0, np.nan, 2.0, 3.0]),
        write(tmp_path / "things.npz", things, [0, 1, 1], [np.nan, 4.0, 5.0]),
    ]


def test_views_keep_their_films(both: list[Path]) -> None:
    read = views.read_views(both)
    names = [read.films[number]["clip"] for number in read["film"]]
    assert names == ["a.mp4", "a.mp4", "b.mp4", "c.mp4", "d.mp4", "e.mp4", "e.mp4"]
    assert read.of_strikes().tolist() == [True] * 4 + [False] * 3


def test_films_of_one_strike_share_a_fold(both: list[Path]) -> None:
    fold = views.read_views(both).folds(4)
    assert fold[0] == fold[1] == fold[3]
    assert len(set(fold.tolist())) == 4
    assert set(views.read_views(both).folds(0).tolist()) == {0}


def test_fights_are_left_out_by_files_and_things_by_films(both: list[Path]) -> None:
    masks = list(views.held_out(views.read_views(both), 1, 2))
    assert np.sum(masks, axis=0).tolist() == [1] * 7
    assert masks[0].tolist() == [True] * 4 + [False] * 3
    assert [mask.tolist()[5] for mask in masks[1:]] == [mask.tolist()[6] for mask in masks[1:]]
    assert [mask.sum() for mask in masks] in ([4, 1, 2], [4, 2, 1])


def test_of_each_file_at_most_some_of_those_wanted_are_drawn(both: list[Path]) -> None:
    read = views.read_views(both, 2, lambda columns: np.isfinite(columns["steps"]))
    assert len(read["film"]) == 4
    assert np.isfinite(read["steps"]).all()
    assert len(read.inputs()) == 4


def test_a_view_shows_a_hit_where_the_contact_read_off_it_lies_at_one(tmp_path: Path) -> None:
    labels = film("a.mp4") | {"hits": [{"contact": 20.0}, {"contact": 60.0, "scored": False}]}
    path = write(tmp_path / "a.npz", [labels, film("b.mp4")], [0] * 6 + [1], [np.nan] * 7)
    contacts = np.array([20.5, 18.8, 22.0, 23.0, 58.0, 64.0, 20.0])
    answers = views.answers(views.read_views([path]), contacts)
    assert answers.tolist() == [1, 1, -1, 0, -1, 0, 0]


def test_what_is_varied_is_moved_a_little_and_stays_the_same_picture() -> None:
    inputs = np.zeros((50, 2, 3, *SHAPE), np.float32)
    inputs[:, :, :, 18, 19] = 1.0
    changed = views.varied(inputs, np.random.default_rng(3))
    assert inputs.max() == 1.0
    assert ((changed > 0).sum(axis=(3, 4)) == 1).all()
    row, column = np.nonzero(changed[:, 0, 0])[1:]
    assert np.abs(row - 18).max() == np.abs(column - 19).max() == views.SHIFT
    strength = np.log(changed.max(axis=(1, 2, 3, 4)))
    assert strength.std() == pytest.approx(views.STRENGTH, rel=0.3)


def test_what_is_turned_goes_round_the_impulse() -> None:
    row, column = SHAPE[0] // 2, 25
    inputs = np.zeros((40, 1, 1, *SHAPE), np.float32)
    inputs[:, 0, 0, row - 2 : row + 2, column - 12 : column - 8] = 1.0
    turned = views.turned(inputs, 90.0, (1.0, 1.0), np.random.default_rng(4))[:, 0, 0]
    rows, columns = np.indices(SHAPE)
    total = turned.sum(axis=(1, 2))
    down = (turned * rows).sum(axis=(1, 2)) / total - (row - 0.5)
    right = (turned * columns).sum(axis=(1, 2)) / total - (0.42 / 0.633 * SHAPE[1] - 0.5)
    away = np.hypot(right, down)
    assert away == pytest.approx(np.full(40, away.mean()), abs=0.2)
    degrees = np.degrees(np.arctan2(down, -right))
    assert degrees.min() < -60 and degrees.max() > 60
    assert np.abs(degrees).max() < 91


def test_what_is_enlarged_stays_at_the_impulse() -> None:
    row, column = SHAPE[0] // 2, 25
    inputs = np.zeros((40, 1, 1, *SHAPE), np.float32)
    inputs[:, 0, 0, row - 4 : row + 4, column - 4 : column + 4] = 1.0
    larger = views.turned(inputs, 0.0, (0.5, 2.0), np.random.default_rng(5))[:, 0, 0]
    factor = np.sqrt(larger.sum(axis=(1, 2)) / 64)
    assert 0.49 < factor.min() < 0.7 and 1.5 < factor.max() < 2.02
    rows = np.indices(SHAPE)[0]
    middle = (larger * rows).sum(axis=(1, 2)) / larger.sum(axis=(1, 2))
    assert middle == pytest.approx(np.full(40, row - 0.5), abs=0.1)
