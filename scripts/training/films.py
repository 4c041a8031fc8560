"""Films for a fit, as grey pictures with the truth beside them; nothing is encoded.

    python scripts/training/films.py BENCH KIND START STOP --sheet FILE.png [--each N]

BENCH is a folder with ``stage.py`` (a virtual stage, no part of this project) and ``captures/``.
KIND is one of ``strike``, ``fight``, ``thing``, ``calm``. Every number gives one film, made from
its kind and number alone. Films of things need pymunk. A sheet shows some pictures around each hit
with its place marked, or some of the film where there is none.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from pathlib import Path
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray
from truths import judged

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "samples"))

Pixels = NDArray[np.uint8]
KINDS: Final = ("strike", "fight", "thing", "calm")
WIDEST: Final = 384
"""Width of a picture at most, pixels."""
LONGEST: Final = 110
"""Frames of a thing's or a fight's film at most."""
FIRST_SEED: Final = 200_000
"""Of the fights; the demonstration and the tests have others."""


@dataclass(frozen=True, eq=False)
class Film:
    """A film and its truth.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    group : str
        Films of one group must not be parted between folds: those of one captured strike.
    rate : Fraction
        Frames a second.
    frames : list of uint8, shape (h, w)
        Grey, full range.
    hits : tuple of dict
        ``frame``: the first in which the contact reads; ``scored``: whether it is asked for (if
        not, it is not held against anybody either); ``x``, ``y``: of the contact, shares of width
        and height, or None; ``lag``: frames from contact to reaction, or None; ``kind``.
    """

    kind: str
    group: str
    rate: Fraction
    frames: list[Pixels]
    hits: tuple[dict[str, Any], ...]


def film(kind: str, number: int, bench: Path) -> Film:
    """Film ``number`` of a kind; the same arguments give the same film.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    number : int
        Not negative.
    bench : Path
        Folder with ``stage.py`` and ``captures/``.

    Returns
    -------
    Film
    """
    if kind not in KINDS or number < 0:
        raise ValueError(f"no film {number} of kind {kind!r}: kinds are {', '.join(KINDS)}")
    cv2.setNumThreads(1)
    if kind == "fight":
        return _fight(number)
    if kind == "thing":
        return _thing(number)
    import staged

    group, rate, frames, hits = staged.FILMED[kind](staged.setting(bench), number)
    return Film(kind, group, rate, frames, hits)


def _fight(number: int) -> Film:
    from warehouse.film import pictures, prepare, truth_of
    from warehouse.variety import random_spec

    seed = FIRST_SEED + number
    spec = random_spec(seed)
    height = round(spec.height * WIDEST / spec.width / 2) * 2
    frames = min(spec.frames, LONGEST)
    spec = replace(spec, width=WIDEST, height=height, frames=frames)
    if number % 2:
        spec = _softened(spec, np.random.default_rng([seed, 1]))
    shoot = prepare(spec)
    shown = [cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY) for picture in pictures(shoot)]
    hits = tuple(_fought(hit, spec, shoot) for hit in truth_of(spec, shoot.performance)["hits"])
    return Film("fight", f"fight {number}", spec.rate, shown, hits)


def _softened(spec: Any, rng: np.random.Generator) -> Any:
    """The same fight at the speeds of people who take care, answered early or late."""

    def softer(beat: Any) -> Any:
        if not beat.is_hit:
            return beat
        early = rng.random() < 0.5
        return replace(
            beat,
            speed=round(float(rng.uniform(2.0, 6.0)), 2),
            lag=round(float(rng.uniform(-6, 1) if early else rng.uniform(0, 6)), 2),
            strength=round(float(rng.uniform(0.35, 1.0)), 2),
        )

    return replace(spec, beats=tuple(softer(beat) for beat in spec.beats))


def _fought(hit: dict[str, Any], spec: Any, shoot: Any) -> dict[str, Any]:
    """A hit of the truth of a fight, with its place."""
    from warehouse.figure import Joint
    from warehouse.strikes import STRIKES

    seconds = np.array([(hit["contact"] + spec.shutter / 720) / float(spec.rate)])
    joints = shoot.performance.cast[hit["striker"]].joints(seconds)[0]
    limb = STRIKES[hit["kind"]].limb
    sides = ("L", "R") if limb == "hands" else (hit["side"][0].upper(),)
    names = {"hand": "HAND", "hands": "HAND", "elbow": "ELBOW", "foot": "ANKLE"}
    spot = np.mean([joints[Joint[f"{names[limb]}_{side}"]] for side in sides], axis=0)
    camera = shoot.stage.camera
    seen = camera.at_rest(spot) @ camera.rotations(seconds)[0].T
    x, y = camera.on_screen(seen) / (camera.width, camera.height)
    kind = {"foot": "kick", "hands": "push"}.get(limb, "punch")
    return judged(hit["frame"], (float(x), float(y)), hit["lag"], kind, spec.frames)


def _thing(number: int) -> Film:
    try:
        from synthetic.clip import take_of
    except ModuleNotFoundError as error:
        raise ModuleNotFoundError(f"{error}: films of things need pymunk; install it") from error
    take = take_of(number)
    size = (min(take.form.width, WIDEST), min(take.form.width, WIDEST) * take.form.height)
    size = (size[0], round(size[1] / take.form.width / 2) * 2)
    frames = []
    for picture in islice(take.pictures, LONGEST):
        grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
        frames.append(grey if grey.shape[1] <= size[0] else _shrunk(grey, size))
    aspect = take.form.height / take.form.width
    hits = []
    for hit in take.truth()["hits"]:
        place = (hit["x"], hit["y"] / aspect)
        told = judged(hit["frame"], place, None, "thing", len(frames))
        hits.append(told | {"scored": told["scored"] and hit["scored"]})
    return Film("thing", f"thing {number}", take.form.rate, frames, tuple(hits))


def _shrunk(picture: Any, size: tuple[int, int]) -> Pixels:
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8)


def main() -> None:
    """Draw the sheet asked for."""
    from contact_sheet import sheet_of

    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("bench", type=Path)
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("start", type=int)
    parser.add_argument("stop", type=int)
    parser.add_argument("--sheet", type=Path, required=True, help="the picture to write")
    options = parser.parse_args()
    films = []
    for number in range(options.start, options.stop):
        began = time.process_time()
        films.append((number, film(options.kind, number, options.bench)))
        print(told(number, films[-1][1], time.process_time() - began))
    if not cv2.imwrite(str(options.sheet), sheet_of(films)):
        raise SystemExit(f"{options.sheet}: cannot be written; is its folder there?")


def told(number: int, made: Film, seconds: float) -> str:
    """A line about a film."""
    height, width = made.frames[0].shape
    hits = [
        f"{hit['kind']}{'' if hit['scored'] else ' (not scored)'} at {hit['frame']}"
        for hit in made.hits
    ]
    said = f"{number}: {made.group}, {len(made.frames)} frames {width} x {height}"
    return f"{said} at {float(made.rate):.2f}, {seconds:.1f} s: {'; '.join(hits) or 'no hits'}"


if __name__ == "__main__":
    main()
