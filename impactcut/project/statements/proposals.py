"""Statements about proposals; every function works inside its caller's transaction.

A proposal belongs to a hit, to who judged it, and to the version of the program and of its model
that made it: it is quick to make again, and a newer program may judge otherwise.
"""

from __future__ import annotations

import json
import sqlite3
from dataclasses import asdict
from hashlib import sha256
from typing import Any, Final, get_args

from impactcut import __version__
from impactcut.core.trims.propose import MODEL_VERSION
from impactcut.core.trims.splices import COUNTS
from impactcut.core.trims.trim import Proposal, Trim, Verdict
from impactcut.core.viewer.judge import Judge
from impactcut.project.rows.damage import MEASURE, Kind, built
from impactcut.project.rows.kinds import (
    between,
    count,
    flag,
    json_of,
    list_of,
    number,
    numbers,
    one_of,
    optional,
    record,
    text,
)

_TRIM: Final[dict[str, Kind]] = {
    "first": count, "count": between(COUNTS[0], COUNTS[-1]),
    "speed_gain": number, "visibility": number,
    "verdict": one_of(*get_args(Verdict)), "vetoes": list_of(text),
    "channels": numbers, "reasons": list_of(text),
    "front_row": optional(number), "felt": numbers, "confident": optional(flag),
}  # fmt: skip
_ALL: Final[dict[str, Kind]] = {
    "trims": json_of(list_of(record(Trim, _TRIM))), "proposed": optional(count),
    "no_trim": optional(text),
}  # fmt: skip
_ONE: Final[dict[str, Kind]] = {
    "trim": optional(json_of(record(Trim, _TRIM))), "no_trim": optional(text),
}  # fmt: skip

_CHOSEN = """
SELECT hit_id, trim, no_trim FROM chosen_trims JOIN hits ON hits.id = hit_id
WHERE viewing = ? AND (confidence >= ? OR clip_id IN (SELECT clip_id FROM decisions))
"""

_LACKING = """
SELECT id, clip_id FROM hits
WHERE NOT EXISTS (SELECT 1 FROM chosen_trims WHERE hit_id = hits.id AND viewing = ?)
"""


def put_proposal(
    connection: sqlite3.Connection,
    hit_id: int,
    judge: Judge,
    proposal: Proposal,
) -> None:
    """Write every trim of a hit, as somebody judges."""
    chosen = proposal.proposed
    place = None if chosen is None else proposal.trims.index(chosen)
    key, trims = _key(judge), [_as_dict(trim) for trim in proposal.trims]
    connection.execute(
        "INSERT OR REPLACE INTO proposals (hit_id, viewing, trims, proposed, no_trim) "
        "VALUES (?, ?, ?, ?, ?)",
        (hit_id, key, json.dumps(trims), place, proposal.no_trim),
    )
    connection.execute(
        "INSERT OR REPLACE INTO chosen_trims (hit_id, viewing, trim, no_trim) VALUES (?, ?, ?, ?)",
        (hit_id, key, None if place is None else json.dumps(trims[place]), proposal.no_trim),
    )


def drop_proposals(connection: sqlite3.Connection, clip_id: int) -> None:
    """Remove everything proposed for a clip's hits, in whatever way."""
    connection.execute(
        "DELETE FROM proposals WHERE hit_id IN (SELECT id FROM hits WHERE clip_id = ?)", (clip_id,)
    )


def proposals_of(
    connection: sqlite3.Connection,
    clip_id: int,
    judge: Judge,
) -> dict[int, Proposal]:
    """The proposals for a clip's hits, by hit number, as far as that judge made them."""
    rows = connection.execute(
        "SELECT proposals.* FROM proposals JOIN hits ON hits.id = proposals.hit_id "
        "WHERE hits.clip_id = ? AND proposals.viewing = ?",
        (clip_id, _key(judge)),
    )
    return {row["hit_id"]: built(_proposal, row, _ALL, _where(row), MEASURE) for row in rows}


def chosen_of_all(
    connection: sqlite3.Connection,
    judge: Judge,
    confidence: float,
) -> dict[int, Proposal]:
    """Proposals by hit number, as far as that judge made them; of the trims, the one chosen.

    They are those for hits from a confidence on and for all of clips with decisions. All trims of
    a hit take some 20 kB, which would make long lists slow.
    """
    rows = connection.execute(_CHOSEN, (_key(judge), confidence))
    return {row["hit_id"]: built(_chosen, row, _ONE, _where(row), MEASURE) for row in rows}


def hits_lacking(connection: sqlite3.Connection, judge: Judge) -> dict[int, int]:
    """The hits for which that judge made no proposal, by number, each with that of its clip."""
    rows = connection.execute(_LACKING, (_key(judge),))
    return {row["id"]: row["clip_id"] for row in rows}


def _key(judge: Judge) -> str:
    numbers = json.dumps(asdict(judge), sort_keys=True).encode()
    way = {"program": __version__, "model": MODEL_VERSION, "judge": sha256(numbers).hexdigest()}
    return json.dumps(way, sort_keys=True)


def _as_dict(trim: Trim) -> dict[str, Any]:
    return {
        "first": trim.first,
        "count": trim.count,
        "speed_gain": float(trim.speed_gain),
        "visibility": float(trim.visibility),
        "verdict": trim.verdict,
        "vetoes": list(trim.vetoes),
        "channels": {name: float(value) for name, value in trim.channels.items()},
        "reasons": list(trim.reasons),
        "front_row": trim.front_row,
        "felt": dict(trim.felt),
        "confident": trim.confident,
    }


def _proposal(trims: tuple[Trim, ...], proposed: int | None, no_trim: str | None) -> Proposal:
    return _explained(trims, None if proposed is None else trims[proposed], no_trim)


def _chosen(trim: Trim | None, no_trim: str | None) -> Proposal:
    return _explained(() if trim is None else (trim,), trim, no_trim)


def _explained(trims: tuple[Trim, ...], chosen: Trim | None, no_trim: str | None) -> Proposal:
    if (chosen is None) != (no_trim is not None):
        raise ValueError("either a trim is proposed, or it is said why none is")
    return Proposal(trims, chosen, no_trim)


def _where(row: sqlite3.Row) -> str:
    return f"what is proposed for hit {row['hit_id']}"
