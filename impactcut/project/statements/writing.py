"""Rows written by the names of their columns; each works inside its caller's transaction."""

from __future__ import annotations

import sqlite3
from typing import Any, Literal

Clash = Literal["", "OR IGNORE", "OR REPLACE"]
"""What becomes of a row whose like is there already: refused, left out, or in the other's place."""


def insert(connection: sqlite3.Connection, table: str, clash: Clash = "", /, **cells: Any) -> int:
    """Add a row; its number, or 0 where it was left out."""
    marks = ", ".join(f":{name}" for name in cells)
    added = connection.execute(
        f"INSERT {clash} INTO {table} ({', '.join(cells)}) VALUES ({marks})", cells
    )
    return (added.lastrowid or 0) if added.rowcount else 0


def update(connection: sqlite3.Connection, table: str, number: int, /, **cells: Any) -> None:
    """Change cells of the row of that number."""
    changes = ", ".join(f"{name} = :{name}" for name in cells)
    connection.execute(f"UPDATE {table} SET {changes} WHERE id = :id", {**cells, "id": number})
