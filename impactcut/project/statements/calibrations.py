"""Statements about who judges trims: a calibration, and the angle that the picture fills.

Every function works inside its caller's transaction.

The latest is in force; earlier ones stay, and one without numbers takes the last one back.
"""

from __future__ import annotations

import math
import sqlite3
from typing import Any, Final

from impactcut.core.viewer.calibration import Calibration, calibrated
from impactcut.core.viewer.judge import FOV_DEGREES, Judge
from impactcut.project.rows.damage import RESTORE, Kind, built
from impactcut.project.rows.kinds import count, number, optional, text

_NUMBERS: Final[dict[str, Kind]] = dict.fromkeys(
    ("position_step", "area_exponent", "viewer_ratio"), number
)
_ERRORS: Final[dict[str, Kind]] = dict.fromkeys(
    ("step_error", "exponent_error", "ratio_error"), optional(number)
)
"""SQLite keeps what is not a number as nothing."""
_KINDS: Final[dict[str, Kind]] = {
    **_NUMBERS, **_ERRORS, "answers": count, "viewers": count, "made": text,
}  # fmt: skip


def put_calibration(connection: sqlite3.Connection, calibration: Calibration | None) -> None:
    """Put a calibration in force, or none."""
    if calibration is None:
        connection.execute("INSERT INTO calibrations (answers) VALUES (0)")
        return
    connection.execute(
        "INSERT INTO calibrations (position_step, area_exponent, viewer_ratio, step_error, "
        "exponent_error, ratio_error, answers, viewers, made) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            calibration.position_step,
            calibration.area_exponent,
            calibration.viewer_ratio,
            *calibration.errors,
            calibration.answers,
            calibration.viewers,
            calibration.when,
        ),
    )


def calibration_in_force(connection: sqlite3.Connection) -> Calibration | None:
    """The calibration that was put in force last, if it was not taken back."""
    row = connection.execute("SELECT * FROM calibrations ORDER BY id DESC LIMIT 1").fetchone()
    if row is None or row["position_step"] is None:
        return None
    return built(_calibration, row, _KINDS, "the calibration", RESTORE)


def put_fov(connection: sqlite3.Connection, degrees: float) -> None:
    """Keep the angle that the picture fills."""
    connection.execute("INSERT INTO fields_of_view (degrees) VALUES (?)", (degrees,))


def judge_in_force(connection: sqlite3.Connection, fov: float | None) -> Judge:
    """The judge by the calibration in force, for the angle given or else the one kept."""
    if fov is None:
        rows = connection.execute("SELECT degrees FROM fields_of_view ORDER BY id DESC LIMIT 1")
        fov = next((row["degrees"] for row in rows), FOV_DEGREES)
    return calibrated(calibration_in_force(connection), fov)


def _calibration(answers: int, viewers: int, made: str, **cells: Any) -> Calibration:
    step, exponent, ratio = (cells[name] for name in _NUMBERS)
    first, second, third = (math.nan if cells[name] is None else cells[name] for name in _ERRORS)
    errors = (first, second, third)
    calibration = Calibration(step, exponent, ratio, errors, answers, viewers, made)
    calibrated(calibration)
    return calibration
