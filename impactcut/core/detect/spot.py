"""Spots: where and when the spotter sees a contact. Everything else about a hit starts here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

Kind = Literal["blow", "push", "fall", "thing"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)


@dataclass(frozen=True)
class Spot:
    """A moment and a place at which the spotter sees a contact.

    Parameters
    ----------
    instant : float
        Of the contact, clip frames; between frames by a parabola.
    contact : int
        First clip frame in which it reads.
    chance : float
        Calibrated, 0..1.
    place : (float, float)
        Right and down from the picture's top left corner, picture widths.
    kind : {"blow", "push", "fall", "thing"}
    lag : int or None
        Frames from the contact to the receiver's first movement as the spotter sees it, below 0
        for an early one; None where it says nothing.
    """

    instant: float
    contact: int
    chance: float
    place: tuple[float, float]
    kind: Kind = "blow"
    lag: int | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.chance <= 1:
            raise ValueError(f"a chance lies between 0 and 1, not at {self.chance}")
        if self.contact < 0:
            raise ValueError(f"a contact is a frame of its clip, not {self.contact}")
        right, down = self.place
        if not (0 <= right <= 1 and down >= 0):
            raise ValueError(f"a place lies in the picture, not at {right} right, {down} down")
        if self.kind not in KINDS:
            raise ValueError(f"a spot is a {', a '.join(KINDS)}, not a {self.kind}")
