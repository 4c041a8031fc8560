"""Curves over time: eased moves, the reach of a strike, the jolt of a reaction."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .vectors import Floats

Change = Callable[[Floats], Floats]
"""Something over time: instants (T,) to values (T, ...)."""


def minimum_jerk(share: Floats) -> Floats:
    """Way covered, 0..1, after a share 0..1 of a reach's time (Flash & Hogan 1985)."""
    s = np.clip(share, 0, 1)
    return s**3 * (10 - 15 * s + 6 * s**2)


def eased(times: Floats, start: float, stop: float) -> Floats:
    """0 before ``start``, 1 after ``stop``, minimum jerk between."""
    return minimum_jerk((times - start) / max(stop - start, 1e-6))


def hump(times: Floats, start: float, rise: float, hold: float, fall: float) -> Floats:
    """Up to 1, a rest there, and back to 0; lengths in seconds."""
    down = start + rise + hold
    return eased(times, start, start + rise) - eased(times, down, down + fall)


def jolt(times: Floats, start: float, peak: float) -> Floats:
    """A push that starts at once: greatest (1) ``peak`` seconds after ``start``, then dies away."""
    after = np.maximum(times - start, 0) / peak
    return after * np.exp(1 - after)


@dataclass(frozen=True)
class Stroke:
    """Timing of a strike: wind-up, reach that is cut short by the contact, stop, hold, return.

    The reach is a minimum-jerk one of ``length`` seconds, broken off by the contact at ``share`` of
    its time; from there the speed dies away with time constant ``stop``.
    """

    contact: float
    wind_up: float
    length: float
    share: float
    stop: float
    hold: float
    back: float

    @property
    def reach_start(self) -> float:
        """When the reach leaves the wind-up."""
        return self.contact - self.share * self.length

    @property
    def start(self) -> float:
        """When the wind-up starts."""
        return self.reach_start - self.wind_up

    @property
    def return_start(self) -> float:
        """When the limb starts back."""
        return self.contact + self.hold

    @property
    def end(self) -> float:
        """When the limb is back."""
        return self.return_start + self.back

    def wound(self, times: Floats) -> Floats:
        """How far the wind-up is, 0..1, until it is spent in the reach."""
        return eased(times, self.start, self.reach_start) - self.thrown(times, lead=0.0)

    def thrown(self, times: Floats, lead: float) -> Floats:
        """How far the body has gone with the reach, 0..1; it leads the limb by ``lead`` seconds."""
        return eased(times, self.reach_start - lead, self.contact + 0.02)

    def released(self, times: Floats) -> Floats:
        """How far limb and body are back, 0..1."""
        return eased(times, self.return_start, self.end)

    def progress(self, times: Floats) -> Floats:
        """Way along the reach: 0 at its start, 1 at contact, then a little beyond."""
        share = self.share
        covered = float(minimum_jerk(np.array(share)))
        speed = 30 * share**2 * (1 - share) ** 2 / (self.length * covered)
        before = minimum_jerk((times - self.reach_start) / self.length) / covered
        beyond = speed * self.stop * (1 - np.exp(-np.maximum(times - self.contact, 0) / self.stop))
        return np.where(times <= self.contact, before, 1 + beyond)
