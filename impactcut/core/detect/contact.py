"""Contacts: the peaks of the spotter's chance, and the instant at which each lies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from impactcut.core.arrays import Float64Array, FloatArray, IntArray

APART_SECONDS: Final = 0.16
"""Two contacts lie at least this far apart, engineering choice: four frames at 24 a second."""


@dataclass(frozen=True)
class Peak:
    """A frame at which a contact is more likely than around it.

    Parameters
    ----------
    node : int
        Which of the frames that were looked at.
    instant : float
        Clip frames; between two of them by a parabola.
    contact : int
        First clip frame in which it reads.
    odds : float
        Log odds there.
    """

    node: int
    instant: float
    contact: int
    odds: float


def peaks(odds: FloatArray, frames: IntArray, rate: float, least: float) -> list[Peak]:
    """Where contacts may lie, in order.

    Of two that are nearer to one another than `APART_SECONDS` only the likelier is given.

    Parameters
    ----------
    odds : float32, shape (n,)
        Log odds of a contact at each frame looked at.
    frames : int64, shape (n,)
        Their numbers in the clip, rising.
    rate : float
        Of the clip, frames per second.
    least : float
        Log odds that a peak has at least.
    """
    found: list[Peak] = []
    for node in np.argsort(-odds, kind="stable"):
        if odds[node] < least:
            break
        if not _is_peak(odds, int(node)):
            continue
        peak = _peak_at(odds, frames, int(node))
        if all(abs(peak.instant - other.instant) >= APART_SECONDS * rate for other in found):
            found.append(peak)
    return sorted(found, key=lambda peak: peak.instant)


def _is_peak(odds: FloatArray, node: int) -> bool:
    before = odds[node - 1] if node > 0 else -np.inf
    after = odds[node + 1] if node + 1 < len(odds) else -np.inf
    return bool(odds[node] >= before and odds[node] > after)


def _peak_at(odds: FloatArray, frames: IntArray, node: int) -> Peak:
    shift = 0.0
    if 0 < node < len(odds) - 1:
        shift = _top(odds[node - 1 : node + 2].astype(np.float64))
    instant = float(np.interp(node + shift, np.arange(len(odds)), frames))
    return Peak(node, instant, round(instant), float(odds[node]))


def _top(three: Float64Array) -> float:
    """Where the parabola through three values, the middle one greatest, is highest: -0.5..0.5."""
    curve = three[0] - 2 * three[1] + three[2]
    return 0.0 if curve >= 0 else float(np.clip((three[0] - three[2]) / (2 * curve), -0.5, 0.5))
