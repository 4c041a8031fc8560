"""Statements about what people say of clips and hits; each works inside its caller's transaction.

They stand apart from what is measured, and measuring again takes none of it away.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from impactcut.core.takes.shot_log import ShotSaid
from impactcut.core.takes.shot_names import ShotName, parse_pattern
from impactcut.project.rows.cells import built
from impactcut.project.rows.damage import RESTORE, intact
from impactcut.project.statements.proposals import drop_proposals
from impactcut.project.statements.writing import insert, update

WITH_SAID = """
SELECT clips.*, said.section AS said_section, said.take AS said_take, said.angle AS said_angle,
    said.slate AS said_slate, said.circled, said.metres, said.metres_error,
    said.clock AS said_clock, said.reel AS said_reel, said.start AS said_start,
    said.rate AS said_rate, original
FROM clips LEFT JOIN said_of_clips AS said ON said.clip_id = clips.id
LEFT JOIN same_takes_now AS same ON same.clip_id = clips.id AND listed
"""
"""Clips with what is said of them, for `said_cells`, and the originals that they stand for."""
_FIELDS: Final = ("section", "take", "angle", "slate", "clock", "reel", "start", "rate")

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


@dataclass(frozen=True)
class _Pattern:
    pattern: str


@dataclass(frozen=True)
class _BeatMark:
    hit_id: int
    with_hit_id: int


def said_cells(cells: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of what is said of the clip in a row of `WITH_SAID`."""
    metres, error = cells["metres"], cells["metres_error"]
    scale = None if metres is None and error is None else {"metres": metres, "error": error}
    said = {name: cells[f"said_{name}"] for name in _FIELDS}
    return {**said, "circled": cells["circled"], "scale": scale}


def say_of_clips(connection: sqlite3.Connection, heard: Mapping[int, ShotSaid]) -> None:
    """Keep what people say of clips, by their numbers; what is left open stays as it was."""
    for clip_id, said in heard.items():
        scale = said.scale
        width = (None, None) if scale is None else (scale.metres, scale.error)
        values = {**vars(said), "clip": clip_id, "metres": width[0], "metres_error": width[1]}
        connection.execute(_SAY, {name: value for name, value in values.items() if name != "scale"})


def mark_clocks(
    connection: sqlite3.Connection, clip_ids: Iterable[int], clock: bool | None
) -> None:
    """Keep whether a clock is in the pictures of clips, by their numbers; None takes it back.

    What was proposed for them goes.
    """
    for clip_id in clip_ids:
        connection.execute(
            "INSERT INTO said_of_clips (clip_id, clock) VALUES (?, ?) "
            "ON CONFLICT (clip_id) DO UPDATE SET clock = excluded.clock",
            (clip_id, clock),
        )
        drop_proposals(connection, clip_id)


def pattern_of(connection: sqlite3.Connection) -> str | None:
    """The pattern by which names are read, where one was chosen: the last."""
    row = connection.execute(
        "SELECT pattern FROM name_patterns ORDER BY id DESC LIMIT 1"
    ).fetchone()
    if row is None:
        return None
    with intact("the pattern of names", RESTORE):
        return parse_pattern(built(_Pattern, row, "the pattern of names", RESTORE).pattern).text


def put_pattern(
    connection: sqlite3.Connection, pattern: str, names: Mapping[int, ShotName]
) -> None:
    """Keep a pattern, and what it reads of each clip by number."""
    insert(connection, "name_patterns", pattern=pattern)
    for clip_id, name in names.items():
        update(connection, "clips", clip_id, **vars(name))


def beat_marks(connection: sqlite3.Connection) -> dict[int, int]:
    """Hits that somebody put into a beat, each with a hit of that beat; itself for one alone."""
    rows = connection.execute("SELECT hit_id, with_hit_id FROM beat_marks")
    marks = [built(_BeatMark, row, "a beat's mark", RESTORE) for row in rows]
    return {mark.hit_id: mark.with_hit_id for mark in marks}


def put_beat_mark(connection: sqlite3.Connection, hit_id: int, with_hit_id: int | None) -> None:
    """Put a hit into the beat of another, alone with its own number, or back where it was found."""
    if with_hit_id is None:
        connection.execute("DELETE FROM beat_marks WHERE hit_id = ?", (hit_id,))
        return
    insert(connection, "beat_marks", "OR REPLACE", hit_id=hit_id, with_hit_id=with_hit_id)
