"""Stretch the odds of a fit until finds of a confidence are right that often.

What a person sees are finds: the likeliest impulse of each moment. So finds are counted, not
impulses: each group of clips is searched with a fit that has not seen it, a find is right when a
hit of the clip lies within a frame, and a line through the log odds (Platt 1999, from memory) is
fitted to right and wrong. Finds beside unscored hits are left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit
from sklearn.linear_model import LogisticRegression

from impactcut.core.find import likeliest_apart
from impactcut.core.neighbours import NeighbourWeights, sure_nearby

WITHIN, BESIDE = 1.4, 3.5
"""Frames from a hit within which a find is right, and beside an unscored one neither."""
BANDS = (0.05, 0.2, 0.4, 0.6, 0.8, 0.9, 1.0)
Judge = Callable[[Any], tuple[NDArray[np.float64], NDArray[np.float64]]]
"""Chance and contact instant of every impulse of a clip."""


@dataclass(frozen=True, eq=False)
class Finds:
    """Finds in clips that the fit had not seen.

    Parameters
    ----------
    chance : float64, shape (n,)
    right : bool, shape (n,)
    others : int64, shape (n,)
        Sure finds around each, as `impactcut.core.neighbours.sure_nearby` counts them.
    """

    chance: NDArray[np.float64]
    right: NDArray[np.bool_]
    others: NDArray[np.int64]


def group_of(labels: dict[str, Any]) -> str:
    """Clips of one group are held out together."""
    return str(labels.get("group", labels["clip"]))


def folds_of(films: Sequence[dict[str, Any]], folds: int) -> NDArray[np.int64]:
    """Fold of every film, by its labels, int64 (n,): groups dealt out in turn."""
    groups = sorted({group_of(labels) for labels in films})
    fold = {group: number % folds for number, group in enumerate(groups)}
    return np.array([fold[group_of(labels)] for labels in films])


def held_out_finds(clips: Sequence[Any], folds: int, fit: Callable[[list[Any]], Judge]) -> Finds:
    """Search every clip with a fit on the other folds."""
    fold = folds_of([clip.labels for clip in clips], folds)
    parts: list[Finds] = []
    for number in range(folds):
        judge = fit([clip for clip, at in zip(clips, fold, strict=True) if at != number])
        for clip in (clip for clip, at in zip(clips, fold, strict=True) if at == number):
            parts.append(finds_in(clip.labels, *judge(clip)))
    return joined(parts)


def joined(parts: Sequence[Finds]) -> Finds:
    """Finds of several clips as one."""
    return Finds(
        np.concatenate([part.chance for part in parts]),
        np.concatenate([part.right for part in parts]),
        np.concatenate([part.others for part in parts]),
    )


def finds_in(
    labels: dict[str, Any], chance: NDArray[np.float64], contact: NDArray[np.float64]
) -> Finds:
    """What a person would see of a clip's impulses, given their chances and contacts (n,)."""
    rate = float(Fraction(labels["fps"]))
    kept = likeliest_apart(chance, contact, rate)
    chance, contact = chance[kept], contact[kept]
    others = sure_nearby(chance, contact, rate)
    right = from_hits(labels, contact) <= WITHIN
    counts = right | (from_hits(labels, contact, scored=False) > BESIDE)
    return Finds(chance[counts], right[counts], others[counts])


def from_hits(
    labels: dict[str, Any], contact: NDArray[np.float64], scored: bool = True
) -> NDArray[np.float64]:
    """Frames from each contact to the nearest hit that is scored, or not; infinite without one."""
    hits = np.array([*contacts_of(labels, scored), np.inf])
    away: NDArray[np.float64] = np.abs(contact[:, None] - hits).min(axis=1)
    return away


def contacts_of(labels: dict[str, Any], scored: bool = True) -> list[float]:
    """Contacts of a film's hits that are scored, or not."""
    return [hit["contact"] for hit in labels["hits"] if hit.get("scored", True) == scored]


def calm_times(films: Sequence[dict[str, Any]]) -> int:
    """How often films without hits have to be counted to make as much footage as those with."""
    seconds = np.array([labels["frames"] / float(Fraction(labels["fps"])) for labels in films])
    calm = np.array([is_calm(labels) for labels in films])
    return max(1, round(seconds[~calm].sum() / seconds[calm].sum()))


def is_calm(labels: dict[str, Any]) -> bool:
    """Whether a film has no hits."""
    return not contacts_of(labels)


def line_through(finds: Finds) -> tuple[float, float]:
    """Slope and shift of the log odds that suit right and wrong best."""
    slope, shift = log_odds_weights(logit(finds.chance)[:, None], finds.right)
    return slope, shift


def neighbours_of(finds: Finds) -> NeighbourWeights:
    """How much finds and the sure ones around them say, as suits right and wrong best."""
    both = np.column_stack([logit(finds.chance), np.log1p(finds.others)])
    return NeighbourWeights(*short(log_odds_weights(both, finds.right)))


def log_odds_weights(
    columns: NDArray[np.float64],
    right: NDArray[Any],
    times: NDArray[np.int64] | None = None,
) -> tuple[float, ...]:
    """Weights of columns, and the shift behind them, of log odds that suit right and wrong best.

    Parameters
    ----------
    columns : float64, shape (n, k)
    right : bool, or int of 0 and 1, shape (n,)
    times : int64, shape (n,), optional
        How often each counts; once, if None.
    """
    fitted = LogisticRegression(C=1e6).fit(columns, right, times)
    return (*map(float, fitted.coef_[0]), float(fitted.intercept_[0]))


def short(weights: Iterable[float]) -> tuple[float, ...]:
    """Weights to four digits, as they are kept."""
    return tuple(float(f"{weight:.4g}") for weight in weights)


def adjusted(forest: dict[str, Any], slope: float, shift: float) -> dict[str, Any]:
    """The plain form of a forest with its log odds stretched and shifted."""
    trees = [
        {**tree, "value": [float(f"{value * slope:.6g}") for value in tree["value"]]}
        for tree in forest["trees"]
    ]
    return {"baseline": forest["baseline"] * slope + shift, "trees": trees}


def reliability(finds: Finds, slope: float, shift: float) -> str:
    """A table: finds by confidence, mean confidence and share that is right."""
    confidence = expit(slope * logit(finds.chance) + shift)
    lines = ["confidence     finds   mean   right"]
    for low, high in pairwise(BANDS):
        inside = (confidence >= low) & (confidence < high)
        if inside.any():
            mean, share = confidence[inside].mean(), finds.right[inside].mean()
            lines.append(f"{low:.2f} - {high:.2f}  {inside.sum():6d}   {mean:.2f}   {share:.2f}")
    return "\n".join(lines)
