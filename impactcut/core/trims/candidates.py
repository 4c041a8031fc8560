"""Every candidate trim of a hit with its gain, its price and what was found of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from impactcut.core.arrays import Float64Array
from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import HitMotion
from impactcut.core.trims.reasons import Finding, worst_channel
from impactcut.core.trims.speed import (
    just_noticeable_differences,
    limb_seen,
    speed_gain,
    strike_displacement,
    strike_window,
)
from impactcut.core.trims.splice_indices import Splices
from impactcut.core.trims.trim import Trim
from impactcut.core.trims.visibility import Visibility, confident, how_it_shows, verdict
from impactcut.core.viewer.judge import OBSERVERS, Judge


def judge_candidates(
    hit: Hit, motion: HitMotion, splices: Splices, barred: Sequence[tuple[str, ...]], judge: Judge
) -> tuple[list[Trim], list[Finding]]:
    """The trims without their reasons, and what the reasons are made from.

    ``barred``: of each, why it must not be made (`impactcut.core.trims.vetoes`).
    """
    strike = strike_window(hit, motion, judge)
    moved = strike_displacement(motion) * limb_seen(hit)
    gains = speed_gain(moved, float(motion.rate), strike, splices, judge)
    seen = how_it_shows(hit, motion, splices, judge)
    per_e = _steps_per_e(hit.peak_speed, judge)
    numbers = (gains.gain, seen.total, seen.in_front, seen.difference, seen.apart)
    trims = [
        Trim(
            frames.start,
            len(frames),
            gain,
            total,
            verdict(total, judge),
            why_not,
            dict(zip(seen.names, ratios, strict=True)),
            front_row=in_front,
            felt={name: steps * math.log(gain) for name, steps in per_e.items()},
            confident=confident(total, difference, apart, judge),
        )
        for frames, why_not, ratios, (gain, total, in_front, difference, apart) in zip(
            splices.removed(motion.first),
            barred,
            seen.ratios.T.tolist(),
            np.stack(numbers, axis=1).tolist(),
            strict=True,
        )
    ]
    worst = [seen.names.index(worst_channel(trim)) for trim in trims]
    jumps = _jumps(seen)[worst, np.arange(len(trims))]
    found = np.stack([jumps, gains.crispness, seen.difference, seen.apart], axis=1).tolist()
    return trims, [
        Finding(jump, crisper, difference, apart, unique)
        for (jump, crisper, difference, apart), unique in zip(
            found, seen.unique.tolist(), strict=True
        )
    ]


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
