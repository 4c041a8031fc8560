"""Statements about what was handed over; every function works inside its caller's transaction.

Deliveries are only ever added.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

from impactcut.project.rows.cells import built, written
from impactcut.project.rows.damage import RESTORE
from impactcut.project.statements.writing import insert

if TYPE_CHECKING:
    from impactcut.core.programme.delivery import Delivery


def put_delivery(connection: sqlite3.Connection, delivery: Delivery) -> bool:
    """Write a delivery; False, and nothing is written, if another has its number."""
    number = insert(
        connection,
        "deliveries",
        "OR IGNORE",
        number=delivery.number,
        who=delivery.who,
        made=delivery.when,
        scope=written(delivery.scope),
        fov=delivery.fov,
        proposed=delivery.proposed,
        files=written(delivery.files),
        lists=written(delivery.lists),
    )
    return number > 0


def all_deliveries(connection: sqlite3.Connection) -> tuple[Delivery, ...]:
    """Everything that was handed over, oldest first."""
    from impactcut.core.programme.delivery import Delivery

    rows = connection.execute('SELECT *, made AS "when" FROM deliveries ORDER BY number')
    return tuple(
        built(Delivery, row, f"delivery {row['number']}", RESTORE, ("scope", "files", "lists"))
        for row in rows
    )
