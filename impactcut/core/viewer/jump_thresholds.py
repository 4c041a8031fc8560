"""How much one thing's jump across a splice shows.

The hit itself may change a velocity at any instant: a fist stops within 12 ms, less than a frame
(2.9 kg at 9.14 m/s against 3427 N: Walilko, Viano & Bir 2005). So whatever lies between two of
the displacements that the untrimmed film shows in the intervals of the splice and in the one on
either side is explained by the hit. What is left, ``E``, is measured against a threshold::

    S    displacement seen across the splice
    S^   the explained displacement nearest to S
    E    S - S^, split along and across S^
    threshold**2 = (E0 * (1 + eccentricity / 2.5))**2 + (k * |S^|)**2 + (2 * agitation)**2
    k    0.30 * q(speed) * rate / peak_step_response(rate), across the motion 9/17 of it
    R    sqrt((E_along / threshold_along)**2 + (E_across / threshold_across)**2)
         * clip(area / 1 deg**2, 1/16, 16)**(1/4)

The joined intervals' own displacements count as explained, not only those on either side. With
the latter alone, dropping the frame before a receiver recoils would count as a jump (at rest
before, 0.565 of the way in one frame, 0.246 in the next: the 0.565 lies outside), although the
film shows the very same step untrimmed. In steady motion the two rules agree.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, IntArray
from impactcut.core.viewer.judge import Judge, weber_rise
from impactcut.core.viewer.lowpass import peak_step_response


@dataclass(frozen=True, eq=False)
class Masking:
    """What dulls the eye to a jump. Arrays of float64 that broadcast to one shape (...).

    Parameters
    ----------
    agitation : ndarray
        Rms second difference of the thing's own displacement, widths.
    area : ndarray
        Picture that it covers, square widths.
    eccentricity : ndarray
        How far it is from where the viewer looks, widths.
    static_edge : bool ndarray
        Whether something that stands still is beside it.
    """

    agitation: Float64Array
    area: Float64Array
    eccentricity: Float64Array
    static_edge: BoolArray


def jump_ratio(
    step: Float64Array, explained: Float64Array, masking: Masking, rate: float, judge: Judge
) -> Float64Array:
    """How much a jump shows, in thresholds of a trained observer.

    Parameters
    ----------
    step : float64, shape (..., 2)
        Displacement across the splice, widths.
    explained : float64, shape (..., 2)
        The explained displacement nearest to it, as `nearest_explained` gives it.
    rate : float
        Pictures per second.

    Returns
    -------
    float64, shape (...)
    """
    excess = step - explained
    length = np.hypot(explained[..., 0], explained[..., 1])
    towards = np.where(length[..., None] > 0, explained, excess)
    norm = np.hypot(towards[..., 0], towards[..., 1])
    unit = towards / np.where(norm > 0, norm, 1.0)[..., None]
    along = (excess * unit).sum(-1) * judge.arcmin
    across = (excess[..., 0] * unit[..., 1] - excess[..., 1] * unit[..., 0]) * judge.arcmin
    still = _still_threshold(masking, judge)
    moving = _jump_threshold(length, rate, judge)
    ratio: Float64Array = np.sqrt(
        along**2 / (still**2 + moving**2) + across**2 / (still**2 + (judge.across * moving) ** 2)
    )
    return ratio * _area_factor(masking.area, judge)


def nearest_explained(step: Float64Array, shown: Float64Array) -> Float64Array:
    """The nearest to ``step`` of what lies between any two of the displacements ``shown``.

    Parameters
    ----------
    step : float64, shape (..., 2)
    shown : float64, shape (..., p, 2)
        At least two.

    Returns
    -------
    float64, shape (..., 2)
    """
    one, other = _pairs(shown.shape[-2])
    x, y = shown[..., 0], shown[..., 1]
    from_x, from_y = x[..., one], y[..., one]
    way_x, way_y = x[..., other] - from_x, y[..., other] - from_y
    to_x, to_y = step[..., 0, None], step[..., 1, None]
    length = way_x**2 + way_y**2
    part = (to_x - from_x) * way_x + (to_y - from_y) * way_y
    part = np.minimum(np.maximum(part / np.where(length > 0, length, 1.0), 0.0), 1.0)
    at_x, at_y = from_x + part * way_x, from_y + part * way_y
    nearest = ((to_x - at_x) ** 2 + (to_y - at_y) ** 2).argmin(-1)[..., None]
    found = [np.take_along_axis(at, nearest, -1)[..., 0] for at in (at_x, at_y)]
    return np.stack(found, axis=-1)


@cache
def _pairs(count: int) -> tuple[IntArray, IntArray]:
    """Every two of so many."""
    one, other = np.triu_indices(count, 1)
    return one, other


def _still_threshold(masking: Masking, judge: Judge) -> Float64Array:
    """Threshold of a thing at rest, arcmin: position step, eccentricity and agitation."""
    beside = np.where(masking.static_edge, judge.static_edge, 1.0)
    away = 1 + masking.eccentricity * judge.degrees / judge.eccentricity_degrees
    agitation = judge.agitation * masking.agitation * judge.arcmin
    return np.hypot(judge.position_step * beside * away, agitation)


def _jump_threshold(length: Float64Array, rate: float, judge: Judge) -> Float64Array:
    """Threshold of a jump along a movement of ``length`` widths per picture, arcmin."""
    rise = weber_rise(length * rate * judge.degrees, judge)
    k = judge.speed_jump * rise * rate / peak_step_response(rate, judge)
    return k * length * judge.arcmin


def _area_factor(area: Float64Array, judge: Judge) -> Float64Array:
    limit = judge.area_limit
    degrees = np.clip(area * judge.degrees**2, 1 / limit, limit)
    return degrees**judge.area_exponent
