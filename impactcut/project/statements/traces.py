"""Statements about traces; every function works inside its caller's transaction."""

from __future__ import annotations

import sqlite3

from impactcut.core.detect.trace import Trace
from impactcut.project.rows.arrays import pack_trace, unpack_trace
from impactcut.project.rows.damage import MEASURE, intact
from impactcut.project.statements.writing import insert


def put_trace(connection: sqlite3.Connection, clip_id: int, trace: Trace | None) -> None:
    """Write the trace of a clip over the one before, or that it has none."""
    connection.execute("DELETE FROM traces WHERE clip_id = ?", (clip_id,))
    if trace is not None:
        data = pack_trace(trace)
        insert(connection, "traces", clip_id=clip_id, weights=trace.weights, data=data)


def trace_of(connection: sqlite3.Connection, clip_id: int, weights: str) -> Trace | None:
    """The trace that these weights left of a clip, if they did."""
    row = connection.execute(
        "SELECT data FROM traces WHERE clip_id = ? AND weights = ?", (clip_id, weights)
    ).fetchone()
    with intact(f"what was seen of clip {clip_id}", MEASURE):
        return None if row is None else unpack_trace(row["data"], weights)
