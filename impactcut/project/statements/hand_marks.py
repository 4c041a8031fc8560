"""Statements about hits by hand; every function works inside its caller's transaction.

Marks are only ever added, each by an act. A mark says that a hit's contact is where a person put
it, and keeps what was measured of the hit before, so that taking it back is exact.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass

from impactcut.core.detect.hits import FoundHit, Hit
from impactcut.core.grouping import grouped
from impactcut.project.rows.arrays import pack_motion, unpack_motion
from impactcut.project.rows.cells import built, written
from impactcut.project.rows.damage import RESTORE, intact
from impactcut.project.statements.hits import (
    SAME_HIT_FRAMES,
    hit_numbered,
    motion_of,
    put_by_hand,
    remove_hit,
)
from impactcut.project.statements.writing import insert

_STANDING = """
SELECT marks.* FROM marks JOIN hits ON hits.id = marks.hit_id
WHERE marks.clip_id = ? AND by_hand <> ''
    AND NOT EXISTS (SELECT 1 FROM acts AS later WHERE later.undoes = marks.act)
"""

_ALONE = """
SELECT count(*) > 0 AND NOT max(
    EXISTS (SELECT 1 FROM acts AS later WHERE later.undoes = mine.act)
    OR EXISTS (SELECT 1 FROM marks AS later
        WHERE later.hit_id = mine.hit_id AND later.act > mine.act)
    OR EXISTS (SELECT 1 FROM decisions AS later
        WHERE later.clip_id = mine.clip_id AND later.act > mine.act AND answer <> 'cleared'
            AND abs(later.contact - mine.contact) <= ?
            AND later.id IN (SELECT max(id) FROM decisions GROUP BY coalesce(thread, id)))
) FROM marks AS mine WHERE act = ?
"""


@dataclass(frozen=True, eq=False)
class HandMark:
    """A hit whose contact a person says.

    Parameters
    ----------
    hit_id : int or None
        Of the hit whose contact it is; None for a new one.
    found : FoundHit
        As measured there.
    """

    clip_id: int
    hit_id: int | None
    found: FoundHit


@dataclass(frozen=True)
class KeptMark:
    """A hit whose contact somebody said, as part of an act; ``before`` is what was known of it."""

    id: int
    act: int
    clip_id: int
    hit_id: int
    contact: int
    before: Hit | None
    before_by: str


def put_mark(connection: sqlite3.Connection, act: int, mark: HandMark, who: str) -> int:
    """Write a hit as somebody marks it, as part of an act; its number."""
    known = None if mark.hit_id is None else hit_numbered(connection, mark.hit_id)
    motion = None if known is None else motion_of(connection, known.id)
    hit_id = put_by_hand(connection, mark.clip_id, mark.hit_id, mark.found, who)
    insert(
        connection,
        "marks",
        act=act,
        clip_id=mark.clip_id,
        hit_id=hit_id,
        contact=int(mark.found.hit.contact),
        before=None if known is None else written(known.impact),
        before_by="" if known is None else known.by_hand,
        before_motion=None if motion is None else pack_motion(motion),
    )
    return hit_id


def stands_alone(connection: sqlite3.Connection, act: int) -> bool:
    """Whether an act marked hits, stands, and nothing that was said of those hits since does."""
    (alone,) = connection.execute(_ALONE, (SAME_HIT_FRAMES, act)).fetchone()
    return bool(alone)


def take_back_marks(connection: sqlite3.Connection, act: int) -> None:
    """Put hits back to what they were before all that an act marked; new ones go."""
    rows = connection.execute("SELECT * FROM marks WHERE act = ? ORDER BY id DESC", (act,))
    for row in rows.fetchall():
        mark = _mark(row)
        if mark.before is None:
            remove_hit(connection, mark.clip_id, mark.hit_id)
            continue
        with intact(f"mark {mark.id}", RESTORE):
            found = FoundHit(mark.before, unpack_motion(row["before_motion"]))
        put_by_hand(connection, mark.clip_id, mark.hit_id, found, mark.before_by)


def left_places(connection: sqlite3.Connection, clip_id: int) -> Mapping[int, tuple[int, ...]]:
    """Contact frames from which people moved the hits of a clip, by hit: no hit is found there."""
    marks = map(_mark, connection.execute(_STANDING, (clip_id,)))
    left = grouped((mark.hit_id, mark.before.contact) for mark in marks if mark.before is not None)
    return {hit_id: tuple(contacts) for hit_id, contacts in left.items()}


def marks_of(connection: sqlite3.Connection) -> tuple[KeptMark, ...]:
    """Every mark by hand, oldest first."""
    return tuple(map(_mark, connection.execute("SELECT * FROM marks ORDER BY id")))


def _mark(row: sqlite3.Row) -> KeptMark:
    return built(KeptMark, row, f"mark {row['id']}", RESTORE, ("before",))
