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

from dataclasses import dataclass, replace

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array
from impactcut.core.trims.splice_indices import Joins, Shown
from impactcut.core.viewer.judge import Judge
from impactcut.core.viewer.jump_thresholds import Masking, jump_ratio, nearest_explained

OF_THE_HIT = ("strike", "striker", "receiver")
BACKGROUND = "background"


@dataclass(frozen=True, eq=False)
class ChannelJumps:
    """What jumps at each of ``c`` splices, whoever looks. Arrays are float64 but for two.

    Parameters
    ----------
    step, explained : float64, shape (channels, c, 2)
        Displacement across the splice, and the nearest to it that the hit explains, widths.
    agitation, area, eccentricity : shape (channels, c)
        As in `Masking`.
    background : bool, shape (channels, 1)
        Which channels fill the whole picture.
    background_moved : shape (c,)
        The least that one of these moves across the splice, widths; infinite where none is.
    rate : float
        Pictures per second.
    """

    step: Float64Array
    explained: Float64Array
    agitation: Float64Array
    area: Float64Array
    eccentricity: Float64Array
    background: BoolArray
    background_moved: Float64Array
    rate: float

    @property
    def excess(self) -> Float64Array:
        """Length of what is not explained, widths, (channels, c)."""
        return _length(self.step - self.explained)

    def ratios(self, judge: Judge) -> Float64Array:
        """Each in thresholds of a trained observer, (channels, c)."""
        still = self.background_moved <= judge.position_step / judge.arcmin
        masking = Masking(self.agitation, self.area, self.eccentricity, still & ~self.background)
        return jump_ratio(self.step, self.explained, masking, self.rate, judge)


def channel_jumps(
    names: tuple[str, ...],
    shown: Shown,
    joins: Joins,
    at_contact: BoolArray,
    contact_point: tuple[float, float],
    judge: Judge,
) -> ChannelJumps:
    """The jumps of every channel at every splice.

    Parameters
    ----------
    names : tuple of str
        Of the channels.
    joins : Joins
        Of ``c`` splices.
    at_contact : bool, shape (c,)
        Which splices step over the contact.
    contact_point : tuple of float
        Where the viewer looks, widths from the picture's top left.
    judge : Judge
        Of whom only counts how long agitation is felt.
    """
    against = _against_background(names, shown)
    step = joins.across(against.displacement)
    at = np.minimum(joins.start, shown.intervals - 1)
    background = _rows(names, (BACKGROUND,))
    moved = _length(joins.across(shown.displacement[background]))
    away = _length(shown.centre[:, at] - np.array(contact_point))
    return ChannelJumps(
        step=step,
        explained=_explained(names, against, joins, step, at_contact),
        agitation=_agitation(shown, joins, judge),
        area=shown.area[:, at],
        eccentricity=np.where(background[:, None], 0.0, away),
        background=background[:, None],
        background_moved=moved.min(0, initial=np.inf),
        rate=shown.rate,
    )


def _length(vectors: Float64Array) -> Float64Array:
    return np.hypot(vectors[..., 0], vectors[..., 1])


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
