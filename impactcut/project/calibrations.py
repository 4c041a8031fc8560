"""Statements about the calibration; every function works inside its caller's transaction.

The latest is in force; earlier ones stay, and one without numbers takes the last one back.
"""

from __future__ import annotations

import sqlite3

from impactcut.core.calibration import Calibration


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
    return Calibration(
        position_step=row["position_step"],
        area_exponent=row["area_exponent"],
        viewer_ratio=row["viewer_ratio"],
        errors=(row["step_error"], row["exponent_error"], row["ratio_error"]),
        answers=row["answers"],
        viewers=row["viewers"],
        when=row["made"],
    )
