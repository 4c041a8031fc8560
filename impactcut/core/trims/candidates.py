"""Every candidate trim of a hit with its gain, its price and what was found of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.reasons import Finding, worst_channel
from impactcut.core.trims.speed import (
    SpeedGain,
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
    BRIGHTNESS,
    GAP,
    SPEECH,
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


def judge_candidates(candidates: Candidates, judge: Judge) -> tuple[list[Trim], list[Finding]]:
    """The trims without their reasons, and what the reasons are made from."""
    hit, motion, splices = candidates.hit, candidates.motion, candidates.splices
    strike = strike_window(hit, motion, judge)
    moved = strike_displacement(motion) * limb_seen(hit)
    gains = speed_gain(moved, float(motion.rate), strike, splices, judge)
    seen = how_it_shows(hit, motion, splices, judge)
    in_front = how_it_shows(hit, motion, splices, judge.in_front).total
    per_e = _steps_per_e(hit.peak_speed, judge)
    trims, findings = [], []
    for row in range(len(splices.first)):
        total, gain = float(seen.total[row]), float(gains.gain[row])
        frames = _frames(candidates, row)
        trim = Trim(
            frames.start,
            len(frames),
            gain,
            total,
            verdict(total, judge),
            _vetoes(candidates, frames),
            dict(zip(seen.names, seen.ratios[:, row].tolist(), strict=True)),
            front_row=float(in_front[row]),
            felt={name: steps * math.log(gain) for name, steps in per_e.items()},
            confident=confident(total, float(seen.difference[row]), float(seen.apart[row]), judge),
        )
        trims.append(trim)
        findings.append(_finding(trim, row, gains, seen))
    return trims, findings


def _vetoes(candidates: Candidates, frames: FrameRange) -> tuple[str, ...]:
    return vetoes(
        candidates.hit,
        candidates.motion,
        frames,
        candidates.clip_frames,
        candidates.keep_clear,
        candidates.clock,
    )


def _frames(candidates: Candidates, row: int) -> FrameRange:
    """Removed frames of the clip."""
    first = candidates.motion.first + int(candidates.splices.first[row])
    return FrameRange(first, first + int(candidates.splices.count[row]))


def _steps_per_e(speed: float, judge: Judge) -> dict[str, float]:
    """Just noticeable differences of a strike e times as fast, by viewer."""
    return {
        viewer.name: just_noticeable_differences(math.e, viewer, speed, judge)
        for viewer in OBSERVERS
    }


def _finding(trim: Trim, row: int, gains: SpeedGain, seen: Visibility) -> Finding:
    name = worst_channel(trim)
    jumps = dict(zip(seen.names, seen.excess, strict=False))
    jumps |= {GAP: seen.gap, BRIGHTNESS: seen.brightness, SPEECH: np.zeros(len(seen.total))}
    return Finding(
        float(jumps[name][row]),
        float(gains.crispness[row]),
        float(seen.difference[row]),
        float(seen.apart[row]),
        int(seen.unique[row]),
    )
