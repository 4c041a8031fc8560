"""Statements about clips; every function works inside its caller's transaction."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from typing import Any, Final, get_args

import numpy as np

from impactcut.core.arrays import FloatArray
from impactcut.core.takes.clip import Clip, ReelSource, TimecodeSource
from impactcut.core.takes.same_take import standing_for
from impactcut.core.takes.shot_log import with_said
from impactcut.core.time.timebase import Timebase
from impactcut.project.rows.damage import MEASURE, RESTORE, Kind, built, cells, intact
from impactcut.project.rows.kinds import (
    count,
    flag,
    json_of,
    list_of,
    one_of,
    optional,
    positive,
    ratio,
    settings,
    text,
    whole,
)
from impactcut.project.rows.records import ClipState, Fingerprint, StoredClip
from impactcut.project.statements.said import WITH_SAID, said_in
from impactcut.project.statements.same_takes import ORIGINAL

Values = dict[str, str | int | None]

_CLIP: Final[dict[str, Kind]] = {
    "name": text, "reel": text, "reel_source": one_of(*get_args(ReelSource)), "rate": ratio,
    "drop_frame": flag, "frames": positive, "source_start": whole,
    "timecode_source": one_of(*get_args(TimecodeSource)), "width": positive, "height": positive,
    "rotation": whole, "pixel_aspect": ratio, "variable_rate": flag, "has_sound": flag,
    "section": text, "take": text, "angle": text, "slate": text, "clock": flag,
    "warnings": json_of(list_of(text)),
}  # fmt: skip
_STORED: Final[dict[str, Kind]] = {
    "id": whole, "path": text, "state": one_of(*get_args(ClipState)), "settings": settings,
    "error": text, "remedy": text, "tries": count, "measured": text, "called": text,
    "dropped": flag,
}  # fmt: skip
_NAME: Final[dict[str, Kind]] = {"name": text, "clip_id": whole}
_DROP: Final[dict[str, Kind]] = {"act": whole, "clip_id": whole, "dropped": flag}
_FINGERPRINT: Final[dict[str, Kind]] = {"size": count, "mtime_ns": whole, "digest": text}
_DESCRIPTION = ("name", "reel", "reel_source", "section", "take", "angle", "slate")

_IN_THE_WAY = """
SELECT id, rate IS NULL OR digest = (SELECT digest FROM clips WHERE id = :mover) AS dispensable
FROM clips WHERE path = :path
"""


def all_clips(connection: sqlite3.Connection) -> tuple[StoredClip, ...]:
    """Every clip, by path."""
    rows = connection.execute(f"{WITH_SAID} ORDER BY clips.path")
    return tuple(_stored(row) for row in rows)


def clip_at(connection: sqlite3.Connection, path: str) -> StoredClip | None:
    """The clip of that path."""
    row = connection.execute(f"{WITH_SAID} WHERE clips.path = ?", (path,)).fetchone()
    return None if row is None else _stored(row)


def spoken_of(connection: sqlite3.Connection) -> frozenset[int]:
    """The numbers of clips of which something was said or decided, that a file is theirs, too."""
    rows = connection.execute(
        "SELECT clip_id FROM decisions UNION SELECT clip_id FROM said_of_clips UNION "
        "SELECT clip_id FROM hits JOIN beat_marks ON hits.id IN (hit_id, with_hit_id) UNION "
        "SELECT clip_id FROM marks UNION SELECT clip_id FROM drops UNION "
        "SELECT clip_id FROM same_takes WHERE clip_id IS NOT NULL"
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
        **{name: getattr(clip, name) for name in _CLIP},
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


def names_ever(connection: sqlite3.Connection) -> dict[str, int]:
    """Every name that a clip has or had, in lower case, with the clip's number."""
    rows = connection.execute("SELECT name, clip_id FROM clip_names")
    named = [cells(row, _NAME, "a clip's name", RESTORE) for row in rows]
    return {each["name"].lower(): each["clip_id"] for each in named}


def put_names(connection: sqlite3.Connection, names: Mapping[int, str]) -> None:
    """Write what clips are called from now on, by number; what they were called stays theirs."""
    for clip_id, name in names.items():
        _update(connection, clip_id, {"called": name})
        connection.execute("INSERT OR IGNORE INTO clip_names VALUES (?, ?)", (name, clip_id))


def drop(connection: sqlite3.Connection, act: int, clip_ids: Iterable[int], out: bool) -> None:
    """Write, as part of an act, that clips are taken out, or back in."""
    for clip_id in clip_ids:
        connection.execute(
            "INSERT INTO drops (act, clip_id, dropped) VALUES (?, ?, ?)", (act, clip_id, out)
        )
        _update(connection, clip_id, {"dropped": int(out)})


def take_back_drops(connection: sqlite3.Connection, act: int) -> None:
    """Take back in what an act took out, and the other way round."""
    connection.execute(
        "UPDATE clips SET dropped = NOT dropped "
        "WHERE id IN (SELECT clip_id FROM drops WHERE act = ?)",
        (act,),
    )


def drops_of(connection: sqlite3.Connection) -> tuple[dict[str, Any], ...]:
    """Every clip that was taken out or back in, oldest first: act, clip_id, dropped."""
    rows = connection.execute("SELECT * FROM drops ORDER BY id")
    return tuple(cells(row, _DROP, f"drop {row['id']}", RESTORE) for row in rows)


def put_brightness(connection: sqlite3.Connection, clip_id: int, brightness: FloatArray) -> None:
    """Write how the brightness of a clip runs: little-endian float32."""
    data = brightness.astype("<f4").tobytes()
    connection.execute("INSERT OR REPLACE INTO brightness VALUES (?, ?)", (clip_id, data))


def brightness_of(connection: sqlite3.Connection, clip_id: int) -> FloatArray | None:
    """How the brightness of a clip runs, where that is known."""
    row = connection.execute("SELECT data FROM brightness WHERE clip_id = ?", (clip_id,)).fetchone()
    if row is None:
        return None
    with intact(f"the brightness of clip {clip_id}", MEASURE):
        return np.frombuffer(row["data"], "<f4").astype(np.float32)


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
    where = f"clip {row['id']}"
    known = cells(row, _STORED, where, RESTORE)
    fingerprint = clip = None
    if row["digest"] is not None or known["state"] == "done":
        fingerprint = built(Fingerprint, row, _FINGERPRINT, where, RESTORE)
    said = said_in(row, where)
    own = None
    if row["rate"] is not None or known["state"] == "done":
        own = _clip(row, where)
        shown = cells(row, {"original": optional(ORIGINAL)}, where, RESTORE)["original"]
        clip = with_said(own if shown is None else standing_for(own, shown), said)
    return StoredClip(**known, fingerprint=fingerprint, clip=clip, said=said, own=own)


def _clip(row: sqlite3.Row, where: str) -> Clip:
    return built(_counted, row, {"path": text, **_CLIP}, where, RESTORE)


def _counted(**values: Any) -> Clip:
    """A clip whose source timecode can be counted."""
    Timebase(values["rate"], values["drop_frame"])
    return Clip(**values)
