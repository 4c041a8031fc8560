"""How each kind of strike is thrown and how it is received: tables and the change of posture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .figure import TWIST, mirrored, posture
from .vectors import Floats

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Strike:
    """One kind of strike, thrown with the right; points are forward, left, up in metres.

    Parameters
    ----------
    limb : {"hand", "hands", "elbow", "foot"}
    chamber : where the limb is wound up: from the base of the neck, for a foot from the root.
    bow : how far the middle of the path stands off the straight line.
    aim : where it is aimed: up from the receiver's base of the neck (for a foot, shove: down).
    reach : share of the limb's length that is used at contact.
    share : share of the minimum-jerk reach that is done at contact.
    stop : time constant of the stop, seconds; longer for one that follows through.
    wind_up, hold, back : seconds.
    wound, thrown : change of posture at the wind-up and at contact.
    lead_twist : share of the twist that the leading (left) side needs.
    push : of the receiver: backward, along the strike's swing, up.
    """

    limb: str
    chamber: Point
    bow: Point
    aim: float
    reach: float
    share: float
    stop: float
    wind_up: float
    hold: float
    back: float
    wound: Floats
    thrown: Floats
    lead_twist: float
    push: Point


STRIKES = {
    "straight punch": Strike(
        limb="hand", chamber=(0.06, -0.24, -0.16), bow=(0, 0, 0), aim=0.17, reach=0.85,
        share=0.67, stop=0.016, wind_up=0.26, hold=0.11, back=0.36,
        wound=posture(hips=(-0.06, 0, -0.02), lean=(-5, 0), twist=-20),
        thrown=posture(hips=(0.08, 0, -0.03), lean=(10, 3), twist=60),
        lead_twist=0.3, push=(1.0, 0.1, 0.1),
    ),
    "hook": Strike(
        limb="hand", chamber=(-0.02, -0.46, -0.12), bow=(0.16, -0.24, 0.04), aim=0.16, reach=0.84,
        share=0.60, stop=0.026, wind_up=0.30, hold=0.22, back=0.42,
        wound=posture(hips=(-0.03, 0, -0.03), lean=(0, -4), twist=-28),
        thrown=posture(hips=(0.05, 0.02, -0.02), lean=(6, 6), twist=72),
        lead_twist=0.55, push=(0.4, 1.0, 0.05),
    ),
    "uppercut": Strike(
        limb="hand", chamber=(0.10, -0.20, -0.52), bow=(0.14, -0.02, -0.16), aim=0.09, reach=0.80,
        share=0.62, stop=0.022, wind_up=0.32, hold=0.18, back=0.42,
        wound=posture(hips=(-0.02, -0.02, -0.12), lean=(4, -8), twist=-22),
        thrown=posture(hips=(0.07, 0.02, 0.03), lean=(-4, 4), twist=56),
        lead_twist=0.4, push=(0.8, 0.1, 1.0),
    ),
    "elbow": Strike(
        limb="elbow", chamber=(-0.16, -0.36, -0.16), bow=(0.12, -0.16, 0.02), aim=0.11, reach=0.98,
        share=0.62, stop=0.03, wind_up=0.34, hold=0.18, back=0.42,
        wound=posture(hips=(-0.02, 0, -0.02), lean=(0, -4), twist=-34),
        thrown=posture(
            hips=(0.08, 0.03, -0.02), lean=(8, 6), twist=80, right=(-0.06, 0.16, 0.0)
        ),
        lead_twist=0.6, push=(0.6, 0.9, 0.05),
    ),
    "front kick": Strike(
        limb="foot", chamber=(0.20, -0.10, 0.52), bow=(0.02, 0, 0.10), aim=-0.34, reach=0.87,
        share=0.67, stop=0.016, wind_up=0.30, hold=0.12, back=0.48,
        wound=posture(hips=(0.02, 0.06, 0.02), lean=(-4, 0), twist=16),
        thrown=posture(hips=(0.14, 0.06, 0.03), lean=(-22, 0), twist=24),
        lead_twist=0.4, push=(1.3, 0.0, 0.0),
    ),
    "shove": Strike(
        limb="hands", chamber=(0.14, -0.16, -0.20), bow=(0, 0, 0), aim=-0.14, reach=0.86,
        share=0.67, stop=0.022, wind_up=0.26, hold=0.16, back=0.40,
        wound=posture(hips=(-0.07, 0, -0.06), lean=(-4, 0), twist=26),
        thrown=posture(hips=(0.12, 0, -0.02), lean=(16, 0), twist=28),
        lead_twist=1.0, push=(1.2, 0.0, 0.0),
    ),
}  # fmt: skip


def body_change(strike: Strike, side: str) -> tuple[Floats, Floats]:
    """Change of posture at wind-up and at contact for a strike with this side."""
    if side == "right" or strike.limb == "hands":
        return strike.wound, strike.thrown
    return _led(strike.wound, strike.lead_twist), _led(strike.thrown, strike.lead_twist)


def _led(change: Floats, share: float) -> Floats:
    led = mirrored(change)
    led[TWIST] *= share
    return led


def sided(point: Point, side: str) -> Floats:
    """A point given for the right, for this side."""
    return np.array(point) * (1, 1 if side == "right" else -1, 1)


def bezier(start: Floats, control: Floats, end: Floats, progress: Floats) -> Floats:
    """Points of a quadratic Bezier path, (T, 3); beyond its end it goes on along the tangent."""
    p = np.clip(progress, 0, 1)[:, None]
    inside = (1 - p) ** 2 * start + 2 * p * (1 - p) * control + p**2 * end
    return inside + np.maximum(progress - 1, 0)[:, None] * 2 * (end - control)
