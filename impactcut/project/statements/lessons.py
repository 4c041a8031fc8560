"""Statements about lessons; every function works inside its caller's transaction.

The latest is in force; earlier ones stay, and one without numbers takes the last one back.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import TYPE_CHECKING

from impactcut.project.rows.cells import built, written
from impactcut.project.rows.damage import RESTORE
from impactcut.project.statements.proposals import drop_proposals
from impactcut.project.statements.writing import insert

if TYPE_CHECKING:
    from impactcut.core.learn.correction import Lesson


def put_lesson(
    connection: sqlite3.Connection,
    lesson: Lesson | None,
    confidences: Mapping[int, Mapping[int, float]],
) -> None:
    """Put a lesson in force, or none, and keep how sure finds are by it: by clip and hit."""
    taught = (None, None) if lesson is None else (lesson.correction, lesson.check)
    correction, checked = (None if part is None else written(part) for part in taught)
    insert(connection, "lessons", correction=correction, checked=checked)
    for clip_id, each in confidences.items():
        judge_again(connection, clip_id, each)


def lesson_in_force(connection: sqlite3.Connection) -> Lesson | None:
    """The lesson that was put in force last, if it was not taken back."""
    row = connection.execute(
        'SELECT correction, checked AS "check" FROM lessons ORDER BY id DESC LIMIT 1'
    ).fetchone()
    if row is None or row["correction"] is None:
        return None
    from impactcut.core.learn.correction import Lesson

    return built(Lesson, row, "what the finder was taught", RESTORE, ("correction", "check"))


def judge_again(
    connection: sqlite3.Connection, clip_id: int, confidences: Mapping[int, float]
) -> None:
    """Keep how sure a clip's finds are, by number; hits by hand are as sure as before."""
    for hit_id, confidence in confidences.items():
        connection.execute(
            "UPDATE hits SET confidence = ? WHERE id = ? AND by_hand = ''", (confidence, hit_id)
        )
    drop_proposals(connection, clip_id)
