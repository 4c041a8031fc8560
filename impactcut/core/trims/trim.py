"""Trims: the one to three frames to take out of a hit, and what each choice costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from impactcut.core.detect.hits import Hit
from impactcut.core.time.frames import FrameRange

Verdict = Literal["clean", "frame-step", "attentive", "obvious"]


@dataclass(frozen=True)
class Trim:
    """A run of frames to take out, with what it gains and what it shows.

    Parameters
    ----------
    first, count : int
        First removed frame of the clip, and how many go.
    speed_gain : float
        How much faster the hit will look, as a ratio.
    visibility : float
        How much the splice shows, in thresholds of a trained observer.
    verdict : {"clean", "frame-step", "attentive", "obvious"}
        Who would see the splice.
    vetoes : tuple of str
        Why this trim must not be made, in plain words; empty for one that may.
    channels : mapping of str to float
        Visibility of each channel alone.
    reasons : tuple of str
        Plain words, the weightiest first.
    front_row : float or None
        Visibility to somebody in the front row (`FRONT_ROW_DEGREES`); None where it was not judged.
    felt : mapping of str to float
        The speed gain in just noticeable differences of each kind of viewer (`OBSERVERS`).
    confident : bool or None
        Whether the two pictures that meet bear the visibility out; None where nobody looked.
    by_taste : bool
        Whether it is proposed by taste (`impactcut.core.learn.taste`) and not by rule.
    """

    first: int
    count: int
    speed_gain: float
    visibility: float
    verdict: Verdict
    vetoes: tuple[str, ...] = ()
    channels: Mapping[str, float] = field(default_factory=dict)
    reasons: tuple[str, ...] = ()
    front_row: float | None = None
    felt: Mapping[str, float] = field(default_factory=dict)
    confident: bool | None = None
    by_taste: bool = False

    @property
    def frames(self) -> FrameRange:
        """The removed frames of the clip."""
        return FrameRange(self.first, self.first + self.count)


@dataclass(frozen=True)
class Proposal:
    """Every trim of one hit, and the one proposed.

    ``no_trim`` says in plain words why nothing is proposed, and is None where something is.
    """

    trims: tuple[Trim, ...]
    proposed: Trim | None
    no_trim: str | None

    def judged(self, frames: FrameRange | None) -> Trim | None:
        """The trim of those frames of the clip, if it was judged."""
        wanted = None if frames is None else (frames.start, len(frames))
        return next((trim for trim in self.trims if (trim.first, trim.count) == wanted), None)


def frame_after(frame: int, first: int, count: int) -> int:
    """Where ``frame`` comes to lie once the trim is out; a removed one, where the splice is."""
    return frame if frame < first else max(first, frame - count)


def lag_after(hit: Hit, first: int, count: int) -> int | None:
    """Frames from contact to reaction once the trim is out; None without a reaction."""
    if hit.reaction is None:
        return None
    return frame_after(hit.reaction, first, count) - frame_after(hit.contact, first, count)
