"""Fit the model to viewers' answers, and keep the result in a project.

    python scripts/calibration/answers.py KEY.json SHEET.csv... [--project FILE] [--forget]

Prints the three numbers with their standard errors. With ``--project`` they are put in force for
everything that the project proposes from then on; ``--project FILE --forget`` alone goes back to
the published numbers. A sheet is one viewer's; lines without an answer are left out.
"""

from __future__ import annotations

import argparse
import csv
import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from impactcut.core.viewer.calibration import Calibration, calibration_note
from impactcut.core.viewer.forced_choice import Jump, fit_calibration
from impactcut.core.viewer.judge import Judge
from impactcut.errors import ImpactcutError
from impactcut.project import Project


class SheetError(Exception):
    """A key or sheet that cannot be used: which, and why."""


def read_key(path: Path) -> dict[str, Any]:
    """The key of a session."""
    try:
        key = json.loads(path.read_text(encoding="utf-8"))
        pairs = {entry.pop("pair"): entry for entry in key["pairs"]}
        return {"judge": Judge(key["fov_degrees"]), "pairs": pairs}
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise SheetError(f"{path}: not the key of a session ({error}); name key.json") from error


def read_sheet(path: Path, pairs: dict[str, Any]) -> list[tuple[Jump, bool]]:
    """A viewer's answers: the jump shown, and whether the right film was named."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            lines = list(csv.DictReader(file))
    except (OSError, UnicodeDecodeError) as error:
        raise SheetError(f"{path}: cannot be read ({error}); save it as CSV in UTF-8") from error
    return [
        answer
        for number, line in enumerate(lines, 2)
        if (answer := _answer(path, number, line, pairs))
    ]


def _answer(
    path: Path, number: int, line: dict[str, Any], pairs: dict[str, Any]
) -> tuple[Jump, bool] | None:
    pair, said = (line.get("pair") or "").strip(), (line.get("answer") or "").strip()
    if pair not in pairs:
        raise SheetError(f"{path}, line {number}: no pair {pair!r} in the key; use its own sheet")
    if not said:
        return None
    if said not in ("1", "2"):
        raise SheetError(f"{path}, line {number}: answer {said!r}; write 1 or 2, or leave it empty")
    shown = dict(pairs[pair])
    right = shown.pop("jumps_in")
    return Jump(**shown), int(said) == right


def fit_sheets(key_path: Path, sheets: list[Path]) -> Calibration:
    """What all sheets say together."""
    key = read_key(key_path)
    answers = [answer for sheet in sheets for answer in read_sheet(sheet, key["pairs"])]
    found = np.array([right for _, right in answers], bool)
    when = datetime.now(UTC).isoformat(timespec="seconds")
    jumps = [jump for jump, _ in answers]
    try:
        return fit_calibration(jumps, found, key["judge"], len(sheets), when)
    except ValueError as error:
        raise SheetError(f"{', '.join(map(str, sheets))}: {error}") from error


def main() -> int:
    """Fit, print, keep."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("key", type=Path, nargs="?")
    parser.add_argument("sheets", type=Path, nargs="*")
    parser.add_argument("--project", type=Path)
    parser.add_argument("--forget", action="store_true")
    given = parser.parse_args()
    if given.forget == bool(given.sheets) or (given.forget and given.project is None):
        parser.error("name a key and sheets, or a project and --forget")
    try:
        calibration = None if given.forget else fit_sheets(given.key, given.sheets)
        if calibration is not None:
            show(calibration)
        if given.project is not None:
            with Project(given.project) as project:
                project.store_calibration(calibration)
    except (SheetError, ImpactcutError) as error:
        print(error, file=sys.stderr)
        return 2
    print(calibration_note(calibration))
    return 0


def show(calibration: Calibration) -> None:
    """The three numbers with their standard errors."""
    step, exponent, ratio = calibration.errors
    print(f"position step  {calibration.position_step:.2f} +- {step:.2f} arcmin")
    print(f"area exponent  {calibration.area_exponent:.3f} +- {exponent:.3f}")
    print(f"viewer ratio   {calibration.viewer_ratio:.2f} +- {ratio:.2f}")


if __name__ == "__main__":
    sys.exit(main())
