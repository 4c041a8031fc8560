"""Film other people's strikes for training, or people who strike nobody, with the truth beside.

    python scripts/training/film_others.py BENCH OUTDIR START STOP [--calm | --talk]

As `captured.py`, of the motions in `other_people.py`: every number gives one film, of a kick or a
punch with limbs and pace drawn at random; or (``--calm``) of two people who dance, run, fall or get
up beside one another; or (``--talk``) of one or two who talk with their hands (`talkers.py`), one
alone from near. The receiver of a strike, and how talkers stand, are from the capture in BENCH.
Needs pybullet, for the motions that ship with it.
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
from talkers import Nobody, Talker
from varied_motion import VariedMotion

NEVER = 1e6
"""Frames after which a receiver answers who is not struck."""
TALKING = ((0.8, 1.4), (0.9, 1.1))
"""Least and greatest pace and girth of talkers."""
NEAR, APART = (0.1, 0.2), (0.7, 1.2)
"""Metres ahead of a talker to where he or she looks: alone, and at somebody."""
CLOSE, IN_FRONT = (7.0, 20.0), (-70.0, 70.0)
"""Degrees that the camera sees of somebody who talks alone, and where it stands."""


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
    scene = set_up(rng, number, (NEVER,))
    film_unstruck(stage, folder / f"calm_{number:05d}.mp4", (one, other), (limb, instant), scene)


def film_talk(stage: Any, bystander: Any, folder: Path, number: int) -> None:
    """Write film ``number`` of somebody who talks, from near, or of two; and its labels."""
    rng = np.random.default_rng(555000 + number)
    alone = number % 3 > 0
    away = NEAR if alone else APART
    talkers = [Talker(bystander, rng, float(rng.uniform(*away))) for _ in range(2)]
    one = performer(rng, talkers[0], *TALKING)
    other = performer(rng, Nobody(bystander) if alone else talkers[1], *TALKING)
    scene = set_up(rng, number, (NEVER,))
    if alone:
        scene |= {"hfov": float(rng.uniform(*CLOSE)), "angle": float(rng.uniform(*IN_FRONT))}
    instant = float(rng.uniform(0.3, 0.7)) * one.len
    film_unstruck(stage, folder / f"talk_{number:05d}.mp4", (one, other), ("aim", instant), scene)


def film_unstruck(
    stage: Any, clip: Path, people: tuple[Any, Any], moment: tuple[str, float], scene: Any
) -> None:
    """Film two people around a moment of a joint of the first, and label it as without a hit."""
    joint, instant = moment
    shown = {"limb": joint, "contact": instant, "speed": 0.0}
    shown |= dict.fromkeys(("onset", "peak", "stop"), instant)
    with patch.object(stage, "strikes", lambda *_, **__: [shown]):
        labels = stage.film(clip, people[0], 0, people[1], **scene)
    del labels["lag"]
    labels |= {"hits": [], "group": people[0].source}
    clip.with_suffix(".json").write_text(json.dumps(labels))


def main() -> None:
    """Write the films asked for; one that is complete already is left alone."""
    parser = parser_of(__doc__.split("\n")[0])
    kind = parser.add_mutually_exclusive_group()
    kind.add_argument("--calm", dest="name", action="store_const", const="calm", default="other")
    kind.add_argument("--talk", dest="name", action="store_const", const="talk")
    options = parser.parse_args()
    stage, bystander = opened(options.bench)
    film_one = {
        "other": lambda number: film_strike(stage, bystander, options.outdir, number),
        "calm": lambda number: film_calm(stage, options.outdir, number),
        "talk": lambda number: film_talk(stage, bystander, options.outdir, number),
    }[options.name]
    for number in missing(options, options.name):
        film_one(number)


if __name__ == "__main__":
    main()
