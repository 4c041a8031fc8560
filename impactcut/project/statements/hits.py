"""Statements about hits; every function works inside its caller's transaction."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Final

from msgspec import Meta

from impactcut.core.detect.confidence import SURE
from impactcut.core.detect.hits import FoundHit, Hit
from impactcut.core.grouping import grouped
from impactcut.core.motion.measured import HitMotion
from impactcut.core.takes.names import label_hits
from impactcut.core.time.matching import nearest_pairs
from impactcut.project.rows.arrays import pack_motion, unpack_motion
from impactcut.project.rows.cells import built
from impactcut.project.rows.damage import MEASURE, RESTORE, intact
from impactcut.project.rows.records import StoredHit
from impactcut.project.statements.proposals import drop_proposals
from impactcut.project.statements.writing import insert, update

SAME_HIT_FRAMES = 2
"""A contact that moves no further than this is the same hit, engineering choice: other weights may
read it a frame or two off, and two hits lie four frames apart at 24 frames a second
(`impactcut.core.detect.contact`)."""

_REGION: Final = ("region_left", "region_top", "region_width", "region_height")
_COLUMNS: Final = (
    "onset", "peak", "contact", "contact_exact", "settle", "reaction", "confidence", "peak_speed",
    *_REGION, "camera",
)  # fmt: skip
_Label = Annotated[str, Meta(pattern=r"^\d+[a-z]*$")]


@dataclass(frozen=True)
class _Said:
    """What is said of a hit, in a row of `_WITH_LABELS`."""

    label: _Label | None
    by_hand: str


@dataclass(frozen=True)
class _Place:
    """The place of a hit that a clip has or had, and where its contact is or was."""

    hit_id: int
    label: _Label
    contact: int


BY_HAND: Final = "by_hand <> ''"
LISTED: Final = f"typeof(confidence) = 'real' AND confidence >= {SURE}"
"""For their confidence."""
_WITH_LABELS = """
SELECT hits.*, label
FROM hits LEFT JOIN hit_labels ON hit_labels.hit_id = hits.id
"""
_IN_ORDER = "ORDER BY hits.clip_id, hits.contact, hits.id"


def same_hit(contact: int, other: int) -> bool:
    """Whether contact frames of one clip are those of one hit."""
    return abs(contact - other) <= SAME_HIT_FRAMES


def hits_of(connection: sqlite3.Connection, clip_id: int) -> tuple[StoredHit, ...]:
    """The hits of a clip by contact frame, without their decisions."""
    rows = connection.execute(f"{_WITH_LABELS} WHERE hits.clip_id = ? {_IN_ORDER}", (clip_id,))
    return tuple(_stored(row) for row in rows)


def hits_of_all(connection: sqlite3.Connection) -> dict[int, list[StoredHit]]:
    """The hits of every clip by its number, by contact frame, without their decisions."""
    rows = connection.execute(f"{_WITH_LABELS} {_IN_ORDER}")
    return grouped((row["clip_id"], _stored(row)) for row in rows)


def hit_numbered(connection: sqlite3.Connection, hit_id: int) -> StoredHit | None:
    """The hit of that number, without its decision."""
    row = connection.execute(f"{_WITH_LABELS} WHERE hits.id = ?", (hit_id,)).fetchone()
    return None if row is None else _stored(row)


def put_hits(
    connection: sqlite3.Connection,
    clip_id: int,
    found: Sequence[FoundHit],
    left: Mapping[int, Sequence[int]],
    kept: Mapping[int, str],
) -> None:
    """Write the hits found in a clip over those that were found before.

    A hit within `SAME_HIT_FRAMES` of one that is or was there is that hit, and keeps its number
    and its place. Hits by hand stay, and nothing is found where they are, or were before somebody
    moved them. The others go, and so does everything proposed for the clip.

    Parameters
    ----------
    left : mapping of int to sequence of int
        Contact frames from which people moved hits, by hit.
    kept : mapping of int to str
        Hits that become hits by hand rather than go, and whose.
    """
    by_hand = contacts_of(connection, clip_id, BY_HAND)
    taken = [*by_hand.values(), *(contact for each in by_hand for contact in left.get(each, ()))]
    found = [each for each in found if not any(same_hit(each[0].contact, at) for at in taken)]
    now = {
        hit_id: contact
        for hit_id, contact in contacts_of(connection, clip_id).items()
        if hit_id not in by_hand
    }
    same = _same_hits(now, found, {})
    same |= _same_hits(_gone(connection, clip_id), found, same)
    drop_proposals(connection, clip_id)
    for row in connection.execute("SELECT id FROM hits WHERE clip_id = ?", (clip_id,)).fetchall():
        hit_id = row["id"]
        if hit_id in by_hand or (hit_id in now and hit_id in same.values()):
            continue
        if hit_id in kept and hit_id in now:
            update(connection, "hits", hit_id, by_hand=kept[hit_id])
        else:
            connection.execute("DELETE FROM hits WHERE id = ?", (hit_id,))
    for index, each in enumerate(found):
        same[index] = _put_measured(connection, clip_id, each, same.get(index))
    _put_labels(connection, clip_id, {same[index]: hit for index, (hit, _) in enumerate(found)})


def put_by_hand(
    connection: sqlite3.Connection, clip_id: int, hit_id: int | None, found: FoundHit, who: str
) -> int:
    """Write a hit as somebody says it, or (``who`` is empty) as it was found; its number.

    A new one that lies where another was once is that one again.
    """
    if hit_id is None:
        hit_id = _same_hits(_gone(connection, clip_id), [found], {}).get(0)
    hit_id = _put_measured(connection, clip_id, found, hit_id)
    update(connection, "hits", hit_id, by_hand=who)
    _put_labels(connection, clip_id, {hit_id: found.hit})
    drop_proposals(connection, clip_id)
    return hit_id


def remove_hit(connection: sqlite3.Connection, clip_id: int, hit_id: int) -> None:
    """Remove a hit; its number and its place stay its own."""
    drop_proposals(connection, clip_id)
    connection.execute("DELETE FROM hits WHERE id = ?", (hit_id,))


def _put_measured(
    connection: sqlite3.Connection, clip_id: int, found: FoundHit, hit_id: int | None
) -> int:
    hit, motion = found
    hit_id = _put_hit(connection, clip_id, hit, hit_id)
    insert(connection, "hit_motions", "OR REPLACE", hit_id=hit_id, data=pack_motion(motion))
    return hit_id


def _same_hits(
    known: Mapping[int, int], found: Sequence[FoundHit], taken: Mapping[int, int]
) -> dict[int, int]:
    """Numbers of the hits known by contact that those found are, by position in ``found``."""
    numbers, free = list(known), [index for index in range(len(found)) if index not in taken]
    contacts = [int(found[index][0].contact) for index in free]
    pairs = nearest_pairs(list(known.values()), contacts, SAME_HIT_FRAMES)
    return {free[place]: numbers[index] for index, place in pairs.items()}


def _gone(connection: sqlite3.Connection, clip_id: int) -> dict[int, int]:
    """Contacts of the hits that a clip had and has no more, by number."""
    now, ever = contacts_of(connection, clip_id), _labels(connection, clip_id)
    return {hit_id: contact for hit_id, (_, contact) in ever.items() if hit_id not in now}


def _put_labels(connection: sqlite3.Connection, clip_id: int, hits: Mapping[int, Hit]) -> None:
    """Give places to hits that have none, and keep where those of the others now are."""
    known = _labels(connection, clip_id)
    contacts = dict(known.values())
    for hit_id in hits.keys() & known.keys():
        contacts[known[hit_id][0]] = int(hits[hit_id].contact)
        connection.execute(
            "UPDATE hit_labels SET contact = ? WHERE hit_id = ?",
            (int(hits[hit_id].contact), hit_id),
        )
    new = sorted(hits.keys() - known.keys(), key=lambda hit_id: (hits[hit_id].contact, hit_id))
    found = [(int(hits[each].contact), hits[each].confidence >= SURE) for each in new]
    for hit_id, label, (contact, _) in zip(new, label_hits(found, contacts), found, strict=True):
        insert(
            connection, "hit_labels", hit_id=hit_id, clip_id=clip_id, label=label, contact=contact
        )


def _labels(connection: sqlite3.Connection, clip_id: int) -> dict[int, tuple[str, int]]:
    """Places and contacts of all hits that a clip has or had, by number."""
    rows = connection.execute("SELECT * FROM hit_labels WHERE clip_id = ?", (clip_id,))
    named = [built(_Place, row, "the place of a hit in its clip", RESTORE) for row in rows]
    return {each.hit_id: (each.label, each.contact) for each in named}


def motion_of(connection: sqlite3.Connection, hit_id: int) -> HitMotion | None:
    """What moves around a hit."""
    row = connection.execute("SELECT data FROM hit_motions WHERE hit_id = ?", (hit_id,)).fetchone()
    with intact(f"the movement around hit {hit_id}", MEASURE):
        return None if row is None else unpack_motion(row["data"])


def contacts_of(
    connection: sqlite3.Connection, clip_id: int, which: str = "TRUE"
) -> dict[int, int]:
    """Contact frames by hit number; no more is read, so that measuring again mends damage.

    ``which``: a condition in SQL, such as `BY_HAND` or `LISTED`.
    """
    rows = connection.execute(
        f"SELECT id, contact FROM hits WHERE clip_id = ? AND typeof(contact) = 'integer' "
        f"AND {which} ORDER BY contact, id",
        (clip_id,),
    )
    return {row["id"]: row["contact"] for row in rows}


def _put_hit(connection: sqlite3.Connection, clip_id: int, hit: Hit, hit_id: int | None) -> int:
    reaction = None if hit.reaction is None else int(hit.reaction)
    values = (
        int(hit.onset), int(hit.peak), int(hit.contact), float(hit.contact_exact), int(hit.settle),
        reaction, float(hit.confidence), float(hit.peak_speed), *map(float, hit.region), hit.camera,
    )  # fmt: skip
    marks = ", ".join("?" * (len(_COLUMNS) + 2))
    changes = ", ".join(f"{name} = excluded.{name}" for name in _COLUMNS)
    cursor = connection.execute(
        f"INSERT INTO hits (id, clip_id, {', '.join(_COLUMNS)}) VALUES ({marks}) "
        f"ON CONFLICT (id) DO UPDATE SET {changes}",
        (hit_id, clip_id, *values),
    )
    number = cursor.lastrowid if hit_id is None else hit_id
    assert number is not None
    return number


def _stored(row: sqlite3.Row) -> StoredHit:
    where, cells = f"hit {row['id']}", dict(row)
    cells["region"] = tuple(cells[name] for name in _REGION)
    hit = built(Hit, cells, where, MEASURE)
    said = built(_Said, cells, f"what is said of {where}", RESTORE)
    return StoredHit(cells["id"], cells["clip_id"], hit, None, said.label or "", said.by_hand)
