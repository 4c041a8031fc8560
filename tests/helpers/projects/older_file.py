"""Project files as an older program wrote them."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from impactcut.project.file.database import open_database
from impactcut.project.file.migrations import MIGRATIONS


def write_older(path: Path, new: Path, steps: int, *tables: str) -> Path:
    """Write a file in the form that so many steps make, with what a new one holds in tables.

    If none are named, all tables that both have; of each, the columns of the older form.
    """
    open_database(path, True, MIGRATIONS[:steps]).close()
    with closing(sqlite3.connect(path)) as old, old:
        old.execute("ATTACH ? AS new", (str(new),))
        names = "SELECT name FROM {}.sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        both = old.execute(f"{names.format('main')} INTERSECT {names.format('new')}").fetchall()
        for table in tables or [name for (name,) in both]:
            columns = ", ".join(row[1] for row in old.execute(f"PRAGMA main.table_info({table})"))
            old.execute(f"INSERT INTO main.{table} SELECT {columns} FROM new.{table}")
    return path
