"""Statements about decisions; every function works inside its caller's transaction.

Decisions are only ever added, each by an act. Those about one hit form a thread, whose latest line
counts; a cleared thread is over. A thread belongs to a clip and a contact frame, not to a hit's
number, so that measuring a clip again, however it turns out, takes nothing away: a thread goes with
the nearest hit within `SAME_HIT_FRAMES`, and one that finds none waits as an orphan.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Annotated, Any, Final, Literal

import msgspec

from impactcut.core.time.frames import FrameRange
from impactcut.core.time.matching import nearest_pairs
from impactcut.core.trims.decision import AFFIRMING, WAITING, Answer, Decision
from impactcut.project.rows.cells import built
from impactcut.project.rows.damage import MEASURE, RESTORE, intact
from impactcut.project.rows.records import Clearing, DecisionEntry, StoredHit
from impactcut.project.statements.hits import (
    LISTED,
    SAME_HIT_FRAMES,
    contacts_of,
    hits_of,
    hits_of_all,
)
from impactcut.project.statements.proposals import drop_proposals


@dataclass(frozen=True)
class Said:
    """A row of the decisions; ``answer`` is ``"cleared"`` where one was taken back.

    ``thread`` is the row that the thread began with, None where this is that row.
    """

    id: int
    act: int
    clip_id: int
    thread: int | None
    contact: int
    digest: str
    answer: Answer | Literal["cleared"]
    first: Annotated[int, msgspec.Meta(ge=0)] | None
    count: int | None
    who: str
    decided: str
    note: str
    note_who: str

    def __post_init__(self) -> None:
        assert self.decision is not None or self.answer == "cleared"

    @property
    def begun(self) -> int:
        """The row that its thread began with."""
        return self.thread or self.id

    @property
    def decision(self) -> Decision | None:
        """What was decided; None where that was taken back."""
        if self.answer == "cleared":
            return None
        trim = None
        if self.first is not None and self.count is not None:
            trim = FrameRange(self.first, self.first + self.count)
        return Decision(self.answer, trim, self.who, self.decided, self.note, self.note_who)

    @property
    def said(self) -> Decision | Clearing:
        """What was said."""
        return self.decision or Clearing(self.who, self.decided, self.note)


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
VALUES (:act, :clip_id, :thread, :contact,
    coalesce(:digest, (SELECT measured FROM clips WHERE id = :clip_id)),
    :answer, :first, :count, :who, :decided, :note, :note_who)
"""

_BEFORE = """
SELECT * FROM decisions WHERE coalesce(thread, id) = :thread AND id < :id ORDER BY id DESC LIMIT 1
"""

_SINCE = """
SELECT EXISTS (SELECT 1 FROM decisions AS mine JOIN decisions AS later
    ON coalesce(later.thread, later.id) = coalesce(mine.thread, mine.id) AND later.act > mine.act
    WHERE mine.act = ?)
"""

_CLEARED: Final[dict[str, Any]] = {
    "answer": "cleared", "first": None, "count": None, "note": "", "note_who": "",
}  # fmt: skip

_SPEEDS = """
SELECT hits.id, peak_speed FROM hits JOIN clips ON clips.id = hits.clip_id
WHERE confidence >= ? AND state = 'done' AND NOT dropped
"""

_NO_HITS = """
SELECT DISTINCT clip_id FROM decisions WHERE answer = 'not-a-hit'
"""


def hits_decided(connection: sqlite3.Connection, clip_id: int) -> tuple[StoredHit, ...]:
    """The hits of a clip by contact frame, each with the decision in force."""
    return _with_decisions(connection, clip_id, hits_of(connection, clip_id))


def all_hits_decided(connection: sqlite3.Connection) -> dict[int, tuple[StoredHit, ...]]:
    """The hits of every clip that has any, by its number, as `hits_decided`."""
    rows = connection.execute("SELECT DISTINCT clip_id FROM decisions")
    decided = {row["clip_id"] for row in rows}
    return {
        clip_id: _with_decisions(connection, clip_id, found) if clip_id in decided else tuple(found)
        for clip_id, found in hits_of_all(connection).items()
    }


def orphans_of(connection: sqlite3.Connection, clip_id: int) -> tuple[DecisionEntry, ...]:
    """Decisions in force about hits that the clip no longer has."""
    rows = _live(connection, clip_id)
    pairs = _pairs(rows, hits_of(connection, clip_id))
    return tuple(_entry(row) for index, row in enumerate(rows) if index not in pairs)


def decided_on_other_content(connection: sqlite3.Connection) -> tuple[int, ...]:
    """Numbers of hits whose decision in force is about what their file held before it changed."""
    changed = connection.execute(_CHANGED_CLIPS).fetchall()
    found: list[int] = []
    for clip in changed:
        hits, rows = hits_of(connection, clip["id"]), _live(connection, clip["id"])
        pairs = _pairs(rows, hits).items()
        found += [hits[hit].id for row, hit in pairs if rows[row].digest != clip["measured"]]
    return tuple(sorted(found))


def history_of(
    connection: sqlite3.Connection, clip_id: int | None = None
) -> tuple[DecisionEntry, ...]:
    """Everything ever decided, about a clip or about all of them, oldest first."""
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
        cleared = _CLEARED if clear else {}
        _add(connection, row, act=act, contact=contact, digest=None, **cleared)


def kept_by(connection: sqlite3.Connection, clip_id: int) -> dict[int, str]:
    """Hits of a clip that are listed and that somebody answered, and who did."""
    contacts, sure = (contacts_of(connection, clip_id, which) for which in ("TRUE", LISTED))
    rows, numbers = _live(connection, clip_id), list(contacts)
    contacts_of_rows = [row.contact for row in rows]
    pairs = nearest_pairs(contacts_of_rows, list(contacts.values()), SAME_HIT_FRAMES)
    said = ((numbers[found], rows[row]) for row, found in pairs.items())
    return {
        hit_id: each.who or each.note_who or "somebody"
        for hit_id, each in said
        if each.answer in AFFIRMING or (each.answer in WAITING and hit_id in sure)
    }


def speeds_of_all(connection: sqlite3.Connection, confidence: float) -> tuple[float, ...]:
    """Peak speeds of the hits of measured clips, from a confidence on; picture widths/s.

    Those that somebody said are no hits are left out.
    """
    clips = [row["clip_id"] for row in connection.execute(_NO_HITS)]
    none = {hit.id for clip in clips for hit in hits_decided(connection, clip) if hit.denied}
    rows = connection.execute(_SPEEDS, (confidence,))
    with intact("the speed of a hit", MEASURE):
        speeds = [row["peak_speed"] for row in rows if row["id"] not in none]
        return msgspec.convert(speeds, tuple[float, ...])


def said_since(connection: sqlite3.Connection, act: int) -> bool:
    """Whether anything was said later of the hits about which an act said something."""
    (since,) = connection.execute(_SINCE, (act,)).fetchone()
    return bool(since)


def take_back(connection: sqlite3.Connection, act: int, undoing: int) -> None:
    """Say again, as part of the act ``undoing``, what stood before all that an act said."""
    rows = connection.execute("SELECT * FROM decisions WHERE act = ? ORDER BY id DESC", (act,))
    for row in map(_said, rows.fetchall()):
        found = connection.execute(_BEFORE, {"thread": row.begun, "id": row.id}).fetchone()
        before = None if found is None else _said(found)
        if before is None:
            _add(connection, row, act=undoing, digest=None, **_CLEARED)
        else:
            _add(connection, before, act=undoing)
        _judge_again(connection, row.clip_id, row.answer, before and before.answer)


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
        "thread": None if before is None else before.begun,
        "contact": hit.impact.contact,
        "digest": None,
        "answer": said.answer if isinstance(said, Decision) else "cleared",
        "first": None if trim is None else trim.start,
        "count": None if trim is None else len(trim),
        "who": said.who,
        "decided": said.when,
        "note": said.note,
        "note_who": said.note_who if isinstance(said, Decision) else "",
    }
    connection.execute(_ADD, values)
    stood = None if before is None else before.answer
    _judge_again(connection, hit.clip_id, values["answer"], stood)


def _judge_again(connection: sqlite3.Connection, clip_id: int, *answers: object) -> None:
    """Have trims of a clip proposed again where a find became none, or a hit again."""
    if "not-a-hit" in answers:
        drop_proposals(connection, clip_id)


def _with_decisions(
    connection: sqlite3.Connection, clip_id: int, hits: Sequence[StoredHit]
) -> tuple[StoredHit, ...]:
    rows = _live(connection, clip_id)
    threads = {hit: rows[row] for row, hit in _pairs(rows, hits).items()}
    return tuple(
        replace(hit, decision=threads[index].decision) if index in threads else hit
        for index, hit in enumerate(hits)
    )


def _live(connection: sqlite3.Connection, clip_id: int) -> list[Said]:
    return list(map(_said, connection.execute(_LIVE_THREADS, (clip_id, clip_id))))


def _pairs(rows: Sequence[Said], hits: Sequence[StoredHit]) -> dict[int, int]:
    contacts = [row.contact for row in rows]
    return nearest_pairs(contacts, [hit.impact.contact for hit in hits], SAME_HIT_FRAMES)


def _said(row: sqlite3.Row) -> Said:
    return built(Said, row, f"decision {row['id']}", RESTORE)


def _add(connection: sqlite3.Connection, row: Said, **changed: Any) -> None:
    """Add a row like another to its thread, but for what has changed."""
    connection.execute(_ADD, {**asdict(row), "thread": row.begun, **changed})


def _entry(row: Said) -> DecisionEntry:
    return DecisionEntry(row.act, row.clip_id, row.contact, row.said, row.digest)
