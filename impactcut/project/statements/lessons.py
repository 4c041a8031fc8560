"""Statements about lessons; every function works inside its caller's transaction.

The latest is in force; earlier ones stay, and one without numbers takes the last one back.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

from impactcut.core.learn.correction import Check, Correction, Lesson
from impactcut.project.rows.damage import RESTORE, Kind, built
from impactcut.project.rows.kinds import count, json_of, list_of, number, record, text
from impactcut.project.statements.proposals import drop_proposals

_CORRECTION: Final[dict[str, Kind]] = {
    "weights": text, "lift": number, "trust": number, "row": list_of(number),
}  # fmt: skip
_CHECK: Final[dict[str, Kind]] = {
    "clips": count, "hits": count, "none": count, "passed": count, "found": list_of(count),
    "wrong": list_of(count), "loss": list_of(number), "doubt": number,
}  # fmt: skip
_LESSON: Final[dict[str, Kind]] = {
    "correction": json_of(record(Correction, _CORRECTION)),
    "checked": json_of(record(Check, _CHECK)),
}  # fmt: skip


def put_lesson(connection: sqlite3.Connection, lesson: Lesson | None) -> None:
    """Put a lesson in force, or none."""
    texts = (
        (None, None)
        if lesson is None
        else (json.dumps(asdict(lesson.correction)), json.dumps(asdict(lesson.check)))
    )
    connection.execute("INSERT INTO lessons (correction, checked) VALUES (?, ?)", texts)


def lesson_in_force(connection: sqlite3.Connection) -> Lesson | None:
    """The lesson that was put in force last, if it was not taken back."""
    row = connection.execute("SELECT * FROM lessons ORDER BY id DESC LIMIT 1").fetchone()
    if row is None or row["correction"] is None:
        return None
    return built(_lesson, row, _LESSON, "what the finder was taught", RESTORE)


def judge_again(
    connection: sqlite3.Connection, clip_id: int, confidences: Mapping[int, float]
) -> None:
    """Write how sure finds of a clip are, by number; hits by hand are as sure as before."""
    for hit_id, confidence in confidences.items():
        connection.execute(
            "UPDATE hits SET confidence = ? WHERE id = ? AND by_hand = ''", (confidence, hit_id)
        )
    drop_proposals(connection, clip_id)


def _lesson(correction: Correction, checked: Any) -> Lesson:
    return Lesson(correction, checked)
