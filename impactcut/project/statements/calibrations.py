"""Statements about who judges trims: a calibration, and the angle that the picture fills.

Every function works inside its caller's transaction.

The latest is in force; earlier ones stay, and one without numbers takes the last one back.
"""

from __future__ import annotations

import math
import sqlite3

from impactcut.core.viewer.calibration import Calibration, calibrated
from impactcut.core.viewer.judge import FOV_DEGREES, Judge
from impactcut.project.rows.cells import built
from impactcut.project.rows.damage import RESTORE, intact
from impactcut.project.statements.writing import insert

_ERRORS = ("step_error", "exponent_error", "ratio_error")


def put_calibration(connection: sqlite3.Connection, calibration: Calibration | None) -> None:
    """Put a calibration in force, or none."""
    if calibration is None:
        insert(connection, "calibrations", answers=0)
        return
    insert(
        connection,
        "calibrations",
        position_step=calibration.position_step,
        area_exponent=calibration.area_exponent,
        viewer_ratio=calibration.viewer_ratio,
        **dict(zip(_ERRORS, calibration.errors, strict=True)),
        answers=calibration.answers,
        viewers=calibration.viewers,
        made=calibration.when,
    )


def calibration_in_force(connection: sqlite3.Connection) -> Calibration | None:
    """The calibration that was put in force last, if it was not taken back."""
    row = connection.execute("SELECT * FROM calibrations ORDER BY id DESC LIMIT 1").fetchone()
    if row is None or row["position_step"] is None:
        return None
    cells = (row[name] for name in _ERRORS)
    errors = [math.nan if cell is None else cell for cell in cells]  # SQLite keeps NaN as nothing
    values = {**dict(row), "errors": errors, "when": row["made"]}
    calibration = built(Calibration, values, "the calibration", RESTORE)
    with intact("the calibration", RESTORE):
        calibrated(calibration)
    return calibration


def put_fov(connection: sqlite3.Connection, degrees: float) -> None:
    """Keep the angle that the picture fills."""
    insert(connection, "fields_of_view", degrees=degrees)


def judge_in_force(connection: sqlite3.Connection, fov: float | None) -> Judge:
    """The judge by the calibration in force, for the angle given or else the one kept."""
    if fov is None:
        rows = connection.execute("SELECT degrees FROM fields_of_view ORDER BY id DESC LIMIT 1")
        fov = next((row["degrees"] for row in rows), FOV_DEGREES)
    return calibrated(calibration_in_force(connection), fov)
