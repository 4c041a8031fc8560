"""The judge of trims: who watches, from where, and what they can tell apart, as published.

Marks: [V] number read in the source's text or abstract; [M] from memory; [D] derived from [V];
[E] engineering choice, for which no published number exists.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from typing import Final

import numpy as np

from impactcut.core.arrays import Float64Array


@dataclass(frozen=True)
class Observer:
    """A kind of viewer, by the smallest ratio of two speeds that they tell apart.

    Parameters
    ----------
    weber : float
        Speeds that differ by the factor ``1 + weber`` are just told apart.
    """

    name: str
    weber: float


TRAINED = Observer("trained", 0.06)
"""Laboratory observer: McKee & Nakayama 1984, Snowden & Braddick 1991 [V]."""
ATTENTIVE = Observer("attentive", 0.09)
"""Attentive viewer of real footage: de'Sperati & Baud-Bovy 2017, Sci Rep 7:15379 [V]."""
CASUAL = Observer("casual", 0.18)
"""Casual viewer of real footage: de'Sperati & Baud-Bovy 2017 [V]."""
OBSERVERS = (TRAINED, ATTENTIVE, CASUAL)


FOV_DEGREES = 33.0
FRONT_ROW_DEGREES = 60.0
"""What the picture fills for somebody who sits in front, to whom more shows than to most."""

MAY_BE_ZERO = ("agitation", "area_exponent", "shutter")


@dataclass(frozen=True)
class Judge:
    """Every number that trims are judged by: how large the picture is seen, and what shows.

    A calibration replaces some of them (`impactcut.core.viewer.calibration.calibrated`).

    Parameters
    ----------
    fov_degrees : float
        Horizontal angle that the picture fills, above 0 and below 180. The default is 16:9 seen
        from three picture heights, the distance of Chapiro et al. 2019 [V; angle D].
    front_end_seconds : float
        Time constant of the two-stage low-pass that velocity passes, s. Werkhoven, Snippe & Toet
        1992, Vision Res 32:2313 [V].
    weber_from, weber_to : float
        Speed discrimination is flat between these, degrees/s. De Bruyn & Orban 1988 [V]; it rises
        with the square root of the speed ratio outside [E].
    position_step : float
        Least visible step of position at the point looked at, arcmin: successive-position
        threshold, best case [V, through a secondary source].
    static_edge : float
        Factor on it beside an edge that stands still [V, through a secondary source].
    eccentricity_degrees : float
        Degrees from the point looked at, at which that step has doubled [M].
    speed_jump : float
        Least visible jump of speed inside one motion, as a ratio less one: about five times a
        difference of two speeds. Snowden & Braddick 1991 [V].
    across : float
        Factor on it for a jump across the motion: 9 % of direction against 17 % of speed.
        Werkhoven et al. 1992 [V; ratio D].
    agitation : float
        How many times its own rms second difference a channel hides [E].
    agitation_seconds : float
        How far on either side of the splice that is measured, s [E].
    contact_mask : float
        How many times less the two bodies' jump shows if it falls on the contact itself [E]. That
        a motion's onset hides cuts is measured (a quarter of the cuts within a scene are missed, a
        third of those at an onset: Smith & Henderson 2008 [V]), by how much in thresholds is not.
        Taken is that at the contact everybody watches the blow and nobody the evenness of a
        movement, so that a trained observer sees no more than an attentive viewer: 0.09 / 0.06.
    area_exponent, area_limit : float
        A channel counts as its area in square degrees to this power, for areas from
        ``1 / area_limit`` to ``area_limit`` [E].
    gap_floor, gap_widths : float
        Least gap in the path of a limb that breaks its movement: so many arcmin, or so many times
        the limb's width where that is more. The limit of short-range apparent motion is about
        15 arcmin and grows with the element (Petersik et al. 1983) in inverse proportion to its
        lowest spatial frequency (Eagle 1996) [V]; a limb is half a cycle wide, so one width [E].
    shutter : float
        Part of the frame interval that the shutter is open: 180 degrees, common practice [E].
    luminance_step : float
        Least visible step of mean log luminance [E].
    chain_tolerance : float
        The movement across a splice is doubtful if measured directly it differs by more than this
        from that added up, widths: 2 px of the 320 on which it is measured [E].
    contradiction : float
        A picture that changes more than so many times as much across a splice as around it
        contradicts a low visibility. After ITU-T P.910 and Wolf & Pinson [E].
    speech_skip_seconds : float
        Least visible skip in even movement, s, taken for lips too: 33 to 34.1 ms at 24 to 60 frames
        a second [D, Snowden & Braddick 1991 through Werkhoven et al. 1992]. Whether lips are seen
        is not known; the limits for sound against picture (ITU-R BT.1359-1) begin at 45 ms.
    pooling : float
        Exponent with which channels add up [E].
    attentive_ratio, audience_ratio : float
        Thresholds of an attentive viewer and of an audience in thresholds of a trained observer:
        0.09 / 0.06 and 0.18 / 0.06 [D, de'Sperati & Baud-Bovy 2017 over McKee & Nakayama 1984].
        The first is the warning line.
    strike_fraction : float
        The strike lasts while its speed is at least this part of its peak [E].
    least_gain : float
        A smaller gain is nobody's: the trained observer's 6 %. Gains that differ by less count as
        equal.
    believable_gain : float
        A larger gain is to be checked by eye [E].
    late_reaction_seconds : float
        A reaction later than this starts to look uncaused: Michotte's launching effect weakens
        past 100 to 150 ms [V, through a secondary source].
    """

    fov_degrees: float = FOV_DEGREES
    front_end_seconds: float = 0.040
    weber_from: float = 4.0
    weber_to: float = 64.0
    position_step: float = 2.2
    static_edge: float = 0.5
    eccentricity_degrees: float = 2.5
    speed_jump: float = 0.30
    across: float = 9 / 17
    agitation: float = 2.0
    agitation_seconds: float = 0.5
    contact_mask: float = ATTENTIVE.weber / TRAINED.weber
    area_exponent: float = 0.25
    area_limit: float = 16.0
    gap_floor: float = 15.0
    gap_widths: float = 1.0
    shutter: float = 0.5
    luminance_step: float = 0.02
    chain_tolerance: float = 2 / 320
    contradiction: float = 2.0
    speech_skip_seconds: float = 0.034
    pooling: float = 4.0
    attentive_ratio: float = ATTENTIVE.weber / TRAINED.weber
    audience_ratio: float = CASUAL.weber / TRAINED.weber
    strike_fraction: float = 0.10
    least_gain: float = 1 + TRAINED.weber
    believable_gain: float = 1.6
    late_reaction_seconds: float = 0.100

    def __post_init__(self) -> None:
        if not 0 < self.fov_degrees < 180:
            raise ValueError(
                f"a picture fills more than 0 and less than 180 degrees, not {self.fov_degrees}"
            )
        for field in fields(self):
            value = getattr(self, field.name)
            least = 0.0 if field.name in MAY_BE_ZERO else math.ulp(0.0)
            if not least <= value < math.inf:
                raise ValueError(f"{field.name} is a finite number above 0, not {value}")
        if not 1 <= self.attentive_ratio <= self.audience_ratio:
            raise ValueError(
                "thresholds rise from a trained observer to an attentive viewer to an audience"
            )

    @property
    def degrees(self) -> float:
        """Degrees that one picture width subtends by the scale at the picture's centre."""
        return math.degrees(2 * math.tan(math.radians(self.fov_degrees) / 2))

    @property
    def arcmin(self) -> float:
        """Minutes of arc that one picture width subtends by the scale at the picture's centre."""
        return 60 * self.degrees

    @property
    def in_front(self) -> Judge:
        """The same in the front row."""
        return replace(self, fov_degrees=FRONT_ROW_DEGREES)

    def is_late(self, lag: int, rate: Fraction) -> bool:
        """Whether a reaction ``lag`` frames after the contact is late; ``rate`` in frames/s."""
        return lag * rate.denominator / rate.numerator > self.late_reaction_seconds


AS_PUBLISHED: Final = Judge()


def weber_rise(speed: Float64Array, judge: Judge) -> Float64Array:
    """How much coarser speed discrimination is at ``speed`` than at its best.

    1 between ``weber_from`` and ``weber_to``, ``sqrt(weber_from / speed)`` below and
    ``sqrt(speed / weber_to)`` above (De Bruyn & Orban 1988 [V]; square roots [E]).

    Parameters
    ----------
    speed : float64
        Degrees per second. At 0 the result stays finite.
    """
    low, high = judge.weber_from, judge.weber_to
    slow = np.sqrt(low / np.clip(speed, 1e-9, low))
    return slow * np.sqrt(np.clip(speed, high, None) / high)
