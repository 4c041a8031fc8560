"""The model's numbers where viewers were asked, and saying whether they were."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Final

from impactcut.core.viewer.judge import ATTENTIVE, CASUAL, FOV_DEGREES, Judge
from impactcut.core.words import counted

CASUAL_OVER_ATTENTIVE: Final = CASUAL.weber / ATTENTIVE.weber
"""An audience's threshold in an attentive viewer's: 0.18 / 0.09, de'Sperati & Baud-Bovy 2017."""


@dataclass(frozen=True)
class Calibration:
    """What people's answers say of the model.

    Parameters
    ----------
    position_step : float
        Least visible step of position, arcmin.
    viewer_ratio : float
        These viewers' threshold in a trained observer's, 1 or more: the warning line.
    errors : tuple of float
        Standard errors of the three, from the curvature of the likelihood.
    answers, viewers : int
        How many answers, of how many people.
    when : str
        UTC, ISO 8601.
    """

    position_step: float
    area_exponent: float
    viewer_ratio: float
    errors: tuple[float, float, float]
    answers: int
    viewers: int
    when: str = ""


@cache
def calibrated(calibration: Calibration | None, fov_degrees: float = FOV_DEGREES) -> Judge:
    """The judge by a calibration, for a picture so large; by published numbers where none is."""
    judge = Judge(fov_degrees)
    if calibration is None:
        return judge
    return replace(
        judge,
        position_step=calibration.position_step,
        area_exponent=calibration.area_exponent,
        attentive_ratio=calibration.viewer_ratio,
        audience_ratio=calibration.viewer_ratio * CASUAL_OVER_ATTENTIVE,
    )


def calibration_note(calibration: Calibration | None) -> str:
    """Whether visibility was fitted to anybody's eyes, for lists and pages."""
    if calibration is None:
        return "Visibility is uncalibrated: reasoned from research, not fitted to viewers."
    people = counted(calibration.viewers, "viewer")
    return f"Visibility is calibrated on {calibration.answers} answers of {people}."
