"""Films for a fit, as grey pictures with the truth beside them; nothing is encoded.

Every number gives one film of a kind, made from its kind and number alone; from `WITH_FEINTS` on
with strikes that stop short, and people who act on things. Films of things need pymunk.
"""

from __future__ import annotations

from itertools import islice
from pathlib import Path
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from .fights import film_fight, film_quiet
from .staged import FILMED, film_handled, setting
from .truths import KINDS, LONGEST, WIDEST, Film, judged

WITH_FEINTS: Final = 10_000
"""From this number on films have strikes that stop short, and people who act on things."""
QUIET_SHARE: Final = 0.3
"""Share of the films of calm people that are set in the warehouse."""

HANDLED_SHARE: Final = 0.55
"""Share of the films of things in which people act on them."""


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
    feints = number >= WITH_FEINTS
    if kind == "fight":
        return film_fight(number, feints)
    if kind == "thing":
        if feints and np.random.default_rng([64, number]).random() < HANDLED_SHARE:
            return film_handled(setting(bench), number)
        return _thing(number)
    if kind == "calm" and np.random.default_rng([63, number]).random() < QUIET_SHARE:
        return film_quiet(number, feints)
    return FILMED[kind](setting(bench), number, feints)


def _thing(number: int) -> Film:
    try:
        from synthetic.clip import take_of
    except ModuleNotFoundError as error:
        raise ModuleNotFoundError(f"{error}: films of things need pymunk; install it") from error
    take = take_of(number)
    width = min(take.form.width, WIDEST)
    size = (width, round(take.form.height * width / take.form.width / 2) * 2)
    frames = [_grey(picture, size) for picture in islice(take.pictures, LONGEST)]
    aspect = take.form.height / take.form.width
    hits = []
    for hit in take.hits():
        place = (hit["x"], hit["y"] / aspect)
        told = judged(hit["frame"], place, None, "thing", len(frames))
        hits.append(told | {"scored": told["scored"] and hit["scored"]})
    return Film("thing", f"thing {number}", take.form.rate, frames, tuple(hits))


def _grey(picture: Any, size: tuple[int, int]) -> NDArray[np.uint8]:
    grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
    if grey.shape[1] > size[0]:
        grey = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    return np.asarray(grey, np.uint8)
