"""Fit the hit model on labelled footage, calibrate it, and write its weights.

    python scripts/training/fit.py OUT.json FOLDER... [--cache DIR] [--folds K]

Each FOLDER holds clips and their labels: one JSON file for each clip, or ``truth.json`` for all
(what ``samples/warehouse/render.py --random`` writes). Labels are ``clip``, ``fps``, and ``hits``
with ``contact`` (exact frame), optionally ``reaction`` (exact frame), ``x`` and ``y`` (widths),
and ``scored`` (false: neither a hit nor not one).

Which impulse of a contact is the telling one is not labelled, so it is learned: a first fit takes
all that lie in time, the next only the likeliest of each contact. Needs scikit-learn.

The chances are then calibrated: each group of clips (``group`` in the labels: a captured strike in
all its films; else the clip itself) is judged by a fit that has not seen it, and the odds are
stretched and shifted until the finds of a confidence are right that often (Platt 1999, from
memory). The table of finds against hits is printed.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from calibrate import Judge, adjusted, held_out_finds, line_through, reliability
from numpy.typing import NDArray
from sklearn.ensemble import HistGradientBoostingClassifier, HistGradientBoostingRegressor

from impactcut.core.traits import trait_names, traits_of
from impactcut.media.frames import read_frames
from impactcut.media.measure import measure
from impactcut.media.probe import probe
from impactcut.workflow.finding import impulses_in, pictures_of

EARLY, LATE = 0.90, 0.95
"""Frames before and after the labelled instant within which an impulse belongs to it."""
UNSURE = 2.5
"""Frames around the instant within which other impulses are neither asked for nor held against."""
NEAR = {"start": 0.12, "stop": 0.22}
"""Widths from the labelled place within which an impulse may belong to it."""
TELLING = {
    "max_iter": 60,
    "learning_rate": 0.1,
    "max_leaf_nodes": 10,
    "min_samples_leaf": 20,
    "l2_regularization": 1.0,
    "random_state": 1,
}
"""Settings of the quick fits that say which impulse of a contact is the telling one."""
CHANCE = {
    "max_iter": 300,
    "learning_rate": 0.05,
    "max_leaf_nodes": 31,
    "min_samples_leaf": 10,
    "l2_regularization": 1.0,
    "max_features": 0.2,
    "random_state": 1,
}
CONTACT = {
    "max_iter": 80,
    "learning_rate": 0.06,
    "max_leaf_nodes": 8,
    "min_samples_leaf": 10,
    "random_state": 1,
}


@dataclass(frozen=True, eq=False)
class ClipImpulses:
    """The impulses of one labelled clip: frame, kind, place (rows, columns; widths), traits."""

    labels: dict[str, Any]
    frame: NDArray[np.float64]
    start: NDArray[np.bool_]
    place: NDArray[np.float64]
    traits: NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Samples:
    """All impulses: answer (1 hit, 0 none, -1 left out), contact offset, hit number, clip group."""

    traits: NDArray[np.float32]
    start: NDArray[np.bool_]
    answer: NDArray[np.int64]
    offset: NDArray[np.float64]
    hit: NDArray[np.int64]


def labels_in(folder: Path) -> list[dict[str, Any]]:
    """Labels of every clip of a folder, in order of file names."""
    labels: list[dict[str, Any]] = []
    for file in sorted(folder.glob("*.json")):
        read = json.loads(file.read_text())
        labels += read if isinstance(read, list) else [read]
    return labels


def impulses_of(video: Path, labels: dict[str, Any], cache: Path | None) -> ClipImpulses:
    """Impulses of a labelled clip; kept in ``cache`` between runs."""
    kept = None if cache is None else cache / f"{video.parent.name}-{video.stem}.npz"
    if kept is None or not kept.exists():
        found = _measure(video)
        if kept is None:
            return ClipImpulses(labels, *found)
        kept.parent.mkdir(parents=True, exist_ok=True)
        np.savez(kept, frame=found[0], start=found[1], place=found[2], traits=found[3])
    data = np.load(kept)
    return ClipImpulses(labels, data["frame"], data["start"], data["place"], data["traits"])


def _measure(video: Path) -> tuple[Any, Any, Any, Any]:
    frame, start, place, traits = [], [], [], []
    for stretch in measure(read_frames(video), probe(video).rate):
        cells, velocity, impulses = impulses_in(stretch, pictures_of(stretch))
        first, last = stretch.cells.frames[[stretch.own.start, stretch.own.stop]]
        rows = traits_of(impulses, cells, velocity)
        for impulse, row in zip(impulses, rows, strict=True):
            at = cells.frames[impulse.node]
            if first <= at < last:
                frame.append(float(at))
                start.append(impulse.kind == "start")
                place.append(np.argwhere(impulse.region).mean(axis=0) / impulse.region.shape[1])
                traits.append(row)
    count = len(frame)
    return (
        np.array(frame, float),
        np.array(start, bool),
        np.array(place, float).reshape(count, 2),
        np.array(traits, np.float32).reshape(count, len(trait_names())),
    )


def samples_of(clips: list[ClipImpulses]) -> Samples:
    """Answers for every impulse of the clips."""
    answers, offsets, hits = [], [], []
    number = 0
    for clip in clips:
        answer = np.zeros(len(clip.frame), int)
        offset = np.full(len(clip.frame), np.nan)
        hit = np.full(len(clip.frame), -1)
        for label in clip.labels["hits"]:
            number += 2
            _mark(clip, label, number, answer, offset, hit)
        answers.append(answer)
        offsets.append(offset)
        hits.append(hit)
    return Samples(
        np.concatenate([clip.traits for clip in clips]),
        np.concatenate([clip.start for clip in clips]),
        np.concatenate(answers),
        np.concatenate(offsets),
        np.concatenate(hits),
    )


def _mark(
    clip: ClipImpulses,
    label: dict[str, Any],
    number: int,
    answer: NDArray[np.int64],
    offset: NDArray[np.float64],
    hit: NDArray[np.int64],
) -> None:
    if not label.get("scored", True):
        near = (np.abs(clip.frame - label["contact"]) < 1.5) & ~clip.start
        answer[near & (answer == 0)] = -1
        return
    for kind, same in (("stop", ~clip.start), ("start", clip.start)):
        instant = label["contact"] if kind == "stop" else label.get("reaction") or label["contact"]
        late = clip.frame - instant
        inside = same & (late >= -EARLY) & (late <= LATE)
        unsure = same & (np.abs(late) < UNSURE) & ~inside
        if "x" in label:
            away = np.hypot(clip.place[:, 1] - label["x"], clip.place[:, 0] - label["y"])
            unsure |= inside & (away > NEAR[kind])
            inside &= away <= NEAR[kind]
        answer[unsure & (answer == 0)] = -1
        answer[inside] = 1
        offset[inside] = label["contact"] - clip.frame[inside]
        hit[inside] = number + (kind == "start")


def fit_kind(samples: Samples, start: bool) -> tuple[Any, Any]:
    """Classifier of the chance and regressor of the contact offset, for one kind."""
    of_kind = samples.start == start
    traits, answer = samples.traits[of_kind], samples.answer[of_kind]
    hit, offset = samples.hit[of_kind], samples.offset[of_kind]
    used = answer.copy()
    for _ in range(2):
        quick = HistGradientBoostingClassifier(**TELLING).fit(traits[used >= 0], used[used >= 0])
        used = _likeliest(quick.predict_proba(traits)[:, 1], answer, hit)
    chance = HistGradientBoostingClassifier(**CHANCE).fit(traits[used >= 0], used[used >= 0])
    telling = (answer == 1) & (chance.predict_proba(traits)[:, 1] > 0.2)
    contact = HistGradientBoostingRegressor(**CONTACT).fit(traits[telling], offset[telling])
    return chance, contact


def _likeliest(
    chance: NDArray[np.float64], answer: NDArray[np.int64], hit: NDArray[np.int64]
) -> NDArray[np.int64]:
    used = np.where(answer == 1, -1, answer)
    for number in np.unique(hit[hit >= 0]):
        of_hit = np.flatnonzero(hit == number)
        used[of_hit[np.argmax(chance[of_hit])]] = 1
    return used


def plain_forest(model: Any) -> dict[str, Any]:
    """The fitted trees in the form that `impactcut.core.forest.forest_from` reads."""
    trees = []
    for (predictor,) in model._predictors:
        nodes = predictor.nodes
        leaf = nodes["is_leaf"].astype(bool)
        trees.append(
            {
                "trait": np.where(leaf, 0, nodes["feature_idx"]).tolist(),
                "threshold": np.where(leaf, 0, nodes["num_threshold"]).tolist(),
                "left": np.where(leaf, 0, nodes["left"]).tolist(),
                "right": np.where(leaf, 0, nodes["right"]).tolist(),
                "value": [_short(x) for x in np.where(leaf, nodes["value"], 0)],
            }
        )
    return {"baseline": _short(float(np.ravel(model._baseline_prediction)[0])), "trees": trees}


def _short(value: float) -> float:
    return float(f"{value:.6g}")


def fit_both(clips: list[ClipImpulses]) -> dict[str, tuple[Any, Any]]:
    """Chance and contact for each kind."""
    samples = samples_of(clips)
    return {kind: fit_kind(samples, kind == "start") for kind in ("start", "stop")}


def judge_by(clips: list[ClipImpulses]) -> Judge:
    """Chance and contact instant of a clip's impulses by a fit on other clips."""
    models = fit_both(clips)

    def judge(clip: ClipImpulses) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        chance = np.zeros(len(clip.frame))
        contact = clip.frame.copy()
        for kind, (chances, contacts) in models.items():
            same = clip.start == (kind == "start")
            if same.any():
                chance[same] = chances.predict_proba(clip.traits[same])[:, 1]
                contact[same] += contacts.predict(clip.traits[same])
        return chance, contact

    return judge


def main() -> None:
    """Fit, calibrate, and write the weights."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("out", type=Path)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--cache", type=Path)
    parser.add_argument("--version", default="1")
    parser.add_argument("--folds", type=int, default=4)
    options = parser.parse_args()
    cv2.setNumThreads(1)
    clips = []
    for folder in options.folders:
        for labels in labels_in(folder):
            video = folder / labels["clip"]
            clips.append(impulses_of(video, labels, options.cache))
            print(video, len(clips[-1].frame), file=sys.stderr)
    finds = held_out_finds(clips, options.folds, judge_by)
    slope, shift = line_through(finds)
    print(reliability(finds, slope, shift))
    model: dict[str, Any] = {"version": options.version, "traits": trait_names()}
    for kind, (chance, contact) in fit_both(clips).items():
        forest = adjusted(plain_forest(chance), slope, shift)
        model[kind] = {"chance": forest, "contact": plain_forest(contact)}
    options.out.write_text(json.dumps(model, separators=(",", ":")) + "\n")
    print(f"{options.out}: {len(clips)} clips, slope {slope:.3f}, shift {shift:.3f}")


if __name__ == "__main__":
    main()
