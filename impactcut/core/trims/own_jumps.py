"""How much the jump of each thing that moves shows across each splice.

The two bodies of the hit are seen against the background: what the camera does is taken from
them, so that a jump of the camera counts once, in the background. Where the splice steps over the
contact, all parts of both bodies share what the hit explains. In a blow the velocities afterwards
lie between those before (of a body and a blow that do not rebound, by the conservation of
momentum; a rebound is seen in the film itself), so whatever lies between the displacements of any
two of them in these intervals may come of the blow. Strangers' movement is explained by their own
alone, on the screen as it is.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array
from impactcut.core.trims.splices import Joins, Shown
from impactcut.core.viewer.judge import Judge
from impactcut.core.viewer.jumps import Masking, jump_ratio, nearest_explained

OF_THE_HIT = ("strike", "striker", "receiver")
BACKGROUND = "background"


def own_jumps(
    names: tuple[str, ...],
    shown: Shown,
    joins: Joins,
    at_contact: BoolArray,
    contact_point: tuple[float, float],
    judge: Judge,
) -> tuple[Float64Array, Float64Array]:
    """Ratio (thresholds) and unexplained length (widths) of every channel at every splice.

    Parameters
    ----------
    names : tuple of str
        Of the channels.
    shown : Shown
    joins : Joins
        Of ``c`` splices.
    at_contact : bool, shape (c,)
        Which splices step over the contact.
    contact_point : tuple of float
        Where the viewer looks, widths from the picture's top left.

    Returns
    -------
    float64, shape (len(names), c), twice
    """
    against = _against_background(names, shown)
    steps = joins.across(against.displacement)
    explained = _explained(names, against, joins, steps, at_contact)
    masking = _masking(names, shown, joins, contact_point, judge)
    ratio = jump_ratio(steps, explained, masking, shown.rate, judge)
    excess = steps - explained
    return ratio, np.hypot(excess[..., 0], excess[..., 1])


def _rows(names: tuple[str, ...], wanted: tuple[str, ...]) -> BoolArray:
    return np.array([name in wanted for name in names])


def _against_background(names: tuple[str, ...], shown: Shown) -> Shown:
    """The window with the camera's movement taken from the two bodies."""
    camera = shown.displacement[_rows(names, (BACKGROUND,))].sum(axis=0)
    bodies = _rows(names, OF_THE_HIT)[:, None, None]
    return replace(shown, displacement=shown.displacement - np.where(bodies, camera, 0.0))


def _explained(
    names: tuple[str, ...], shown: Shown, joins: Joins, steps: Float64Array, at_contact: BoolArray
) -> Float64Array:
    natural = shown.displacement[:, joins.spread]
    explained = nearest_explained(steps, natural)
    bodies = np.flatnonzero(_rows(names, OF_THE_HIT))
    struck = np.flatnonzero(at_contact)
    if len(bodies) > 1 and len(struck):
        together = np.concatenate(list(natural[bodies][:, struck]), axis=1)
        both = np.ix_(bodies, struck)
        explained[both] = nearest_explained(steps[both], together[None])
    return explained


def _masking(
    names: tuple[str, ...],
    shown: Shown,
    joins: Joins,
    contact_point: tuple[float, float],
    judge: Judge,
) -> Masking:
    at = np.minimum(joins.start, shown.intervals - 1)
    whole_frame = _rows(names, (BACKGROUND,))[:, None]
    offset = shown.centre[:, at] - np.array(contact_point)
    moved = np.linalg.norm(joins.across(shown.displacement), axis=-1)
    still = whole_frame & (moved <= judge.position_step / judge.arcmin)
    return Masking(
        agitation=_agitation(shown, joins, judge),
        area=shown.area[:, at],
        eccentricity=np.where(whole_frame, 0.0, np.hypot(offset[..., 0], offset[..., 1])),
        static_edge=still.any(0) & ~whole_frame,
    )


def _agitation(shown: Shown, joins: Joins, judge: Judge) -> Float64Array:
    """Rms second difference of each channel around each splice, without it, (channels, c)."""
    if shown.intervals < 3:
        return np.zeros((len(shown.displacement), len(joins.start)))
    second = (np.diff(shown.displacement, 2, axis=1) ** 2).sum(-1)
    middle = np.arange(1, shown.intervals - 1)
    reach = judge.agitation_seconds * shown.rate
    near = np.abs(middle - joins.start[:, None]) <= reach
    clear = (middle < joins.start[:, None] - 1) | (middle > joins.stop[:, None])
    counted = (near & clear).astype(float)
    mean = second @ counted.T / np.maximum(counted.sum(1), 1)
    agitation: Float64Array = np.sqrt(mean)
    return agitation
