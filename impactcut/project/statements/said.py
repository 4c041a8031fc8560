"""Statements about what people say of clips and hits; each works inside its caller's transaction.

They stand apart from what is measured, and measuring again takes none of it away.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import Any, Final

from impactcut.core.takes.scale import Scale
from impactcut.core.takes.shot_log import ShotSaid
from impactcut.core.takes.shot_names import ShotName, parse_pattern
from impactcut.project.rows.damage import RESTORE, Kind, built, cells
from impactcut.project.rows.kinds import flag, number, optional, text, whole
from impactcut.project.statements.proposals import drop_proposals

WITH_SAID = """
SELECT clips.*, said.section AS said_section, said.take AS said_take, said.angle AS said_angle,
    said.slate AS said_slate, said.circled, said.metres, said.metres_error,
    said.clock AS said_clock, said.reel AS said_reel, said.start AS said_start,
    said.rate AS said_rate, original
FROM clips LEFT JOIN said_of_clips AS said ON said.clip_id = clips.id
LEFT JOIN same_takes_now AS same ON same.clip_id = clips.id AND listed
"""
"""Clips with what is said of them, for `said_in`, and the originals that they stand for."""

_SAID: Final[dict[str, Kind]] = {
    "said_section": optional(text), "said_take": optional(text), "said_angle": optional(text),
    "said_slate": optional(text), "circled": optional(flag), "metres": optional(number),
    "metres_error": optional(number), "said_clock": optional(flag), "said_reel": optional(text),
    "said_start": optional(text), "said_rate": optional(text),
}  # fmt: skip
_PATTERN: Final[dict[str, Kind]] = {"pattern": text}
_MARK: Final[dict[str, Kind]] = {"hit_id": whole, "with_hit_id": whole}

_SAY = """
INSERT INTO said_of_clips
    (clip_id, section, take, angle, slate, circled, metres, metres_error, reel, start, rate)
VALUES (:clip, :section, :take, :angle, :slate, :circled, :metres, :metres_error, :reel, :start,
    :rate)
ON CONFLICT (clip_id) DO UPDATE SET
    section = coalesce(excluded.section, section), take = coalesce(excluded.take, take),
    angle = coalesce(excluded.angle, angle), slate = coalesce(excluded.slate, slate),
    circled = coalesce(excluded.circled, circled), metres = coalesce(excluded.metres, metres),
    metres_error = coalesce(excluded.metres_error, metres_error),
    reel = coalesce(excluded.reel, reel), start = coalesce(excluded.start, start),
    rate = coalesce(excluded.rate, rate)
"""


def said_in(row: sqlite3.Row, where: str) -> ShotSaid:
    """What is said of the clip in a row of `WITH_SAID`, which ``where`` names."""
    return built(_said, row, _SAID, where, RESTORE)


def _said(metres: float | None, metres_error: float | None, **others: Any) -> ShotSaid:
    if (metres is None) != (metres_error is None):
        raise ValueError("a width goes with its error")
    scale = None if metres is None or metres_error is None else Scale(metres, metres_error)
    own = {name.removeprefix("said_"): value for name, value in others.items()}
    return ShotSaid(scale=scale, **own)


def say_of_clip(connection: sqlite3.Connection, clip_id: int, said: ShotSaid) -> None:
    """Keep what is said of a clip; what it leaves open stays as it was."""
    scale = said.scale
    values = {
        "clip": clip_id,
        "section": said.section,
        "take": said.take,
        "angle": said.angle,
        "slate": said.slate,
        "circled": said.circled,
        "metres": None if scale is None else scale.metres,
        "metres_error": None if scale is None else scale.error,
        "reel": said.reel,
        "start": said.start,
        "rate": said.rate,
    }
    connection.execute(_SAY, values)


def mark_clock(connection: sqlite3.Connection, clip_id: int, clock: bool | None) -> None:
    """Keep whether a clock is in a clip's picture; None leaves it to what is measured.

    What was proposed for the clip goes.
    """
    connection.execute(
        "INSERT INTO said_of_clips (clip_id, clock) VALUES (?, ?) "
        "ON CONFLICT (clip_id) DO UPDATE SET clock = excluded.clock",
        (clip_id, clock),
    )
    drop_proposals(connection, clip_id)


def pattern_of(connection: sqlite3.Connection) -> str | None:
    """The pattern of names that was chosen last, if any was."""
    row = connection.execute(
        "SELECT pattern FROM name_patterns ORDER BY id DESC LIMIT 1"
    ).fetchone()
    return None if row is None else built(_pattern, row, _PATTERN, "the pattern of names", RESTORE)


def _pattern(pattern: str) -> str:
    return parse_pattern(pattern).text


def put_pattern(
    connection: sqlite3.Connection, pattern: str, names: Mapping[int, ShotName]
) -> None:
    """Keep a pattern, and what it reads of each clip by number."""
    connection.execute("INSERT INTO name_patterns (pattern) VALUES (?)", (pattern,))
    for clip_id, name in names.items():
        connection.execute(
            "UPDATE clips SET section = ?, take = ?, angle = ?, slate = ? WHERE id = ?",
            (name.section, name.take, name.angle, name.slate, clip_id),
        )


def beat_marks(connection: sqlite3.Connection) -> dict[int, int]:
    """Hits that somebody put into a beat, each with a hit of that beat; itself for one alone."""
    rows = connection.execute("SELECT hit_id, with_hit_id FROM beat_marks")
    marks = [cells(row, _MARK, "a beat's mark", RESTORE) for row in rows]
    return {mark["hit_id"]: mark["with_hit_id"] for mark in marks}


def put_beat_mark(connection: sqlite3.Connection, hit_id: int, with_hit_id: int | None) -> None:
    """Put a hit into the beat of another, alone with its own number, or back where it was found."""
    if with_hit_id is None:
        connection.execute("DELETE FROM beat_marks WHERE hit_id = ?", (hit_id,))
        return
    connection.execute("INSERT OR REPLACE INTO beat_marks VALUES (?, ?)", (hit_id, with_hit_id))
