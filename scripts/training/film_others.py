"""Film other people's strikes for training, or people who strike nobody, with the truth beside.

    python scripts/training/film_others.py BENCH OUTDIR START STOP [--calm]

As `captured.py`, of the motions in `other_people.py`: every number gives one film, of a kick or a
punch with limbs and pace drawn at random, or (``--calm``) of two people who dance, run, fall or get
up beside one another. The receiver of a strike is from the capture in BENCH. Needs pybullet, for
the motions that ship with it.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
import pybullet_data
from captured import LAGS, RECEIVER, STRIKER, missing, opened, parser_of, performer, set_up
from other_people import CALM, STRIKES, OtherPerson
from varied_motion import VariedMotion

NEVER = 1e6
"""Frames after which a receiver answers who is not struck."""


@cache
def person(name: str) -> OtherPerson:
    """The motion of that name."""
    path = Path(pybullet_data.getDataPath()) / f"data/motions/humanoid3d_{name}.txt"
    return OtherPerson(name, np.array(json.loads(path.read_text())["Frames"]))


def film_strike(stage: Any, bystander: Any, folder: Path, number: int) -> None:
    """Write film ``number`` of a strike, the fastest by its limb, and its labels."""
    rng = np.random.default_rng(333000 + number)
    name, limb = STRIKES[number % len(STRIKES)]
    motion = person(name)
    striker = performer(rng, motion, *STRIKER)
    striker = replace(striker, motion=VariedMotion(motion, rng))
    receiver = performer(rng, bystander, *RECEIVER)
    found = stage.strikes(striker)
    speeds = [strike["speed"] * strike["limb"].endswith(limb) for strike in found]
    if not any(speeds):
        print(f"film {number}: varied so that its {limb} is slow; none is made", file=sys.stderr)
        return
    fastest = int(np.argmax(speeds))
    clip = folder / f"other_{number:05d}.mp4"
    labels = stage.film(clip, striker, fastest, receiver, **set_up(rng, number, LAGS))
    for hit in labels["hits"]:
        hit["scored"] &= hit["limb"] == found[fastest]["limb"]
    clip.with_suffix(".json").write_text(json.dumps({**labels, "group": motion.source}))


def film_calm(stage: Any, folder: Path, number: int) -> None:
    """Write film ``number`` of two people who strike nobody, and its labels."""
    rng = np.random.default_rng(444000 + number)
    names = CALM[number % len(CALM)], CALM[int(rng.integers(len(CALM)))]
    one, other = (performer(rng, person(name), *STRIKER) for name in names)
    instant = float(rng.uniform(0.2, 0.8)) * one.len
    limb = ("l_hand", "r_hand")[int(rng.integers(2))]
    moment = {"limb": limb, "contact": instant, "speed": 0.0}
    moment |= dict.fromkeys(("onset", "peak", "stop"), instant)
    clip = folder / f"calm_{number:05d}.mp4"
    with patch.object(stage, "strikes", lambda *_, **__: [moment]):
        labels = stage.film(clip, one, 0, other, **set_up(rng, number, (NEVER,)))
    del labels["lag"]
    clip.with_suffix(".json").write_text(json.dumps({**labels, "hits": [], "group": names[0]}))


def main() -> None:
    """Write the films asked for; one that is complete already is left alone."""
    parser = parser_of(__doc__.split("\n")[0])
    parser.add_argument("--calm", action="store_true")
    options = parser.parse_args()
    stage, bystander = opened(options.bench)
    if options.calm:
        for number in missing(options, "calm"):
            film_calm(stage, options.outdir, number)
    else:
        for number in missing(options, "other"):
            film_strike(stage, bystander, options.outdir, number)


if __name__ == "__main__":
    main()
