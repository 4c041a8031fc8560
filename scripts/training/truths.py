"""What is told of a hit in a film for a fit."""

from __future__ import annotations

from typing import Any, Final

ENDS: Final = 3
"""Frames from either end of a film within which no hit is asked for: too little of it is seen."""


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
    kind : str
    frames : int
        Of the film.
    """
    x, y = place or (None, None)
    inside = place is None or all(0.01 < share < 0.99 for share in place)
    scored = inside and ENDS <= frame < frames - ENDS
    return {"frame": frame, "scored": scored, "x": x, "y": y, "lag": lag, "kind": kind}
