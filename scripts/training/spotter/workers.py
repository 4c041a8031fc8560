"""Fits side by side, on every GPU there is or on the processor's cores."""

from __future__ import annotations

import multiprocessing
import os
import time
import traceback
from collections.abc import Sequence
from dataclasses import dataclass
from multiprocessing.managers import ListProxy
from pathlib import Path
from typing import Any

import numpy as np
import torch

from .batches import Planes
from .fit import Recipe, answers, fit
from .labelled import Labelled
from .network import Network, multiply_adds


@dataclass(frozen=True)
class Bench:
    """Where fits find their planes and leave their results."""

    clips: tuple[Labelled, ...]
    planes: Path
    results: Path
    until: float


def run(recipes: Sequence[Recipe], bench: Bench, a_gpu: int) -> list[str]:
    """Fit every recipe that there is time for; a line for each."""
    spawn = multiprocessing.get_context("spawn")
    with spawn.Manager() as manager:
        todo, lines, lock = manager.list(recipes), manager.list(), manager.Lock()
        gpus = torch.cuda.device_count()
        devices = [f"cuda:{gpu}" for _ in range(a_gpu) for gpu in range(gpus)] or ["cpu"]
        workers = [
            spawn.Process(target=_work, args=(device, todo, lines, lock, bench))
            for device in devices
        ]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join(max(1.0, bench.until + 20 - time.time()))
            if worker.is_alive():
                worker.kill()
        return [*lines, *(f"{recipe.name} fold {recipe.fold}: not begun" for recipe in todo)]


def _work(
    device: str, todo: ListProxy[Recipe], lines: ListProxy[str], lock: Any, bench: Bench
) -> None:
    torch.set_num_threads(1 if device.startswith("cuda") else os.cpu_count() or 1)
    if device.startswith("cuda"):
        torch.cuda.set_device(device)
    planes = Planes(bench.clips, bench.planes, device)
    while True:
        recipe = _next(todo, lock, bench)
        if recipe is None:
            return
        if isinstance(recipe, str):
            time.sleep(2)
            continue
        try:
            lines.append(_one(recipe, planes, bench))
        except Exception:  # one fit that fails is told, and costs no other
            lines.append(f"{recipe.name} fold {recipe.fold}: {traceback.format_exc()}")


def _next(todo: ListProxy[Recipe], lock: Any, bench: Bench) -> Recipe | str | None:
    """A recipe whose start is there; a word where one has to wait; None at the end."""
    with lock:
        left = bench.until - time.time()
        possible = [recipe for recipe in todo if left > min(60.0, 0.6 * recipe.seconds)]
        for recipe in possible:
            needed = (fit_file(bench.results, name, recipe.fold) for name in recipe.needs)
            if all(path.exists() for path in needed):
                todo.remove(recipe)
                return recipe
        return "wait" if possible else None


def fit_file(results: Path, name: str, fold: int | None, suffix: str = ".pt") -> Path:
    """Where a fit of a fold (None: of everything) lies."""
    return results / f"{name}_fold{'-all' if fold is None else fold}{suffix}"


def load(path: Path, device: str) -> Network:
    """A fitted network."""
    stored = torch.load(path, map_location=device, weights_only=False)
    network = Network(stored["size"]).to(device).eval()
    network.load_state_dict(stored["state"])
    return network.to(memory_format=torch.channels_last)


def _one(recipe: Recipe, planes: Planes, bench: Bench) -> str:
    left = bench.until - 15 - time.time()
    seconds = min(recipe.seconds, left)
    recipe = Recipe(**{**recipe.__dict__, "seconds": seconds})
    needed = {
        name: load(fit_file(bench.results, name, recipe.fold), planes.device)
        for name in recipe.needs
    }
    start = None if recipe.start is None else needed[recipe.start]
    torch.backends.cudnn.benchmark = True
    network, words = fit(recipe, planes, start, [needed[name] for name in recipe.teachers])
    torch.backends.cudnn.benchmark = False  # clips have many lengths, each asked about once
    whole = fit_file(bench.results, recipe.name, recipe.fold)
    part = whole.with_suffix(".part")
    torch.save({"size": recipe.size, "state": network.state_dict()}, part)
    part.rename(whole)  # others wait for it
    if recipe.fold is not None:
        rows = {
            f"{clip.name}|{what}": value
            for index, clip in enumerate(planes.clips)
            if clip.fold == recipe.fold and clip.film is None
            for what, value in _said(network, planes, index).items()
        }
        np.savez_compressed(fit_file(bench.results, recipe.name, recipe.fold, ".npz"), **rows)
    size = f"{multiply_adds(network):.1f} M multiply-adds"
    return f"{recipe.name} fold {recipe.fold} seed {recipe.seed}: {words}, {size}"


def _said(network: Network, planes: Planes, index: int) -> dict[str, np.ndarray]:
    """Answers on one clip in little room, with the likeliest place in shares of the picture."""
    answer = answers(network, planes, index)
    rows, columns = answer["places"].shape[1:]
    best = answer["places"].reshape(len(answer["odds"]), -1).argmax(1)
    wide, high = planes.clips[index].shape_on_grid
    x = ((best % columns + 0.5) / columns - 0.5) / wide + 0.5
    y = ((best // columns + 0.5) / rows - 0.5) / high + 0.5
    return {
        "odds": answer["odds"].astype(np.float32),
        "place": np.stack([x, y], 1).astype(np.float16),
        "kinds": answer["kinds"].astype(np.float16),
        "lags": answer["lags"].astype(np.float16),
    }


def read_answers(results: Path, name: str) -> dict[str, dict[str, Any]]:
    """What the fits of one name say of every clip, each of its own fold."""
    said: dict[str, dict[str, Any]] = {}
    for path in sorted(results.glob(f"{name}_fold[0-9]*.npz")):
        with np.load(path) as stored:
            for key in stored.files:
                clip, _, what = key.rpartition("|")
                said.setdefault(clip, {})[what] = stored[key]
    return said
