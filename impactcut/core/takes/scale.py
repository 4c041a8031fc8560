"""How wide a picture is in the scene, where somebody has said so, and speeds to compare with."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

LIKELY_ERROR: Final = 0.2
"""Part by which a stated width is taken to be uncertain where nothing is said of it: fighters move
towards the lens and away. Engineering choice without a source."""
_SCALE = re.compile(
    r"\s*(\d+(?:[.,]\d+)?)\s*(?:m\s*)?(?:(?:\+-|\+/-|±)\s*(\d+(?:[.,]\d+)?))?\s*m?\s*"
)


@dataclass(frozen=True)
class Scale:
    """Width of the picture at the fighters, and how uncertain it is, in metres."""

    metres: float
    error: float

    def __post_init__(self) -> None:
        if not 0 < self.metres < math.inf or not 0 <= self.error < self.metres:
            raise ValueError(
                f"a picture is more than 0 metres wide, and its error less than that, "
                f"not {self.metres} +- {self.error}"
            )

    def __str__(self) -> str:
        return f"{self.metres:g}+-{self.error:g}"


@dataclass(frozen=True)
class PublishedSpeed:
    """Peak speeds of real strikes: who threw them, mean and standard deviation in m/s, source."""

    who: str
    mean: float
    deviation: float
    source: str

    @property
    def slowest_usual(self) -> float:
        """Two standard deviations below the mean: one in 44 of a normal spread is slower."""
        return self.mean - 2 * self.deviation


PUBLISHED: Final = (
    PublishedSpeed("straight punches of Olympic boxers", 9.14, 2.06, "Walilko, Viano & Bir 2005"),
    PublishedSpeed("elite lead straights", 7.16, 0.48, "Liu et al. 2022"),
)
"""As cited in `impactcut.core.trims.speed`."""


SEEN_PART, LEAST_SEEN, MOST_SEEN = 0.16, 0.11, 0.19
"""Part of a fist's peak speed that the program's own peak speed comes to, and its 10th and 90th
percentile: flow averages the fist with arm and body. Measured on 21 filmed captured strikes of
known speed with `scripts/bench/finding/seen_speed.py`, in sample; to be measured again whenever the
strike is followed in another way."""


@dataclass(frozen=True)
class LimbSpeed:
    """An estimate of how fast fist or foot went, m/s: likely, and between which limits."""

    likely: float
    low: float
    high: float

    def __str__(self) -> str:
        return f"about {self.likely:.0f} m/s ({self.low:.0f} to {self.high:.0f})"


def limb_speed(speed: float, scale: Scale) -> LimbSpeed:
    """How fast fist or foot went in the room.

    Parameters
    ----------
    speed : float
        Peak speed as measured on the screen, picture widths per second. Movement towards the lens
        is not seen, so the estimate is a least one.
    """
    metres, error = speed * scale.metres, speed * scale.error
    return LimbSpeed(
        metres / SEEN_PART, (metres - error) / MOST_SEEN, (metres + error) / LEAST_SEEN
    )


def parse_scale(text: str) -> Scale:
    """The scale that a person wrote: metres, or metres and their error, such as ``4`` or ``4+-1``.

    Raises
    ------
    ValueError
        If the text is neither.
    """
    match = _SCALE.fullmatch(text)
    if match is None:
        raise ValueError(f"{text!r} is no width in metres; write it as 4 or 4+-1")
    metres = float(match[1].replace(",", "."))
    error = LIKELY_ERROR * metres if match[2] is None else float(match[2].replace(",", "."))
    return Scale(metres, error)
