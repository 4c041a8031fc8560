"""Statements about hits; every function works inside its caller's transaction."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Sequence

from impactcut.core.hits import Hit
from impactcut.core.matching import nearest_pairs
from impactcut.core.motion import HitMotion
from impactcut.project.arrays import pack_motion, unpack_motion
from impactcut.project.proposals import drop_proposals
from impactcut.project.records import StoredHit

SAME_HIT_FRAMES = 3

_COLUMNS = (
    "onset", "peak", "contact", "contact_exact", "settle", "reaction", "confidence",
    "peak_speed", "region_left", "region_top", "region_width", "region_height", "camera",
)  # fmt: skip


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
        "SELECT peak_speed FROM hits JOIN clips ON clips.id = hits.clip_id "
        "WHERE confidence >= ? AND state = 'done'",
        (confidence,),
    )
    return tuple(row["peak_speed"] for row in rows)


def put_hits(
    connection: sqlite3.Connection, clip_id: int, found: Sequence[tuple[Hit, HitMotion]]
) -> None:
    """Write the hits of a clip over those it had.

    A hit within `SAME_HIT_FRAMES` of one that was there keeps its number; the others go, and so
    does everything proposed for the clip.
    """
    old = hits_of(connection, clip_id)
    contacts = [stored.hit.contact for stored in old]
    pairs = nearest_pairs(contacts, [hit.contact for hit, _ in found], SAME_HIT_FRAMES)
    kept = {new: old[index].id for index, new in pairs.items()}
    drop_proposals(connection, clip_id)
    for index, stored in enumerate(old):
        if index not in pairs:
            connection.execute("DELETE FROM hits WHERE id = ?", (stored.id,))
    for index, (hit, motion) in enumerate(found):
        hit_id = _put_hit(connection, clip_id, hit, kept.get(index))
        connection.execute("INSERT OR REPLACE INTO hit_motions VALUES (?, ?)",
                           (hit_id, pack_motion(motion)))  # fmt: skip


def motion_of(connection: sqlite3.Connection, hit_id: int) -> HitMotion | None:
    """What moves around a hit."""
    row = connection.execute("SELECT data FROM hit_motions WHERE hit_id = ?", (hit_id,)).fetchone()
    return None if row is None else unpack_motion(row["data"])


def _put_hit(connection: sqlite3.Connection, clip_id: int, hit: Hit, hit_id: int | None) -> int:
    reaction = None if hit.reaction is None else int(hit.reaction)
    values = (
        int(hit.onset), int(hit.peak), int(hit.contact), float(hit.contact_exact), int(hit.settle),
        reaction, float(hit.confidence), float(hit.peak_speed), *map(float, hit.region), hit.camera,
    )  # fmt: skip
    if hit_id is None:
        marks = ", ".join("?" * (len(_COLUMNS) + 1))
        cursor = connection.execute(
            f"INSERT INTO hits (clip_id, {', '.join(_COLUMNS)}) VALUES ({marks})",
            (clip_id, *values),
        )
        assert cursor.lastrowid is not None
        return cursor.lastrowid
    columns = ", ".join(f"{name} = ?" for name in _COLUMNS)
    connection.execute(f"UPDATE hits SET {columns} WHERE id = ?", (*values, hit_id))
    return hit_id


def _stored(row: sqlite3.Row) -> StoredHit:
    hit = Hit(
        onset=row["onset"],
        peak=row["peak"],
        contact=row["contact"],
        contact_exact=row["contact_exact"],
        settle=row["settle"],
        reaction=row["reaction"],
        confidence=row["confidence"],
        peak_speed=row["peak_speed"],
        region=(row["region_left"], row["region_top"], row["region_width"], row["region_height"]),
        camera=row["camera"],
    )
    return StoredHit(row["id"], row["clip_id"], hit)
