"""Views as `glimpse_views.py` wrote them: read, split by strikes, and varied."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from calibrate import BESIDE, WITHIN, folds_of, from_hits
from numpy.typing import NDArray

from impactcut.core.glimpse_net import ALONG, SHAPE, scaled

UNSURE = 2.5
"""Frames from a hit within which a contact that is not right is not wrong, either."""
SHIFT = 2
"""Pixels by which a view is moved at random, either way."""
STRENGTH = 0.15
"""Standard deviation of the logarithm by which its contrast is changed at random."""


Columns = dict[str, NDArray[Any]]


@dataclass(frozen=True, eq=False)
class Views:
    """What the network looks at, with the labels of the films that it comes from.

    Parameters
    ----------
    films : list of dict
    columns : mapping of str to arrays, shape (n, ...)
        ``glimpses``, ``film`` (index into ``films``), ``file`` (number of the file that it comes
        from), ``frame`` and ``step`` (frames), ``steps`` (nodes from the impulse to its contact,
        not a number without one), ``first_steps`` (as the hit model has it), ``chance``,
        ``start`` and ``picked``.
    """

    films: list[dict[str, Any]]
    columns: Columns

    def __getitem__(self, name: str) -> Any:
        return self.columns[name]

    def those(self, which: NDArray[Any]) -> Views:
        """Some of the views, by a mask or by numbers."""
        return Views(self.films, {name: column[which] for name, column in self.columns.items()})

    def folds(self, count: int) -> NDArray[np.int64]:
        """Fold of each view; those of one strike share one."""
        folds: NDArray[np.int64] = folds_of(self.films, max(1, count))[self["film"]]
        return folds

    def of_strikes(self) -> NDArray[np.bool_]:
        """Whether each view is of a film of a strike and its receiver, not of things."""
        return np.array(["lag" in self.films[film] for film in self["film"]])

    def inputs(self) -> NDArray[np.float32]:
        """The views as the network takes them, float32 (n, 2, time, rows, columns)."""
        return np.stack([scaled(glimpses) for glimpses in self["glimpses"]])


def read_views(
    paths: Sequence[Path],
    most: int | None = None,
    wanted: Callable[[Columns], NDArray[np.bool_]] | None = None,
) -> Views:
    """The views of several files; of each those wanted, and at most some, drawn at random."""
    films: list[dict[str, Any]] = []
    parts: list[Columns] = []
    for file, path in enumerate(paths):
        with np.load(path) as stored:
            part = {name: stored[name] for name in stored.files}
        part["film"] = part["film"] + len(films)
        part["file"] = np.full(len(part["film"]), file)
        films += [json.loads(str(text)) for text in part.pop("films")]
        every = np.arange(len(part["film"])) if wanted is None else np.flatnonzero(wanted(part))
        kept = np.sort(np.random.default_rng(0).permutation(every)[:most])
        parts.append({name: column[kept] for name, column in part.items()})
    return Views(films, {name: np.concatenate([part[name] for part in parts]) for name in parts[0]})


def held_out(views: Views, fights: int, folds: int) -> Iterator[NDArray[np.bool_]]:
    """Views that a fit is to be tried on, as masks: every view is in one of them.

    Parameters
    ----------
    views : Views
    fights : int
        So many of the first files are of fights, each filmed in another way: they are left out
        as a whole.
    folds : int
        Of the other files a share of the films is left out, so many times.
    """
    for file in range(fights):
        yield views["file"] == file
    fold = views.folds(folds)
    for held in range(folds):
        yield (views["file"] >= fights) & (fold == held)


def answers(views: Views, contacts: NDArray[np.float64]) -> NDArray[np.int64]:
    """1 where a view shows a hit, 0 where it shows none, -1 where it is not to be judged."""
    answer = np.zeros(len(contacts), int)
    for film, labels in enumerate(views.films):
        of_film = np.flatnonzero(views["film"] == film)
        away = from_hits(labels, contacts[of_film])
        beside = from_hits(labels, contacts[of_film], scored=False) <= BESIDE
        answer[of_film] = np.where(away <= WITHIN, 1, np.where((away <= UNSURE) | beside, -1, 0))
    return answer


def turned(
    inputs: NDArray[np.float32], most: float, zoom: tuple[float, float], rng: np.random.Generator
) -> NDArray[np.float32]:
    """The inputs turned and enlarged about the impulse at random.

    Parameters
    ----------
    inputs : float32, shape (n, 2, time, rows, columns)
    most : float
        Degrees by which each is turned at most, either way.
    zoom : (float, float)
        Least and greatest enlargement.
    rng : Generator
    """
    pivot = (-ALONG[0] * SHAPE[1] / (ALONG[1] - ALONG[0]) - 0.5, SHAPE[0] / 2 - 0.5)
    turned_ones = np.empty_like(inputs)
    for index, view in enumerate(inputs):
        larger = math.exp(rng.uniform(*np.log(zoom)))
        turn = cv2.getRotationMatrix2D(pivot, float(rng.uniform(-most, most)), larger)
        for place in np.ndindex(view.shape[:2]):
            turned_ones[index][place] = cv2.warpAffine(view[place], turn, SHAPE[::-1])
    return turned_ones


def varied(inputs: NDArray[np.float32], rng: np.random.Generator) -> NDArray[np.float32]:
    """The inputs moved and made stronger or fainter at random, each in its own way."""
    moved = np.zeros_like(inputs)
    for index, view in enumerate(inputs):
        right, down = rng.integers(-SHIFT, SHIFT + 1, 2)
        moved[index] = np.roll(view, (down, right), (2, 3))
    strength = np.exp(rng.normal(0, STRENGTH, (len(inputs), 1, 1, 1, 1))).astype(np.float32)
    varied_ones: NDArray[np.float32] = moved * strength
    return varied_ones
