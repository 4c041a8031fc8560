"""Statements about clips; every function works inside its caller's transaction."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache

from impactcut.core.clip import Clip
from impactcut.core.motion import MotionTrack
from impactcut.core.shot_log import with_said
from impactcut.project.arrays import pack_track, unpack_track
from impactcut.project.damage import as_kept
from impactcut.project.records import Fingerprint, StoredClip
from impactcut.project.said import WITH_SAID, said_in

Values = dict[str, str | int | None]

_CLIP_FIELDS = (
    "name", "reel", "reel_source", "rate", "drop_frame", "frames", "source_start",
    "timecode_source", "width", "height", "rotation", "pixel_aspect", "variable_rate",
    "has_sound", "section", "take", "angle", "slate", "clock", "warnings",
)  # fmt: skip
_DESCRIPTION = ("name", "reel", "reel_source", "section", "take", "angle", "slate")

_IN_THE_WAY = """
SELECT id, rate IS NULL OR digest = (SELECT digest FROM clips WHERE id = :mover) AS dispensable
FROM clips WHERE path = :path
"""


def all_clips(connection: sqlite3.Connection) -> tuple[StoredClip, ...]:
    """Every clip, by path."""
    rows = connection.execute(f"{WITH_SAID} ORDER BY path")
    return tuple(_stored(row) for row in rows)


def clip_at(connection: sqlite3.Connection, path: str) -> StoredClip | None:
    """The clip of that path."""
    row = connection.execute(f"{WITH_SAID} WHERE path = ?", (path,)).fetchone()
    return None if row is None else _stored(row)


def spoken_of(connection: sqlite3.Connection) -> frozenset[int]:
    """The numbers of clips of which people have said or decided something."""
    rows = connection.execute(
        "SELECT clip_id FROM decisions UNION SELECT clip_id FROM said_of_clips UNION "
        "SELECT clip_id FROM hits JOIN beat_marks ON hits.id IN (hit_id, with_hit_id)"
    )
    return frozenset(row["clip_id"] for row in rows)


def put_measured(
    connection: sqlite3.Connection, clip: Clip, fingerprint: Fingerprint, settings: str
) -> int:
    """Write a measured clip over whatever was known of its path; its number."""
    clip_id = _row_for(connection, clip.path, settings)
    values: Values = {
        "state": "done",
        **_seen(fingerprint),
        "measured": fingerprint.digest,
        "settings": settings,
        "error": "",
        "remedy": "",
        "tries": 0,
        **{name: getattr(clip, name) for name in _CLIP_FIELDS},
        "rate": str(clip.rate),
        "pixel_aspect": str(clip.pixel_aspect),
        "warnings": json.dumps(clip.warnings),
    }
    _update(connection, clip_id, values)
    return clip_id


def put_failed(
    connection: sqlite3.Connection,
    path: str,
    fingerprint: Fingerprint | None,
    settings: str,
    error: str,
    remedy: str,
) -> None:
    """Write that a file could not be measured; what was measured of it before stays."""
    before = clip_at(connection, path)
    same = before is not None and before.fingerprint == fingerprint
    tries = before.tries + 1 if before is not None and same else 1
    values: Values = {
        "state": "failed",
        **_seen(fingerprint),
        "settings": settings,
        "error": error,
        "remedy": remedy,
        "tries": tries,
    }
    _update(connection, _row_for(connection, path, settings), values)


def set_fingerprint(connection: sqlite3.Connection, clip_id: int, found: Fingerprint) -> None:
    """Write that an unchanged file carries another time of change."""
    _update(connection, clip_id, _seen(found))


def move(connection: sqlite3.Connection, moves: Mapping[int, str]) -> None:
    """Write that files were moved, unless a clip that has to stay is in the way of one."""
    said = spoken_of(connection)
    in_the_way: list[int] = []
    for clip_id, path in moves.items():
        row = connection.execute(_IN_THE_WAY, {"path": path, "mover": clip_id}).fetchone()
        if row is None or row["id"] in moves:
            continue
        if row["id"] in said or not row["dispensable"]:
            return
        in_the_way.append(row["id"])
    forget(connection, in_the_way)
    for clip_id in moves:
        _update(connection, clip_id, {"path": f"moving {clip_id}"})
    for clip_id, path in moves.items():
        _update(connection, clip_id, {"path": path})


def forget(connection: sqlite3.Connection, clip_ids: Iterable[int]) -> None:
    """Remove clips and what was measured of them; fails if something was decided on one."""
    for clip_id in clip_ids:
        connection.execute("DELETE FROM clips WHERE id = ?", (clip_id,))


def set_description(
    connection: sqlite3.Connection, clip_id: int, clip: Clip, settings: str
) -> None:
    """Write another name, reel and shot of a clip, under settings that measure the same."""
    values: Values = {name: getattr(clip, name) for name in _DESCRIPTION}
    _update(connection, clip_id, {"settings": settings, **values})


def put_track(connection: sqlite3.Connection, clip_id: int, track: MotionTrack) -> None:
    """Write the motion of a clip."""
    connection.execute("INSERT OR REPLACE INTO motion_tracks VALUES (?, ?)",
                       (clip_id, pack_track(track)))  # fmt: skip


def track_of(connection: sqlite3.Connection, clip_id: int) -> MotionTrack | None:
    """The motion of a clip, if it was measured."""
    row = connection.execute(
        "SELECT data FROM motion_tracks WHERE clip_id = ?", (clip_id,)
    ).fetchone()
    return None if row is None else unpack_track(row["data"])


def _seen(found: Fingerprint | None) -> Values:
    if found is None:
        return {"size": None, "mtime_ns": None, "digest": None}
    return {"size": found.size, "mtime_ns": found.mtime_ns, "digest": found.digest}


def _row_for(connection: sqlite3.Connection, path: str, settings: str) -> int:
    connection.execute(
        "INSERT OR IGNORE INTO clips (path, state, settings) VALUES (?, 'failed', ?)",
        (path, settings),
    )
    row = connection.execute("SELECT id FROM clips WHERE path = ?", (path,)).fetchone()
    return int(row["id"])


def _update(connection: sqlite3.Connection, clip_id: int, values: Values) -> None:
    columns = ", ".join(f"{name} = :{name}" for name in values)
    connection.execute(f"UPDATE clips SET {columns} WHERE id = :id", {**values, "id": clip_id})


def _stored(row: sqlite3.Row) -> StoredClip:
    fingerprint = None
    if row["digest"] is not None:
        fingerprint = Fingerprint(row["size"], row["mtime_ns"], row["digest"])
    said = said_in(row)
    return StoredClip(
        id=row["id"],
        path=row["path"],
        state=row["state"],
        fingerprint=fingerprint,
        settings=row["settings"],
        clip=None if row["rate"] is None else with_said(_clip(row), said),
        error=row["error"],
        remedy=row["remedy"],
        tries=row["tries"],
        measured=row["measured"],
        said=said,
    )


@cache
def _ratio(text: str) -> Fraction:
    ratio = Fraction(text)
    if ratio <= 0:
        raise ValueError(f"{text} is not above 0")
    return ratio


def _texts(kept: str) -> tuple[str, ...]:
    texts = json.loads(kept)
    if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
        raise TypeError("not a list of texts")
    return tuple(texts)


def _clip(row: sqlite3.Row) -> Clip:
    with as_kept(f"what is kept of the clip {row['path']}"):
        rate, pixel_aspect = _ratio(row["rate"]), _ratio(row["pixel_aspect"])
        warnings = _texts(row["warnings"])
    return Clip(
        path=row["path"],
        name=row["name"],
        reel=row["reel"],
        reel_source=row["reel_source"],
        rate=rate,
        drop_frame=bool(row["drop_frame"]),
        frames=row["frames"],
        source_start=row["source_start"],
        timecode_source=row["timecode_source"],
        width=row["width"],
        height=row["height"],
        rotation=row["rotation"],
        pixel_aspect=pixel_aspect,
        variable_rate=bool(row["variable_rate"]),
        has_sound=bool(row["has_sound"]),
        section=row["section"],
        take=row["take"],
        angle=row["angle"],
        slate=row["slate"],
        clock=bool(row["clock"]),
        warnings=warnings,
    )
