"""Make a session for viewers: pairs of films, in one of which something jumps ahead.

    python scripts/calibration/session.py FOLDER [--pairs 120] [--seed 1] [--fov 33]

FOLDER gets ``pair_001.mp4`` and so on (a first film, a grey pause, a second film), ``sheet.csv`` to
copy for every viewer, and ``key.json``, which nobody sees before answering. A viewer sits where
the picture fills ``--fov`` degrees across, plays each pair once at full speed and full size, and
writes 1 or 2 under ``answer``: the film in which the patch jumps; who cannot tell guesses. Hand the
sheets to ``answers.py``. Keep to short sittings, and stop when anybody feels unwell: the films
flicker with the movement of a textured patch, though they do not flash.

The jumps lie around what the model expects viewers to see, over small and large patches, still and
moving, so that the three numbers can be told apart.
"""

from __future__ import annotations

import argparse
import csv
import json
import sys
from dataclasses import asdict
from pathlib import Path

import numpy as np

from impactcut.core.viewer.forced_choice import Jump, jump_visibility
from impactcut.core.viewer.judge import Judge
from jump_films import film_pair

RATE = 24
AREAS = (0.25, 1.0, 4.0, 16.0)
SPEEDS = (0.0, 1.5, 6.0, 20.0)
WIDEST, NARROWEST = 4.0, 0.35
"""Jumps shown, in thresholds that the model expects of an attentive viewer: from seldom found to
found by almost anybody."""


def draw_jumps(pairs: int, seed: int, judge: Judge) -> list[Jump]:
    """Every area with every speed about as often, in an order left to chance."""
    random = np.random.default_rng(seed)
    kinds = [(area, speed) for area in AREAS for speed in SPEEDS]
    order = [kinds[number % len(kinds)] for number in range(pairs)]
    random.shuffle(order)
    jumps = []
    for area, speed in order:
        unit = float(jump_visibility([Jump(area, speed, 1.0, RATE)], judge)[0])
        wanted = np.exp(random.uniform(np.log(NARROWEST), np.log(WIDEST)))
        jump = wanted * judge.attentive_ratio / unit
        jumps.append(Jump(area, speed, float(jump), RATE))
    return jumps


def make_session(folder: Path, pairs: int, seed: int, judge: Judge) -> None:
    """Write films, answer sheet and key."""
    folder.mkdir(parents=True)
    random = np.random.default_rng(seed + 1)
    key = []
    for number, jump in enumerate(draw_jumps(pairs, seed, judge), start=1):
        name, second = f"pair_{number:03d}.mp4", bool(random.integers(2))
        film_pair(folder / name, jump, second, judge, random)
        key.append({"pair": name, "jumps_in": 2 if second else 1, **asdict(jump)})
    with (folder / "sheet.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["pair", "answer"])
        writer.writerows([entry["pair"], ""] for entry in key)
    text = json.dumps({"fov_degrees": judge.fov_degrees, "pairs": key}, indent=1)
    (folder / "key.json").write_text(text, encoding="utf-8")


def main() -> int:
    """Make the session asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pairs", type=int, default=120)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--fov", type=float, default=33.0)
    given = parser.parse_args()
    if given.folder.exists():
        parser.error(f"{given.folder}: already there; name another folder")
    make_session(given.folder, given.pairs, given.seed, Judge(given.fov))
    print(f"{given.pairs} pairs in {given.folder}; give every viewer a copy of sheet.csv")
    return 0


if __name__ == "__main__":
    sys.exit(main())
