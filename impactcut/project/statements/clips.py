"""Statements about clips; every function works inside its caller's transaction."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Final

import msgspec
import numpy as np

from impactcut.core.arrays import FloatArray
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.project.rows.cells import built, written
from impactcut.project.rows.damage import MEASURE, RESTORE, intact
from impactcut.project.rows.records import Fingerprint, StoredClip
from impactcut.project.statements.said import WITH_SAID, said_cells
from impactcut.project.statements.writing import insert, update

Values = dict[str, str | int | None]

_SAID_OF_IT: Final = ("circled", "scale", "clock_stays", "original")
_MEASURED: Final = tuple(each.name for each in fields(Clip) if each.name not in _SAID_OF_IT)
_DESCRIPTION = ("name", "reel", "reel_source", "section", "take", "angle", "slate")

_IN_THE_WAY = """
SELECT id, rate IS NULL OR digest = (SELECT digest FROM clips WHERE id = :mover) AS dispensable
FROM clips WHERE path = :path
"""


@dataclass(frozen=True)
class Drop:
    """A clip that was taken out, or back in, as part of an act."""

    act: int
    clip_id: int
    dropped: bool


@dataclass(frozen=True)
class _Name:
    name: str
    clip_id: int


@dataclass(frozen=True)
class _Settings:
    """What of a measurement's settings this program reads again."""

    rate: str | None = None
    reel: str | None = None


def all_clips(connection: sqlite3.Connection) -> dict[int, StoredClip]:
    """Every clip by its number, in order of paths."""
    rows = connection.execute(f"{WITH_SAID} ORDER BY clips.path")
    return {row["id"]: _stored(row) for row in rows}


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
        **seen_cells(fingerprint),
        "measured": fingerprint.digest,
        "settings": settings,
        "error": "",
        "remedy": "",
        "tries": 0,
        **{name: getattr(clip, name) for name in _MEASURED},
        "rate": str(clip.rate),
        "pixel_aspect": str(clip.pixel_aspect),
        "warnings": written(clip.warnings),
    }
    update(connection, "clips", clip_id, **values)
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
    update(
        connection,
        "clips",
        _row_for(connection, path, settings),
        state="failed",
        **seen_cells(fingerprint),
        settings=settings,
        error=error,
        remedy=remedy,
        tries=tries,
    )


def set_fingerprint(connection: sqlite3.Connection, clip_id: int, fingerprint: Fingerprint) -> None:
    """Write that an unchanged file carries another time of change."""
    update(connection, "clips", clip_id, **seen_cells(fingerprint))


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
        update(connection, "clips", clip_id, path=f"moving {clip_id}")
    for clip_id, path in moves.items():
        update(connection, "clips", clip_id, path=path)


def forget(connection: sqlite3.Connection, clip_ids: Iterable[int]) -> None:
    """Remove clips and what was measured of them; fails if something was decided on one."""
    for clip_id in clip_ids:
        connection.execute("DELETE FROM clips WHERE id = ?", (clip_id,))


def set_description(
    connection: sqlite3.Connection, clip_id: int, clip: Clip, settings: str
) -> None:
    """Write another name, reel and shot of a clip, under settings that measure the same."""
    values: Values = {name: getattr(clip, name) for name in _DESCRIPTION}
    update(connection, "clips", clip_id, settings=settings, **values)


def names_ever(connection: sqlite3.Connection) -> dict[str, int]:
    """Every name that a clip has or had, in lower case, with the clip's number."""
    rows = connection.execute("SELECT name, clip_id FROM clip_names")
    named = [built(_Name, row, "a clip's name", RESTORE) for row in rows]
    return {each.name.lower(): each.clip_id for each in named}


def put_names(connection: sqlite3.Connection, names: Mapping[int, str]) -> None:
    """Write what clips are called from now on, by number; what they were called stays theirs."""
    for clip_id, name in names.items():
        update(connection, "clips", clip_id, called=name)
        insert(connection, "clip_names", "OR IGNORE", name=name, clip_id=clip_id)


def drop(connection: sqlite3.Connection, act: int, clip_ids: Iterable[int], out: bool) -> None:
    """Write, as part of an act, that clips are taken out, or back in."""
    for clip_id in clip_ids:
        insert(connection, "drops", act=act, clip_id=clip_id, dropped=out)
        update(connection, "clips", clip_id, dropped=int(out))


def take_back_drops(connection: sqlite3.Connection, act: int) -> None:
    """Take back in what an act took out, and the other way round."""
    connection.execute(
        "UPDATE clips SET dropped = NOT dropped "
        "WHERE id IN (SELECT clip_id FROM drops WHERE act = ?)",
        (act,),
    )


def drops_of(connection: sqlite3.Connection) -> tuple[Drop, ...]:
    """Every clip that was taken out or back in, oldest first."""
    rows = connection.execute("SELECT * FROM drops ORDER BY id")
    return tuple(built(Drop, row, f"drop {row['id']}", RESTORE) for row in rows)


def put_brightness(connection: sqlite3.Connection, clip_id: int, brightness: FloatArray) -> None:
    """Write how the brightness of a clip runs: little-endian float32."""
    data = brightness.astype("<f4").tobytes()
    insert(connection, "brightness", "OR REPLACE", clip_id=clip_id, data=data)


def brightness_of(connection: sqlite3.Connection, clip_id: int) -> FloatArray | None:
    """How the brightness of a clip runs, where that is known."""
    row = connection.execute("SELECT data FROM brightness WHERE clip_id = ?", (clip_id,)).fetchone()
    if row is None:
        return None
    with intact(f"the brightness of clip {clip_id}", MEASURE):
        return np.frombuffer(row["data"], "<f4").astype(np.float32)


def seen_cells(found: Fingerprint | None) -> Values:
    """The cells that hold a fingerprint."""
    if found is None:
        return {"size": None, "mtime_ns": None, "digest": None}
    return {"size": found.size, "mtime_ns": found.mtime_ns, "digest": found.digest}


def _row_for(connection: sqlite3.Connection, path: str, settings: str) -> int:
    insert(connection, "clips", "OR IGNORE", path=path, state="failed", settings=settings)
    row = connection.execute("SELECT id FROM clips WHERE path = ?", (path,)).fetchone()
    return int(row["id"])


def _stored(row: sqlite3.Row) -> StoredClip:
    where, cells = f"clip {row['id']}", dict(row)
    measured = cells["state"] == "done" or cells["rate"] is not None
    seen = cells["state"] == "done" or cells["digest"] is not None
    with intact(where, RESTORE):
        _check_settings(cells["settings"])
        own = {name: cells[name] for name in _MEASURED}
        own["warnings"] = msgspec.json.decode(cells["warnings"]) if measured else None
    parts = {
        "fingerprint": cells if seen else None,
        "own": own if measured else None,
        "said": said_cells(cells),
    }
    stored = built(StoredClip, {**cells, **parts}, where, RESTORE, ("original",))
    if stored.own is not None:
        with intact(where, RESTORE):
            if min(stored.own.frames, stored.own.width, stored.own.height) < 1:
                raise ValueError("it has no picture")
            Timebase(stored.own.rate, stored.own.drop_frame)
    return stored


@cache
def _check_settings(text: str) -> None:
    msgspec.json.decode(text, type=_Settings)
