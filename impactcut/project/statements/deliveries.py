"""Statements about what was handed over; every function works inside its caller's transaction.

Deliveries are only ever added.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import asdict
from fractions import Fraction
from typing import Any, Final, get_args

from impactcut.core.programme.delivery import (
    DeliveredClip,
    DeliveredFile,
    DeliveredHit,
    DeliveredList,
    Delivery,
    Scope,
    Standing,
)
from impactcut.project.rows.damage import RESTORE, Kind, built
from impactcut.project.rows.kinds import (
    count,
    flag,
    json_of,
    list_of,
    number,
    one_of,
    optional,
    positive,
    ratio,
    record,
    text,
    whole,
)

_SCOPE: Final[dict[str, Kind]] = {
    "title": text, "section": optional(text), "take": optional(text), "angle": optional(text),
    "circled": flag, "per_clip": flag,
}  # fmt: skip
_FILE: Final[dict[str, Kind]] = {"path": text, "digest": text}
_CLIP: Final[dict[str, Kind]] = {
    "number": whole, "path": text, "name": text, "reel": text, "frames": positive,
    "source_start": whole, "has_sound": flag, "section": text, "take": text, "angle": text,
    "slate": text, "circled": flag, "digest": text,
}  # fmt: skip
_HIT: Final[dict[str, Kind]] = {
    "number": whole, "clip": whole, "name": text, "contact": whole, "first": optional(count),
    "count": optional(positive), "standing": one_of(*get_args(Standing)), "words": text,
}  # fmt: skip
_LIST: Final[dict[str, Kind]] = {
    "name": text, "title": text, "rate": ratio, "drop_frame": flag, "record_start": whole,
    "clips": list_of(record(DeliveredClip, _CLIP)), "hits": list_of(record(DeliveredHit, _HIT)),
}  # fmt: skip
_DELIVERY: Final[dict[str, Kind]] = {
    "number": positive, "who": text, "made": text, "scope": json_of(record(Scope, _SCOPE)),
    "fov": number, "proposed": flag, "files": json_of(list_of(record(DeliveredFile, _FILE))),
    "lists": json_of(list_of(record(DeliveredList, _LIST))),
}  # fmt: skip


def put_delivery(connection: sqlite3.Connection, delivery: Delivery) -> bool:
    """Write a delivery; False, and nothing is written, if another has its number."""
    added = connection.execute(
        "INSERT OR IGNORE INTO deliveries VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (
            delivery.number,
            delivery.who,
            delivery.when,
            json.dumps(asdict(delivery.scope)),
            delivery.fov,
            delivery.proposed,
            _json(delivery.files),
            _json(delivery.lists),
        ),
    )
    return bool(added.rowcount)


def all_deliveries(connection: sqlite3.Connection) -> tuple[Delivery, ...]:
    """Everything that was handed over, oldest first."""
    rows = connection.execute("SELECT * FROM deliveries ORDER BY number")
    return tuple(
        built(_delivery, row, _DELIVERY, f"delivery {row['number']}", RESTORE) for row in rows
    )


def _delivery(made: str, **others: Any) -> Delivery:
    return Delivery(when=made, **others)


def _json(values: Sequence[Any]) -> str:
    return json.dumps([asdict(each) for each in values], default=_ratio_text)


def _ratio_text(value: Fraction) -> str:
    return str(value)
