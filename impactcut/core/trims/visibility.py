"""How much the splice of a trim shows, and in which part of the picture most.

Everything that moves is a channel and gets a ratio in thresholds of a trained observer
(`impactcut.core.trims.channel_jumps`); the gap in the path of the limb and the step of brightness
get one too. They add up as ``R = (sum R_c**4)**(1/4)``. Where the splice steps over the moment of
contact, the ratios of limb, bodies and gap are divided by ``contact_mask``: a jump there coincides
with the jolt that everybody waits for (`Judge`). No published experiment measures frames left out
at an impact: R is a reasoned warning, never a measured probability.

Repeated frames are left out first, so taking one away shows nothing. Where somebody speaks at the
splice, the sound that goes with the frames counts as what it is in thresholds of even movement.
Clocks and burnt-in timecode are a rule and no ratio (`impactcut.core.trims.vetoes`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, IntArray
from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import HitMotion
from impactcut.core.trims.channel_jumps import OF_THE_HIT, channel_jumps
from impactcut.core.trims.splice_indices import Joins, Shown, Splices, without_repeats
from impactcut.core.trims.trim import Verdict
from impactcut.core.viewer.judge import ATTENTIVE, CASUAL, Judge, Observer

GAP = "gap"
BRIGHTNESS = "brightness"
SPEECH = "speech"


@dataclass(frozen=True, eq=False)
class Visibility:
    """How much each of ``c`` trims shows.

    Parameters
    ----------
    names : tuple of str
        The channels, then ``"gap"`` and ``"brightness"``, and ``"speech"`` where there is any.
    ratios : float64, shape (len(names), c)
        Of each alone, in thresholds of a trained observer.
    total : float64, shape (c,)
        All together.
    in_front : float64, shape (c,)
        The same to somebody in the front row.
    excess : float64, shape (channels, c)
        Length of what the hit does not explain, widths.
    gap : float64, shape (c,)
        Gap in the path of the limb beyond those the film shows anyway, widths.
    brightness : float64, shape (c,)
        Step of mean log luma beyond those around.
    difference : float64, shape (c,)
        So many times as much as in the intervals around does the picture change across the splice
        (`difference_ratio`); at most so many where the two pictures were not compared.
    apart : float64, shape (c,)
        By how much the movement seen directly across the splice differs from that added up over
        the intervals, widths; NaN where the two pictures were not compared.
    unique : int64, shape (c,)
        Removed frames, those that repeat another not counted.
    """

    names: tuple[str, ...]
    ratios: Float64Array
    total: Float64Array
    in_front: Float64Array
    excess: Float64Array
    gap: Float64Array
    brightness: Float64Array
    difference: Float64Array
    apart: Float64Array
    unique: IntArray


def how_it_shows(hit: Hit, motion: HitMotion, splices: Splices, judge: Judge) -> Visibility:
    """How much each trim of a hit shows to somebody who looks at the contact."""
    shown = without_repeats(motion)
    joins = shown.joins(splices)
    unique = np.maximum(joins.stop - joins.start - 1, 0)
    names = tuple(channel.name for channel in motion.channels)
    at_contact = _at_contact(hit, motion, splices)
    own = channel_jumps(names, shown, joins, at_contact, _contact_point(hit), judge)
    gap = _gap(shown, joins, judge)
    brightness = _brightness(shown, joins)
    spoken = motion.speech if motion.speech is not None and motion.speech.any() else None

    def ratios_to(judge: Judge) -> Float64Array:
        least_gap = np.maximum(
            judge.gap_floor / judge.arcmin, judge.gap_widths * _limb_width(shown, joins.start)
        )
        light = brightness / judge.luminance_step
        ratios = np.concatenate([own.ratios(judge), [gap / least_gap], [light]])
        ratios[_struck(names)] /= np.where(at_contact, judge.contact_mask, 1.0)
        ratios = np.where(unique > 0, ratios, 0.0)
        said = [] if spoken is None else [[_speech(motion, spoken, splices, judge)]]
        return np.concatenate([ratios, *said])

    ratios = ratios_to(judge)
    difference, apart = _seen_directly(motion, splices)
    return Visibility(
        names=(*names, GAP, BRIGHTNESS, *(() if spoken is None else (SPEECH,))),
        ratios=ratios,
        total=_together(ratios, judge),
        in_front=_together(ratios_to(judge.in_front), judge),
        excess=own.excess,
        gap=gap,
        brightness=brightness,
        difference=difference,
        apart=apart,
        unique=unique,
    )


def verdict(visibility: float, judge: Judge) -> Verdict:
    """Who would see a splice of that visibility."""
    if visibility < 1:
        return "clean"
    if visibility < judge.attentive_ratio:
        return "frame-step"
    return "attentive" if visibility <= judge.audience_ratio else "obvious"


def to_viewer(visibility: float, viewer: Observer, judge: Judge) -> float:
    """A visibility in thresholds of one kind of viewer, not in a trained observer's."""
    thresholds = {ATTENTIVE.name: judge.attentive_ratio, CASUAL.name: judge.audience_ratio}
    return visibility / thresholds.get(viewer.name, 1.0)


def difference_ratio(
    splice: Float64Array, neighbours: Float64Array, natural: Float64Array
) -> Float64Array:
    """Mean square of the picture's change across a splice against what the film shows untrimmed.

    At most 1 says that the splice is hidden in the motion; above 2 contradicts a low visibility
    (after the temporal information of ITU-T P.910 and the dropped-frame work of Wolf & Pinson).
    A hit is the loudest moment of its surroundings with or without a splice, so the splice is
    compared with its twelve neighbours or with the interval at the splice that changes most,
    whichever is more [E].

    Parameters
    ----------
    splice : float64, shape (c,)
    neighbours : float64, shape (c, 12)
    natural : float64, shape (c, m)
        Changes in the intervals that each splice joins and on either side.
    """
    around = np.maximum((neighbours**2).mean(-1), (natural**2).max(-1))
    return splice**2 / np.where(around > 0, around, np.inf)


def confident(visibility: float, difference: float, apart: float, judge: Judge) -> bool | None:
    """Whether what was seen directly across a splice bears out its visibility.

    Parameters
    ----------
    difference, apart : float
        As in `Visibility`.

    Returns
    -------
    bool or None
        None where the two pictures were not compared.
    """
    if math.isnan(apart):
        return None
    contradicted = visibility < 1 and difference > judge.contradiction
    return apart <= judge.chain_tolerance and not contradicted


def _together(ratios: Float64Array, judge: Judge) -> Float64Array:
    total: Float64Array = (ratios**judge.pooling).sum(0) ** (1 / judge.pooling)
    return total


def _contact_point(hit: Hit) -> tuple[float, float]:
    left, top, width, height = hit.region
    return left + width / 2, top + height / 2


def _struck(names: tuple[str, ...]) -> list[int]:
    """Rows of what the contact itself masks: the two bodies and the limb's path."""
    bodies = [row for row, name in enumerate(names) if name in OF_THE_HIT]
    return [*bodies, len(names)]


def _at_contact(hit: Hit, motion: HitMotion, splices: Splices) -> BoolArray:
    """Which splices step over the moment of contact, (c,)."""
    contact = hit.contact - motion.first
    return (splices.first <= contact) & (splices.first + splices.count >= contact)


def _limb_width(shown: Shown, at: IntArray) -> Float64Array:
    width: Float64Array = np.sqrt(shown.area[0][np.minimum(at, shown.intervals - 1)])
    return width


def _gap(shown: Shown, joins: Joins, judge: Judge) -> Float64Array:
    """Gap in the limb's path at each splice beyond the largest that is there anyway, (c,)."""
    moved = np.hypot(*shown.displacement[0].T)
    blur = judge.shutter * moved
    ordinary = np.maximum(moved - np.sqrt(shown.area[0]) - blur, 0.0)
    sides = np.clip(np.stack([joins.start - 1, joins.stop]), 0, shown.intervals - 1)
    length = np.hypot(*joins.across(shown.displacement[:1])[0].T)
    at_splice = length - _limb_width(shown, joins.start) - blur[sides].mean(0)
    nearby = np.maximum(ordinary[joins.around].max(1), ordinary[joins.spread].max(1))
    gap: Float64Array = np.maximum(at_splice - nearby, 0.0)
    return gap


def _brightness(shown: Shown, joins: Joins) -> Float64Array:
    """Step of mean log luma beyond those at the splice untrimmed and usual around it, (c,)."""
    steps = np.diff(shown.luma)
    usual = np.median(steps[joins.around], axis=1, keepdims=True)
    natural = np.concatenate([steps[joins.spread], usual], axis=1)
    step = shown.luma[joins.stop] - shown.luma[joins.start]
    beyond = np.maximum(step - natural.max(1), natural.min(1) - step)
    excess: Float64Array = np.maximum(beyond, 0.0)
    return excess


def _speech(motion: HitMotion, spoken: BoolArray, splices: Splices, judge: Judge) -> Float64Array:
    """Length of what goes in `speech_skip_seconds`, where somebody speaks at the splice, (c,)."""
    frames = np.concatenate([[0], np.cumsum(spoken)])
    near = frames[splices.first + splices.count + 1] > frames[splices.first - 1]
    seconds = splices.count / float(motion.rate)
    ratio: Float64Array = near * seconds / judge.speech_skip_seconds
    return ratio


def _seen_directly(motion: HitMotion, splices: Splices) -> tuple[Float64Array, Float64Array]:
    """`Visibility.difference` and `Visibility.apart`; a bound and NaN where nobody looked.

    The most that the picture can change is the sum of its changes.
    """
    joins = Joins(splices.first - 1, splices.first + splices.count, motion.intervals)
    change = motion.difference.astype(float)
    index, counts = joins.joined
    across = np.where(counts, change[index], 0.0).sum(1)
    apart = np.full(len(across), np.nan)
    if motion.skips is not None:
        skips = motion.skips
        rows = {key: k for k, key in enumerate(zip(skips.first, skips.count, strict=True))}
        for k, key in enumerate(zip(splices.first, splices.count, strict=True)):
            if key in rows:
                across[k] = skips.difference[rows[key]]
                apart[k] = skips.disagreement[rows[key]]
    return difference_ratio(across, change[joins.around], change[joins.spread]), apart
