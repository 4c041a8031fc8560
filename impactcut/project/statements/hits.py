"""Statements about hits; every function works inside its caller's transaction."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Sequence
from typing import Any, Final, get_args

from impactcut.core.detect.hits import CameraWord, Hit
from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.matching import nearest_pairs
from impactcut.project.rows.arrays import pack_motion, unpack_motion
from impactcut.project.rows.damage import MEASURE, Kind, built, cells, intact
from impactcut.project.rows.kinds import number, one_of, optional, whole
from impactcut.project.rows.records import StoredHit
from impactcut.project.statements.proposals import drop_proposals

SAME_HIT_FRAMES = 3
"""A contact that moves no further than this is the same hit, engineering choice: another model may
read it a frame or two off, and two hits lie four frames apart (`impactcut.core.find`)."""

_REGION = ("region_left", "region_top", "region_width", "region_height")
_HIT: Final[dict[str, Kind]] = {
    "onset": whole, "peak": whole, "contact": whole, "contact_exact": number, "settle": whole,
    "reaction": optional(whole), "confidence": number, "peak_speed": number,
    **dict.fromkeys(_REGION, number),
    "camera": one_of(*get_args(CameraWord)),
}  # fmt: skip
_OF_CLIP: Final[dict[str, Kind]] = {"id": whole, "clip_id": whole}
_SPEED: Final[dict[str, Kind]] = {"peak_speed": number}


def hits_of(connection: sqlite3.Connection, clip_id: int) -> tuple[StoredHit, ...]:
    """The hits of a clip by contact frame, without their decisions."""
    rows = connection.execute("SELECT * FROM hits WHERE clip_id = ? ORDER BY contact, id",
                              (clip_id,))  # fmt: skip
    return tuple(_stored(row) for row in rows)


def hits_of_all(connection: sqlite3.Connection) -> dict[int, list[StoredHit]]:
    """The hits of every clip by its number, by contact frame, without their decisions."""
    found: defaultdict[int, list[StoredHit]] = defaultdict(list)
    for row in connection.execute("SELECT * FROM hits ORDER BY clip_id, contact, id"):
        found[row["clip_id"]].append(_stored(row))
    return found


def hit_numbered(connection: sqlite3.Connection, hit_id: int) -> StoredHit | None:
    """The hit of that number, without its decision."""
    row = connection.execute("SELECT * FROM hits WHERE id = ?", (hit_id,)).fetchone()
    return None if row is None else _stored(row)


def speeds_of_all(connection: sqlite3.Connection, confidence: float) -> tuple[float, ...]:
    """Peak speeds of the hits of measured clips, from a confidence on; picture widths/s."""
    rows = connection.execute(
        "SELECT hits.id, peak_speed FROM hits JOIN clips ON clips.id = hits.clip_id "
        "WHERE confidence >= ? AND state = 'done'",
        (confidence,),
    )
    return tuple(cells(row, _SPEED, _where(row), MEASURE)["peak_speed"] for row in rows)


def put_hits(
    connection: sqlite3.Connection, clip_id: int, found: Sequence[tuple[Hit, HitMotion]]
) -> None:
    """Write the hits of a clip over those it had.

    A hit within `SAME_HIT_FRAMES` of one that was there keeps its number; the others go, and so
    does everything proposed for the clip.
    """
    old = _contacts(connection, clip_id)
    numbers = list(old)
    pairs = nearest_pairs(list(old.values()), [hit.contact for hit, _ in found], SAME_HIT_FRAMES)
    kept = {new: numbers[index] for index, new in pairs.items()}
    staying = set(kept.values())
    drop_proposals(connection, clip_id)
    for row in connection.execute("SELECT id FROM hits WHERE clip_id = ?", (clip_id,)).fetchall():
        if row["id"] not in staying:
            connection.execute("DELETE FROM hits WHERE id = ?", (row["id"],))
    for index, (hit, motion) in enumerate(found):
        hit_id = _put_hit(connection, clip_id, hit, kept.get(index))
        connection.execute("INSERT OR REPLACE INTO hit_motions VALUES (?, ?)",
                           (hit_id, pack_motion(motion)))  # fmt: skip


def motion_of(connection: sqlite3.Connection, hit_id: int) -> HitMotion | None:
    """What moves around a hit."""
    row = connection.execute("SELECT data FROM hit_motions WHERE hit_id = ?", (hit_id,)).fetchone()
    with intact(f"the movement around hit {hit_id}", MEASURE):
        return None if row is None else unpack_motion(row["data"])


def _contacts(connection: sqlite3.Connection, clip_id: int) -> dict[int, int]:
    """Contact frames by hit number; no more is read, so that measuring again mends damage."""
    rows = connection.execute(
        "SELECT id, contact FROM hits WHERE clip_id = ? AND typeof(contact) = 'integer' "
        "ORDER BY contact, id",
        (clip_id,),
    )
    return {row["id"]: row["contact"] for row in rows}


def _put_hit(connection: sqlite3.Connection, clip_id: int, hit: Hit, hit_id: int | None) -> int:
    reaction = None if hit.reaction is None else int(hit.reaction)
    values = (
        int(hit.onset), int(hit.peak), int(hit.contact), float(hit.contact_exact), int(hit.settle),
        reaction, float(hit.confidence), float(hit.peak_speed), *map(float, hit.region), hit.camera,
    )  # fmt: skip
    if hit_id is None:
        marks = ", ".join("?" * (len(_HIT) + 1))
        cursor = connection.execute(
            f"INSERT INTO hits (clip_id, {', '.join(_HIT)}) VALUES ({marks})",
            (clip_id, *values),
        )
        assert cursor.lastrowid is not None
        return cursor.lastrowid
    columns = ", ".join(f"{name} = ?" for name in _HIT)
    connection.execute(f"UPDATE hits SET {columns} WHERE id = ?", (*values, hit_id))
    return hit_id


def _stored(row: sqlite3.Row) -> StoredHit:
    hit = built(_hit, row, _HIT, _where(row), MEASURE)
    known = cells(row, _OF_CLIP, _where(row), MEASURE)
    return StoredHit(**known, hit=hit)


def _hit(**values: Any) -> Hit:
    left, top, width, height = (values.pop(name) for name in _REGION)
    return Hit(region=(left, top, width, height), **values)


def _where(row: sqlite3.Row) -> str:
    return f"hit {row['id']}"
