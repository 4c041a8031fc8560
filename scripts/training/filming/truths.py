"""Films for a fit, and what is told of their hits."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]
KINDS: Final = ("strike", "fight", "thing", "calm")
WIDEST: Final = 384
"""Width of a picture at most, pixels."""
LONGEST: Final = 110
"""Pictures of a film at most, those not counted that are held."""

ENDS: Final = 3
"""Frames from either end of a film within which no hit is asked for: too little of it is seen."""


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


def judged(
    frame: int, place: tuple[float, float] | None, lag: float | None, kind: str, frames: int
) -> dict[str, Any]:
    """A hit as `films.Film` has it, scored if it is in the film and in the picture.

    Parameters
    ----------
    frame : int
        The first in which the contact reads.
    place : tuple of float or None
        Of the contact, shares of width and height.
    lag : float or None
        Frames from contact to reaction.
    frames : int
        Of the film.
    """
    x, y = place or (None, None)
    inside = place is None or all(0.01 < share < 0.99 for share in place)
    scored = inside and ENDS <= frame < frames - ENDS
    return {"frame": frame, "scored": scored, "x": x, "y": y, "lag": lag, "kind": kind}
