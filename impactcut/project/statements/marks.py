"""Statements about hits by hand; every function works inside its caller's transaction.

Marks are only ever added, each by an act. A mark says that a hit's contact is where a person put
it, and keeps what was measured of the hit before, so that taking it back is exact.
"""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import HitMotion
from impactcut.project.rows.arrays import pack_motion, unpack_motion
from impactcut.project.rows.damage import RESTORE, Kind, cells, intact
from impactcut.project.rows.kinds import optional, text, whole
from impactcut.project.statements.hits import (
    hit_numbered,
    motion_of,
    put_back,
    put_by_hand,
    remove_hit,
)

_MARK: Final[dict[str, Kind]] = {
    "id": whole, "clip_id": whole, "hit_id": whole, "contact": whole,
    "before": optional(text), "before_by": text,
}  # fmt: skip

_STANDING = """
SELECT marks.* FROM marks JOIN hits ON hits.id = marks.hit_id
WHERE marks.clip_id = ? AND by_hand <> ''
    AND NOT EXISTS (SELECT 1 FROM acts AS later WHERE later.undoes = marks.act)
"""


@dataclass(frozen=True, eq=False)
class HandMark:
    """A hit whose contact a person says.

    Parameters
    ----------
    clip_id : int
    hit_id : int or None
        Of the hit whose contact it is; None for a new one.
    hit, motion : Hit, HitMotion
        As measured there.
    """

    clip_id: int
    hit_id: int | None
    hit: Hit
    motion: HitMotion


def put_mark(connection: sqlite3.Connection, act: int, mark: HandMark, who: str) -> int:
    """Write a hit as somebody marks it, as part of an act; its number."""
    known = None if mark.hit_id is None else hit_numbered(connection, mark.hit_id)
    motion = None if known is None else motion_of(connection, known.id)
    hit_id = put_by_hand(connection, mark.clip_id, mark.hit_id, mark.hit, mark.motion, who)
    connection.execute(
        "INSERT INTO marks (act, clip_id, hit_id, contact, before, before_by, before_motion) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)",
        (
            act,
            mark.clip_id,
            hit_id,
            int(mark.hit.contact),
            None if known is None else json.dumps(asdict(known.hit)),
            "" if known is None else known.by_hand,
            None if motion is None else pack_motion(motion),
        ),
    )
    return hit_id


def take_back_marks(connection: sqlite3.Connection, act: int) -> None:
    """Put hits back to what they were before all that an act marked; new ones go."""
    rows = connection.execute("SELECT * FROM marks WHERE act = ? ORDER BY id DESC", (act,))
    for row in rows.fetchall():
        where = f"mark {row['id']}"
        mark = cells(row, _MARK, where, RESTORE)
        if mark["before"] is None:
            remove_hit(connection, mark["clip_id"], mark["hit_id"])
            continue
        with intact(where, RESTORE):
            known = json.loads(mark["before"])
            hit = Hit(**{**known, "region": tuple(known["region"])})
            motion = unpack_motion(row["before_motion"])
        put_back(connection, mark["clip_id"], mark["hit_id"], hit, motion, mark["before_by"])


def left_places(connection: sqlite3.Connection, clip_id: int) -> Mapping[int, tuple[int, ...]]:
    """Contact frames from which people moved the hits of a clip, by hit: no hit is found there."""
    left: defaultdict[int, list[int]] = defaultdict(list)
    for row in connection.execute(_STANDING, (clip_id,)):
        mark = cells(row, _MARK, f"mark {row['id']}", RESTORE)
        if mark["before"] is not None:
            with intact(f"mark {row['id']}", RESTORE):
                left[mark["hit_id"]].append(int(json.loads(mark["before"])["contact"]))
    return {hit_id: tuple(contacts) for hit_id, contacts in left.items()}


def marks_of(connection: sqlite3.Connection) -> tuple[dict[str, Any], ...]:
    """Every mark, oldest first: act, clip_id, hit_id, contact, and the contact before or None."""
    found = []
    for row in connection.execute("SELECT * FROM marks ORDER BY id"):
        mark = cells(row, {**_MARK, "act": whole}, f"mark {row['id']}", RESTORE)
        with intact(f"mark {row['id']}", RESTORE):
            before = None if mark["before"] is None else json.loads(mark["before"])["contact"]
        found.append({**mark, "before": before})
    return tuple(found)
