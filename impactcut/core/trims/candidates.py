"""Every candidate trim of a hit with its gain, its price and what was found of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from impactcut.core.arrays import Float64Array
from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.reasons import Finding, worst_channel
from impactcut.core.trims.speed import (
    just_noticeable_differences,
    limb_seen,
    speed_gain,
    strike_displacement,
    strike_window,
)
from impactcut.core.trims.splices import Splices
from impactcut.core.trims.trim import Trim
from impactcut.core.trims.vetoes import vetoes
from impactcut.core.trims.visibility import (
    Visibility,
    confident,
    how_it_shows,
    verdict,
)
from impactcut.core.viewer.judge import OBSERVERS, Judge


@dataclass(frozen=True, eq=False)
class Candidates:
    """The trims of a hit that may be made.

    Parameters
    ----------
    hit : Hit
    motion : HitMotion
    splices : Splices
    clip_frames : int
        Frames of the clip.
    keep_clear : tuple of FrameRange
        Trims of other hits of the clip.
    clock : bool
        Whether a clock or a counter is in the picture.
    """

    hit: Hit
    motion: HitMotion
    splices: Splices
    clip_frames: int
    keep_clear: tuple[FrameRange, ...]
    clock: bool = False

    @property
    def frames(self) -> list[FrameRange]:
        """The removed frames of the clip, of each."""
        firsts = (self.motion.first + self.splices.first).tolist()
        counts = self.splices.count.tolist()
        pairs = zip(firsts, counts, strict=True)
        return [FrameRange(first, first + count) for first, count in pairs]

    def vetoes(self, frames: FrameRange) -> tuple[str, ...]:
        """Why these must not go."""
        return vetoes(self.hit, self.motion, frames, self.clip_frames, self.keep_clear, self.clock)


def judge_candidates(candidates: Candidates, judge: Judge) -> tuple[list[Trim], list[Finding]]:
    """The trims without their reasons, and what the reasons are made from."""
    hit, motion, splices = candidates.hit, candidates.motion, candidates.splices
    strike = strike_window(hit, motion, judge)
    moved = strike_displacement(motion) * limb_seen(hit)
    gains = speed_gain(moved, float(motion.rate), strike, splices, judge)
    seen = how_it_shows(hit, motion, splices, judge)
    per_e = _steps_per_e(hit.peak_speed, judge)
    columns = (
        candidates.frames, gains.gain, seen.total, seen.in_front, seen.ratios.T, gains.crispness,
        seen.difference, seen.apart, seen.unique, _jumps(seen).T,
    )  # fmt: skip
    rows = (each.tolist() if isinstance(each, np.ndarray) else each for each in columns)
    trims, findings = [], []
    for frames, gain, total, in_front, ratios, crisper, difference, apart, unique, jumps in zip(
        *rows, strict=True
    ):
        channels = dict(zip(seen.names, ratios, strict=True))
        trims.append(
            Trim(
                frames.start,
                len(frames),
                gain,
                total,
                verdict(total, judge),
                candidates.vetoes(frames),
                channels,
                front_row=in_front,
                felt={name: steps * math.log(gain) for name, steps in per_e.items()},
                confident=confident(total, difference, apart, judge),
            )
        )
        jump = jumps[seen.names.index(worst_channel(trims[-1]))]
        findings.append(Finding(jump, crisper, difference, apart, unique))
    return trims, findings


def _jumps(seen: Visibility) -> Float64Array:
    """What the hit does not explain of each channel, (len(names), c); 0 of speech."""
    jumps = np.concatenate([seen.excess, [seen.gap, seen.brightness]])
    return np.pad(jumps, ((0, len(seen.names) - len(jumps)), (0, 0)))


def _steps_per_e(speed: float, judge: Judge) -> dict[str, float]:
    """Just noticeable differences of a strike e times as fast, by viewer."""
    return {
        viewer.name: just_noticeable_differences(math.e, viewer, speed, judge)
        for viewer in OBSERVERS
    }
