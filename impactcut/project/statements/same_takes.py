"""Statements about files that hold the same take as a clip that is measured: originals, proxies.

Each works inside its caller's transaction. What is known of a file is only ever added to: the
latest line counts that was not taken back.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace
from typing import Any

from impactcut.core.takes.same_take import Original
from impactcut.project.rows.cells import built, written
from impactcut.project.rows.damage import RESTORE
from impactcut.project.rows.records import Fingerprint
from impactcut.project.statements.clips import seen_cells
from impactcut.project.statements.writing import insert


@dataclass(frozen=True)
class SameTake:
    """A file that is not measured, because a clip is that holds the same take.

    Parameters
    ----------
    path : str
        Absolute.
    clip_id : int or None
        The clip; None for a file of which somebody said that it is a take of its own.
    listed : bool
        Whether lists name this file, which is the original, in place of the one measured.
    original : Original or None
        What lists say of it; None unless they do.
    act : int or None
        By which somebody said so; None where a scan saw it.
    """

    path: str
    clip_id: int | None
    listed: bool
    fingerprint: Fingerprint | None = None
    original: Original | None = None
    act: int | None = None


def all_same_takes(connection: sqlite3.Connection) -> tuple[SameTake, ...]:
    """Every such file as it is known now, by path."""
    return _read(connection, "SELECT * FROM same_takes_now ORDER BY path")


def said_same_takes(connection: sqlite3.Connection) -> tuple[SameTake, ...]:
    """Everything that somebody ever said of such files, oldest first."""
    return _read(connection, "SELECT * FROM same_takes WHERE act IS NOT NULL ORDER BY id")


def put_same_take(connection: sqlite3.Connection, take: SameTake) -> None:
    """Write what a file is; a clip has one original, so another one of it is that no more."""
    if take.listed:
        for other in all_same_takes(connection):
            if other.clip_id == take.clip_id and other.listed and other.path != take.path:
                no_more = replace(other, listed=False, original=None, act=take.act)
                put_same_take(connection, no_more)
    insert(
        connection,
        "same_takes",
        path=take.path,
        clip_id=take.clip_id,
        listed=take.listed,
        act=take.act,
        original=None if take.original is None else written(take.original),
        **seen_cells(take.fingerprint),
    )


def measure_itself(connection: sqlite3.Connection, path: str) -> None:
    """Write that a file is measured itself, if it stood for a clip before."""
    if any(take.path == path and take.clip_id for take in all_same_takes(connection)):
        put_same_take(connection, SameTake(path, None, False))


def _read(connection: sqlite3.Connection, query: str) -> tuple[SameTake, ...]:
    return tuple(
        built(SameTake, _cells(row), f"what is said of {row['path']}", RESTORE, ("original",))
        for row in connection.execute(query)
    )


def _cells(row: sqlite3.Row) -> dict[str, Any]:
    seen = {name: row[name] for name in ("size", "mtime_ns", "digest")}
    return {**dict(row), "fingerprint": None if row["digest"] is None else seen}
