"""Statements about proposals; every function works inside its caller's transaction.

A proposal belongs to a hit, to who judged it, and to the version of the program and of its model
that made it: it is quick to make again, and a newer program may judge otherwise. All trims of a hit
are kept as they are published, a line of JSON each, compressed (which adds a checksum): some 20 kB
in 4. The one chosen stands beside them, for long lists.
"""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import cache
from hashlib import sha256
from typing import Final

import msgspec

from impactcut import __version__
from impactcut.core.trims.propose import MODEL_VERSION
from impactcut.core.trims.published import trim_dict, trim_in
from impactcut.core.trims.splice_indices import COUNTS
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.core.viewer.judge import Judge
from impactcut.project.rows.cells import built, written
from impactcut.project.rows.damage import MEASURE, intact
from impactcut.project.statements.writing import insert

_QUICK: Final = 1
"""Of zlib: the best takes a seventh less room and three times as long."""

_CHOSEN = """
SELECT hit_id, chosen, no_trim FROM proposed_trims JOIN hits ON hits.id = hit_id
WHERE judge = ? AND (confidence >= ? OR clip_id IN (SELECT clip_id FROM decisions))
"""

_LACKING = """
SELECT id, clip_id FROM hits
WHERE NOT EXISTS (SELECT 1 FROM proposed_trims WHERE hit_id = hits.id AND judge = ?)
"""


@dataclass(frozen=True)
class _Chosen:
    """The trim that is proposed, or why there is none."""

    chosen: Trim | None
    no_trim: str | None

    def __post_init__(self) -> None:
        if (self.chosen is None) != (self.no_trim is not None):
            raise ValueError("either a trim is proposed, or it is said why none is")
        if self.chosen is not None and (self.chosen.first < 0 or self.chosen.count not in COUNTS):
            raise ValueError("no trim of a clip")


def published_trims(proposal: Proposal, judge: Judge) -> bytes:
    """Every trim of a hit in the published form, a line of JSON each."""
    return b"\n".join(msgspec.json.encode(trim_dict(trim, judge)) for trim in proposal.trims)


def put_proposal(
    connection: sqlite3.Connection, hit_id: int, judge: Judge, proposal: Proposal
) -> None:
    """Write every trim of a hit, as somebody judges."""
    chosen = None if proposal.proposed is None else written(proposal.proposed)
    trims = zlib.compress(published_trims(proposal, judge), _QUICK)
    insert(
        connection,
        "proposed_trims",
        "OR REPLACE",
        hit_id=hit_id,
        judge=_key(judge),
        chosen=chosen,
        no_trim=proposal.no_trim,
        trims=trims,
    )


def drop_proposals(connection: sqlite3.Connection, clip_id: int) -> None:
    """Remove everything proposed for a clip's hits, in whatever way."""
    connection.execute(
        "DELETE FROM proposed_trims WHERE hit_id IN (SELECT id FROM hits WHERE clip_id = ?)",
        (clip_id,),
    )


def proposals_of(connection: sqlite3.Connection, clip_id: int, judge: Judge) -> dict[int, Proposal]:
    """The proposals for a clip's hits, by hit number, as far as that judge made them."""
    rows = connection.execute(
        "SELECT proposed_trims.* FROM proposed_trims JOIN hits ON hits.id = hit_id "
        "WHERE clip_id = ? AND judge = ?",
        (clip_id, _key(judge)),
    )
    return {row["hit_id"]: _proposal(row) for row in rows}


def chosen_of_all(
    connection: sqlite3.Connection, judge: Judge, confidence: float
) -> dict[int, Proposal]:
    """Proposals by hit number, as far as that judge made them; of the trims, the one chosen.

    They are those for hits from a confidence on and for all of clips with decisions.
    """
    rows = connection.execute(_CHOSEN, (_key(judge), confidence))
    found = ((row["hit_id"], _chosen(row)) for row in rows)
    return {hit_id: Proposal(tuple(filter(None, (one,))), one, why) for hit_id, (one, why) in found}


def published_of_all(connection: sqlite3.Connection, judge: Judge) -> Iterator[tuple[int, bytes]]:
    """What `published_trims` gave of each proposal that a judge made, with the hit's number."""
    rows = connection.execute(
        "SELECT hit_id, trims FROM proposed_trims WHERE judge = ?", (_key(judge),)
    )
    return ((row["hit_id"], _published(row)) for row in rows)


def hits_lacking(connection: sqlite3.Connection, judge: Judge) -> dict[int, int]:
    """The hits for which that judge made no proposal, by number, each with that of its clip."""
    rows = connection.execute(_LACKING, (_key(judge),))
    return {row["id"]: row["clip_id"] for row in rows}


@cache
def _key(judge: Judge) -> str:
    """Who judges, and by which program and model."""
    way = (__version__, MODEL_VERSION, sorted(asdict(judge).items()))
    return sha256(msgspec.json.encode(way)).hexdigest()


def _proposal(row: sqlite3.Row) -> Proposal:
    proposed, why = _chosen(row)
    with intact(_where(row), MEASURE):
        trims = tuple(map(trim_in, msgspec.json.Decoder().decode_lines(_published(row))))
    return Proposal(trims, proposed, why)


def _chosen(row: sqlite3.Row) -> tuple[Trim | None, str | None]:
    kept = built(_Chosen, row, _where(row), MEASURE, ("chosen",))
    return kept.chosen, kept.no_trim


def _published(row: sqlite3.Row) -> bytes:
    with intact(_where(row), MEASURE):
        return zlib.decompress(row["trims"])


def _where(row: sqlite3.Row) -> str:
    return f"what is proposed for hit {row['hit_id']}"
