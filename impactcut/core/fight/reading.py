"""How a hit reads on screen: weak beside its fight, or with a receiver who reacts late or early.

Speed on the screen counts, not in the room: a wide lens, a bad angle and a slow performance all
make a hit read small. Nothing here says whether a move was well or safely performed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import Final

from impactcut.core.detect.hits import Hit
from impactcut.core.takes.scale import PUBLISHED, LimbSpeed, Scale, limb_speed
from impactcut.core.time.frames import frames_in_words, milliseconds
from impactcut.core.trims.speed import limb_seen
from impactcut.core.viewer.judge import AS_PUBLISHED, Judge

KINDS: Final = ("weak", "late", "early")
WEAK_PART: Final = 0.6
"""A strike this part as fast on screen as the median of the fight reads weak. Engineering choice
without a source."""


@dataclass(frozen=True)
class Reading:
    """What is unusual about a hit, in words; each is empty where there is nothing to say.

    Parameters
    ----------
    weak : str
        Slow beside the other hits of the fight, or beside published strikes.
    late : str
        The receiver reacts too long after the contact.
    early : str
        The receiver moves before the contact.
    limb_speed : LimbSpeed or None
        Estimate of the strike's speed in the room, where the picture's scale is known.
    """

    weak: str = ""
    late: str = ""
    early: str = ""
    limb_speed: LimbSpeed | None = None

    @property
    def kinds(self) -> tuple[str, ...]:
        """Of `KINDS`, those of which there is something to say."""
        return tuple(kind for kind in KINDS if getattr(self, kind))

    @property
    def remarks(self) -> tuple[str, ...]:
        """What there is to say of each."""
        return tuple(getattr(self, kind) for kind in self.kinds)


def usual_speed(speeds: Iterable[float]) -> float | None:
    """The usual strike speed of a fight: the median of those seen; None where none was."""
    known = [speed for speed in speeds if speed > 0]
    return median(known) if known else None


def read_hit(hit: Hit, rate: Fraction, usual: float | None, scale: Scale | None = None) -> Reading:
    """How a hit reads.

    Parameters
    ----------
    rate : Fraction
        Frames per second of its clip.
    usual : float or None
        `usual_speed` of its fight, picture widths per second.
    scale : Scale or None
        Of its picture, where somebody has stated it.
    """
    speed = None if scale is None or not limb_seen(hit) else limb_speed(hit.peak_speed, scale)
    here = _slow_here(hit.peak_speed, usual) if limb_seen(hit) else ""
    weak = (here, "" if speed is None else _slow_anywhere(speed))
    return Reading(
        weak="; ".join(text for text in weak if text),
        late=late_reaction(hit.reaction_lag, rate, AS_PUBLISHED),
        early=early_reaction(hit.reaction_lag, rate),
        limb_speed=speed,
    )


def late_reaction(lag: int | None, rate: Fraction, limits: Judge) -> str:
    """How a reaction so many frames after the contact is late; empty where it is not."""
    if lag is None or not limits.is_late(lag, rate):
        return ""
    line = round(1000 * limits.late_reaction_seconds)
    return (
        f"the receiver reacts {_milliseconds(lag, rate)} after contact: past {line} ms it starts "
        "to look uncaused"
    )


def early_reaction(lag: int | None, rate: Fraction) -> str:
    """How a reaction so many frames after the contact, below 0, is early; empty where it is not."""
    if lag is None or lag >= 0:
        return ""
    return f"the receiver moves {_milliseconds(-lag, rate)} before contact"


def _slow_here(speed: float, usual: float | None) -> str:
    if usual is None or speed >= WEAK_PART * usual:
        return ""
    return (
        f"it crosses {speed:.2f} picture widths a second where the usual hit of this fight "
        f"crosses {usual:.2f}"
    )


def _slow_anywhere(speed: LimbSpeed) -> str:
    slowest = min(PUBLISHED, key=lambda known: known.slowest_usual)
    if speed.high >= slowest.slowest_usual:
        return ""
    return (
        f"{speed}, where real punches peak at {slowest.mean:.1f} +- "
        f"{slowest.deviation:.1f} m/s ({slowest.who}; {slowest.source})"
    )


def _milliseconds(frames: int, rate: Fraction) -> str:
    return f"{frames_in_words(frames)} ({milliseconds(frames, rate)} ms)"
