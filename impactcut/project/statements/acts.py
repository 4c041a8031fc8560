"""Statements about acts: what somebody did in one go, in order, and what took it back.

An act is never removed. Taking one back is an act of its own, which says again what stood before;
so everything that ever stood can be read in the history.
"""

from __future__ import annotations

import sqlite3

from impactcut.project.rows.cells import built
from impactcut.project.rows.damage import RESTORE
from impactcut.project.rows.records import Act, Actor
from impactcut.project.statements.writing import insert

_ACTS = """
SELECT acts.*, EXISTS (SELECT 1 FROM acts AS later WHERE later.undoes = acts.id) AS undone
FROM acts
"""

_LAST = f"""
{_ACTS} WHERE undoes IS NULL AND NOT undone AND source <> 'scan' ORDER BY id DESC LIMIT 1
"""


def put_act(connection: sqlite3.Connection, by: Actor, undoes: int | None = None) -> int:
    """Write that somebody acts; the act's number."""
    return insert(connection, "acts", who=by.who, made=by.when, source=by.source, undoes=undoes)


def all_acts(connection: sqlite3.Connection) -> tuple[Act, ...]:
    """Every act, oldest first."""
    return tuple(_act(row) for row in connection.execute(f"{_ACTS} ORDER BY id"))


def last_standing(connection: sqlite3.Connection) -> Act | None:
    """The latest act of a person that was not taken back; what a scan did is none of these."""
    row = connection.execute(_LAST).fetchone()
    return None if row is None else _act(row)


def _act(row: sqlite3.Row) -> Act:
    by = {"who": row["who"], "when": row["made"], "source": row["source"]}
    return built(Act, {**dict(row), "by": by}, f"act {row['id']}", RESTORE)
