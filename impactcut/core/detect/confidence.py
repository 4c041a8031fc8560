"""How sure a hit is, and from where on it is listed: decided here and nowhere else.

The networks' log odds are stretched by two numbers, fitted to what they said of real people that
the fit had not seen, so that of the finds of one confidence that share are hits. A take of a fight
and people who only move count the same in it; see `impactcut.weights`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

SURE: Final = 0.42
"""Confidence from which a find counts as a hit unless somebody asks for less: on real people that
the fit had not seen, 4 of 5 acted blows come to it, and 1.9 finds a minute of people who strike
nobody (`scripts/training/README.md`)."""
UNSURE: Final = 0.1
"""Confidence from which a find is worth a look by whoever misses a hit: 26 of 30 acted blows come
to it, and a good many finds beside them."""


@dataclass(frozen=True)
class Calibration:
    """From log odds to confidence.

    Parameters
    ----------
    slope, lift : float
        The log odds of a hit are ``slope`` times the networks' plus ``lift``.
    """

    slope: float
    lift: float

    def __post_init__(self) -> None:
        if not self.slope > 0:
            raise ValueError(f"a calibration of slope {self.slope} would turn sure into unsure")

    def confidence(self, odds: float) -> float:
        """Chance that a find with these log odds is a hit, 0..1."""
        return 1 / (1 + math.exp(-(self.slope * odds + self.lift)))
