"""Hits: where a staged strike lands in a clip."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from impactcut.core.motion.measured import HitMotion

CameraWord = Literal["locked", "handheld", "panning", "zooming"]
DECIMALS: Final = 4
"""Of a confidence that is kept."""


@dataclass(frozen=True)
class Hit:
    """One staged impact. Frames count from 0 at the clip's first.

    Parameters
    ----------
    onset : int
        First frame in which the strike moves.
    peak : int
        Frame at which the fastest interval starts.
    contact : int
        First frame in which the contact reads; ``contact_exact`` is the fitted instant, in frames.
    settle : int
        First frame in which the striking limb has come to rest.
    reaction : int or None
        First frame in which the receiver has started to move.
    confidence : float
        Chance that this is a hit, 0..1.
    peak_speed : float
        Fastest speed of the striking region, picture widths per second.
    region : tuple of float
        Left, top, width, height around the contact, picture widths.
    camera : {"locked", "handheld", "panning", "zooming"}
        What it does around the hit.
    """

    onset: int
    peak: int
    contact: int
    contact_exact: float
    settle: int
    reaction: int | None
    confidence: float
    peak_speed: float
    region: tuple[float, float, float, float]
    camera: CameraWord

    def __post_init__(self) -> None:
        if not self.onset <= self.peak <= self.contact <= self.settle:
            raise ValueError(
                f"onset {self.onset}, peak {self.peak}, contact {self.contact} and settle "
                f"{self.settle} are out of order"
            )

    @property
    def reaction_lag(self) -> int | None:
        """Frames from contact to reaction; None where nobody was seen to react."""
        return None if self.reaction is None else self.reaction - self.contact


class FoundHit(NamedTuple):
    """A hit and what moves around it."""

    hit: Hit
    motion: HitMotion
