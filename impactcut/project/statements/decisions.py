"""Statements about decisions; every function works inside its caller's transaction.

Decisions are only ever added, each by an act. Those about one hit form a thread, whose latest line
counts; a cleared thread is over. A thread belongs to a clip and a contact frame, not to a hit's
number, so that measuring a clip again, however it turns out, takes nothing away: a thread goes with
the nearest hit within `SAME_HIT_FRAMES`, and one that finds none waits as an orphan.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final, get_args

from impactcut.core.time.frames import FrameRange
from impactcut.core.time.matching import nearest_pairs
from impactcut.core.trims.decisions import Answer, Decision
from impactcut.project.rows.damage import RESTORE, Kind, cells, intact
from impactcut.project.rows.kinds import count, one_of, optional, text, whole
from impactcut.project.rows.records import Clearing, DecisionEntry, StoredHit
from impactcut.project.statements.hits import SAME_HIT_FRAMES, contacts_of, hits_of, sure_ones
from impactcut.project.statements.proposals import drop_proposals

Said = dict[str, Any]

_KINDS: Final[dict[str, Kind]] = {
    "id": whole, "act": whole, "clip_id": whole, "thread": optional(whole),
    "contact": whole, "digest": text,
    "answer": one_of(*get_args(Answer), "cleared"), "first": optional(count),
    "count": optional(count), "who": text, "decided": text, "note": text, "note_who": text,
}  # fmt: skip

_LIVE_THREADS = """
SELECT * FROM decisions
WHERE clip_id = ? AND answer <> 'cleared'
    AND id IN (SELECT max(id) FROM decisions WHERE clip_id = ? GROUP BY coalesce(thread, id))
ORDER BY contact, id
"""

_CHANGED_CLIPS = """
SELECT DISTINCT clips.id, measured FROM clips JOIN decisions ON decisions.clip_id = clips.id
WHERE clips.state = 'done' AND NOT dropped AND measured <> decisions.digest
"""

_ADD = """
INSERT INTO decisions
    (act, clip_id, thread, contact, digest, answer, first, count, who, decided, note, note_who)
VALUES (:act, :clip_id, :thread, :contact, (SELECT measured FROM clips WHERE id = :clip_id),
    :answer, :first, :count, :who, :decided, :note, :note_who)
"""

_RESTORE = """
INSERT INTO decisions
    (act, clip_id, thread, contact, digest, answer, first, count, who, decided, note, note_who)
SELECT :act, clip_id, coalesce(thread, id), contact, digest, answer, first, count, who, decided,
    note, note_who
FROM decisions WHERE id = :restored
"""

_BEFORE = """
SELECT max(id) AS id, answer FROM decisions WHERE coalesce(thread, id) = :thread AND id < :id
"""

_CLEARED: Final[Said] = {
    "answer": "cleared", "first": None, "count": None, "note": "", "note_who": "",
}  # fmt: skip

_NO_HITS = """
SELECT DISTINCT clip_id FROM decisions WHERE answer = 'not-a-hit'
"""


def with_decisions(
    connection: sqlite3.Connection, clip_id: int, hits: Sequence[StoredHit]
) -> tuple[StoredHit, ...]:
    """All hits of a clip, each with the decision in force."""
    rows = _live(connection, clip_id)
    threads = {hit: rows[row] for row, hit in _pairs(rows, hits).items()}
    return tuple(
        replace(hit, decision=_decision(threads[index])) if index in threads else hit
        for index, hit in enumerate(hits)
    )


def with_all_decisions(
    connection: sqlite3.Connection, hits: Mapping[int, Sequence[StoredHit]]
) -> dict[int, tuple[StoredHit, ...]]:
    """All hits of every clip by its number, each with the decision in force."""
    rows = connection.execute("SELECT DISTINCT clip_id FROM decisions")
    decided = {row["clip_id"] for row in rows}
    return {
        clip_id: with_decisions(connection, clip_id, found) if clip_id in decided else tuple(found)
        for clip_id, found in hits.items()
    }


def orphans_of(
    connection: sqlite3.Connection, clip_id: int, hits: Sequence[StoredHit]
) -> tuple[DecisionEntry, ...]:
    """Decisions in force about a hit that the clip no longer has; ``hits`` are all it has."""
    rows = _live(connection, clip_id)
    pairs = _pairs(rows, hits)
    return tuple(_entry(row) for index, row in enumerate(rows) if index not in pairs)


def decided_on_other_content(connection: sqlite3.Connection) -> tuple[int, ...]:
    """Numbers of hits whose decision in force is about what their file held before it changed."""
    changed = connection.execute(_CHANGED_CLIPS).fetchall()
    found: list[int] = []
    for clip in changed:
        hits, rows = hits_of(connection, clip["id"]), _live(connection, clip["id"])
        pairs = _pairs(rows, hits).items()
        found += [hits[hit].id for row, hit in pairs if rows[row]["digest"] != clip["measured"]]
    return tuple(sorted(found))


def history_of(
    connection: sqlite3.Connection, clip_id: int | None = None
) -> tuple[DecisionEntry, ...]:
    """Every decision ever made, about a clip or about all, oldest first."""
    rows = connection.execute(
        "SELECT * FROM decisions WHERE ? IN (clip_id, 0) ORDER BY id", (clip_id or 0,)
    )
    return tuple(_entry(_said(row)) for row in rows)


def restate(
    connection: sqlite3.Connection, act: int, hit: StoredHit, contact: int, clear: bool
) -> None:
    """Say again of a hit's new contact, as part of an act, what stands; or take it back."""
    row = standing(connection, hit.clip_id).get(hit.id)
    if row is not None:
        thread = row["thread"] or row["id"]
        cleared = _CLEARED if clear else {}
        connection.execute(
            _ADD, {**row, "act": act, "thread": thread, "contact": contact, **cleared}
        )


def kept_by(connection: sqlite3.Connection, clip_id: int) -> dict[int, str]:
    """Hits of a clip that are listed and that somebody answered, and who did."""
    contacts, sure = contacts_of(connection, clip_id), sure_ones(connection, clip_id)
    rows, numbers = _live(connection, clip_id), list(contacts)
    pairs = nearest_pairs(
        [row["contact"] for row in rows], list(contacts.values()), SAME_HIT_FRAMES
    )
    said = {numbers[found]: _decision(rows[row]) for row, found in pairs.items()}
    return {
        hit_id: each.who or each.note_who or "somebody"
        for hit_id, each in said.items()
        if each.makes_a_hit or (each.undecided and hit_id in sure)
    }


def said_to_be_none(connection: sqlite3.Connection) -> frozenset[int]:
    """Numbers of the finds that somebody said are no hits."""
    clips = [row["clip_id"] for row in connection.execute(_NO_HITS)]
    hits = (with_decisions(connection, clip, hits_of(connection, clip)) for clip in clips)
    return frozenset(
        hit.id
        for found in hits
        for hit in found
        if hit.decision is not None and hit.decision.answer == "not-a-hit"
    )


def take_back(connection: sqlite3.Connection, act: int, undoing: int) -> None:
    """Say again, as part of the act ``undoing``, what stood before all that an act said."""
    rows = connection.execute("SELECT * FROM decisions WHERE act = ? ORDER BY id DESC", (act,))
    for row in [_said(row) for row in rows.fetchall()]:
        thread = row["thread"] or row["id"]
        found = connection.execute(_BEFORE, {"thread": thread, "id": row["id"]}).fetchone()
        before = found["answer"]
        if before is None:
            connection.execute(_ADD, {**row, "act": undoing, "thread": thread, **_CLEARED})
        else:
            connection.execute(_RESTORE, {"act": undoing, "restored": found["id"]})
        _judge_again(connection, row["clip_id"], row["answer"], before)


def standing(connection: sqlite3.Connection, clip_id: int) -> dict[int, Said]:
    """What is in force about the hits of a clip, by their numbers, for `add_decision`."""
    rows, hits = _live(connection, clip_id), hits_of(connection, clip_id)
    return {hits[found].id: rows[row] for row, found in _pairs(rows, hits).items()}


def add_decision(
    connection: sqlite3.Connection,
    act: int,
    hit: StoredHit,
    before: Said | None,
    said: Decision | Clearing,
) -> None:
    """Add what an act says about a hit, of which ``before`` is in force; clearing nothing adds
    nothing.
    """
    if before is None and isinstance(said, Clearing):
        return
    trim = said.trim if isinstance(said, Decision) else None
    values = {
        "act": act,
        "clip_id": hit.clip_id,
        "thread": None if before is None else before["thread"] or before["id"],
        "contact": hit.hit.contact,
        "answer": said.answer if isinstance(said, Decision) else "cleared",
        "first": None if trim is None else trim.start,
        "count": None if trim is None else len(trim),
        "who": said.who,
        "decided": said.when,
        "note": said.note,
        "note_who": said.note_who if isinstance(said, Decision) else "",
    }
    connection.execute(_ADD, values)
    stood = None if before is None else before["answer"]
    _judge_again(connection, hit.clip_id, values["answer"], stood)


def _judge_again(connection: sqlite3.Connection, clip_id: int, *answers: object) -> None:
    """Have trims of a clip proposed again where a find became none, or a hit again."""
    if "not-a-hit" in answers:
        drop_proposals(connection, clip_id)


def _live(connection: sqlite3.Connection, clip_id: int) -> list[Said]:
    return [_said(row) for row in connection.execute(_LIVE_THREADS, (clip_id, clip_id))]


def _pairs(rows: Sequence[Said], hits: Sequence[StoredHit]) -> dict[int, int]:
    contacts = [row["contact"] for row in rows]
    return nearest_pairs(contacts, [hit.hit.contact for hit in hits], SAME_HIT_FRAMES)


def _said(row: sqlite3.Row) -> Said:
    return cells(row, _KINDS, f"decision {row['id']}", RESTORE)


def _entry(row: Said) -> DecisionEntry:
    said: Decision | Clearing
    if row["answer"] == "cleared":
        said = Clearing(row["who"], row["decided"], row["note"])
    else:
        said = _decision(row)
    return DecisionEntry(row["act"], row["clip_id"], row["contact"], said, row["digest"])


def _decision(row: Said) -> Decision:
    with intact(f"decision {row['id']}", RESTORE):
        trim = None
        if row["answer"] == "approved":
            trim = FrameRange(row["first"], row["first"] + row["count"])
        return Decision(
            row["answer"], trim, row["who"], row["decided"], row["note"], row["note_who"]
        )
