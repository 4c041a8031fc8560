"""The check before a recut timeline is handed over: read back, it must be the old one as changed.

Compared are what every track shows frame by frame, by the change list too and both ways; what
stands on both sides of each transition, and where; every mark of this program's; and that nothing
of what was carried is lost or changed: all objects in their order, clips that were not cut word for
word, and every marker of others.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from impactcut.core.programme.change_list import ChangeList
from impactcut.core.programme.sequence import Piece
from impactcut.core.recut.cutting import Recut
from impactcut.core.recut.recut_marks import Marks
from impactcut.core.time.frames import Gaps
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.otio.library import library
from impactcut.lists.otio.own import METADATA_KEY, is_own, is_stale
from impactcut.lists.otio.sequence import Cell, Lane, TimelineSequence, frame_of, read_timeline
from impactcut.lists.tables.marks_csv import mark_name
from impactcut.lists.track_check import REMEDY, compare_tracks

_RANGES = ("source_range", "markers")


def check_timeline(
    text: str,
    old: TimelineSequence,
    done: Recut,
    changes: ChangeList,
    title: str,
    marks: Marks | None = None,
) -> None:
    """Read a recut timeline back and compare it with the old one, its pieces and the change list.

    Parameters
    ----------
    text : str
        The new timeline.
    old : TimelineSequence
        The old one, untouched.
    done : Recut
        Of its events.
    changes : ChangeList
        As read back from what is handed over.
    title : str
        Of the new one.
    marks : mapping of int to sequence of ProgrammeMark
        That it was given.

    Raises
    ------
    ListMismatchError
        If they differ in anything but what was to change.
    """
    try:
        new = read_timeline(text)
    except ListFormatError as error:
        raise ListMismatchError(f"the new timeline cannot be read back: it {error}") from error
    lengths = [each.timeline.tracks.duration() for each in (old, new)]
    _require(not old.held or lengths[0] == lengths[1], "has another length")
    compare_tracks(new.events, done, changes)
    _require(list(_joins(new, None)) == list(_joins(old, done)), "has another transition")
    _require(new.timeline.name == title, "has another name")
    before, after = (json.loads(each.timeline.to_json_string()) for each in (old, new))
    _require(_skeleton(before | {"name": title}) == _skeleton(after), "holds other objects")
    _require(_markers(before) == _markers(after), "has other markers")
    _require(_marked(new) == _marked(old, done), "has a marker elsewhere")
    planned, found = _planned(done, marks or {}), _own_marks(new)
    count = planned.total() + _own_marks(old, done, marks or {}).total()
    _require(not planned - found and found.total() == count, "has other marks of hits")
    lost = Counter(_untouched(old, done)) - Counter(map(_told, new.timeline.find_clips()))
    _require(not lost, "has changed a clip that was not cut")


def _require(same: bool, fault: str) -> None:
    if not same:
        raise ListMismatchError(f"the new timeline, read back, {fault} than planned; {REMEDY}")


def _joins(sequence: TimelineSequence, done: Recut | None) -> Iterator[tuple[Any, ...]]:
    """Each transition: its record frame in the new timeline, and what stands on both its sides."""
    for lane in sequence.lanes:
        for at, cell in enumerate(lane.cells):
            if isinstance(cell.item, library().schema.Transition):
                record = cell.place.start + lane.offset
                if done is not None and isinstance(done.clock, Gaps):
                    ended = None if not at else lane.cells[at - 1].index
                    left = () if ended is None else done.left[ended]
                    record = max((p.record.stop for p in left), default=done.clock.moved(record))
                sides = _side(lane, at - 1, after=True), _side(lane, at + 1, after=False)
                inside = lane.seen and lane.seen.start <= cell.place.start <= lane.seen.stop
                yield lane.name, record if inside else None, cell.item.to_json_string(), *sides


def _side(lane: Lane, at: int, after: bool) -> tuple[str, int]:
    """What stands beside a transition, and on which of its frames."""
    if not 0 <= at < len(lane.cells):
        return "", 0
    cell = lane.cells[at]
    if not isinstance(cell.item, library().schema.Clip):
        return cell.item.schema_name(), 0
    reference = cell.item.media_reference
    named = cell.item.name + ("" if reference is None else reference.to_json_string())
    return named, cell.own.stop if after else cell.own.start


def _skeleton(node: dict[str, Any]) -> dict[str, Any]:
    """The JSON without the times and markers of items, bare gaps, and clips said again and again.

    Of metadata only the program's own is left out, of the timeline and of clips.
    """
    return _without_own(node) | {"tracks": _item_skeleton(node["tracks"])}


def _without_own(item: dict[str, Any]) -> dict[str, Any]:
    metadata = {key: value for key, value in item["metadata"].items() if key != METADATA_KEY}
    return item | {"metadata": metadata}


def _item_skeleton(item: dict[str, Any]) -> dict[str, Any]:
    kept = {key: value for key, value in item.items() if key not in (*_RANGES, "children")}
    children: list[Any] = []
    for child in item.get("children", ()):
        found = _without_own(_item_skeleton(child))
        bare = child["OTIO_SCHEMA"].startswith("Gap.") and not (
            child["name"] or child["metadata"] or child["effects"] or child["markers"]
        )
        if not bare and found not in children[-1:]:
            children.append(found)
    return kept | {"children": children}


def _markers(node: dict[str, Any]) -> Counter[str]:
    """All markers of others in a timeline without where they stand."""
    waiting, found = [node["tracks"]], Counter[str]()
    while waiting:
        item = waiting.pop()
        waiting += item.get("children", ())
        for marker in item.get("markers", ()):
            if METADATA_KEY not in marker["metadata"]:
                lasts = marker["marked_range"]["duration"]
                found[json.dumps(marker | {"marked_range": lasts}, sort_keys=True)] += 1
    return found


def _marked(sequence: TimelineSequence, done: Recut | None = None) -> Counter[tuple[str, str, int]]:
    """Track, name and source frame of each marker of others on a clip.

    Of an old timeline, where it must come to stand: with its frame, or if that goes, the next.
    """
    found: Counter[tuple[str, str, int]] = Counter()
    for lane in sequence.lanes:
        for cell in lane.cells:
            if not isinstance(cell.item, library().schema.Clip):
                continue
            for marker in (marker for marker in cell.item.markers if not is_own(marker)):
                frame = frame_of(marker, sequence.rate)
                if done is not None and cell.index is not None:
                    frame = _kept_frame(frame, cell, done.left[cell.index])
                found[lane.name, marker.name, frame] += 1
    return found


def _kept_frame(frame: int, cell: Cell, pieces: Sequence[Piece]) -> int:
    """A source frame of a clip, or if that goes, the next that stays."""
    source = pieces[0].event.source
    if frame not in source or any(frame in piece.source for piece in pieces):
        return frame
    starts = [piece.source.start for piece in pieces if piece.source.start > frame]
    starts += [source.stop] if source.stop < cell.own.stop else []
    return starts[0] if starts else frame


_Mark = tuple[str, int, str]
"""Track, record frame and name."""


def _planned(done: Recut, marks: Marks) -> Counter[_Mark]:
    return Counter(
        (min(done.events[index].tracks), mark.record, mark_name(mark))
        for index, found in marks.items()
        for mark in found
    )


def _own_marks(
    sequence: TimelineSequence, done: Recut | None = None, marks: Marks | None = None
) -> Counter[_Mark]:
    """The program's own marks; of an old timeline, those that stay."""
    found: Counter[_Mark] = Counter()
    for lane in sequence.lanes:
        for cell in lane.cells:
            if not isinstance(cell.item, library().schema.Clip):
                continue
            known = cell.index is not None and done and done.events[cell.index].clip is not None
            new = (marks or {}).get(-1 if cell.index is None else cell.index, ())
            for marker in filter(is_own, cell.item.markers):
                at = lane.offset + cell.place.start - cell.own.start
                record = at + frame_of(marker, sequence.rate)
                if not (known and is_stale(marker, new)):
                    found[lane.name, record, marker.name] += 1
    return found


def _untouched(old: TimelineSequence, done: Recut) -> Iterator[str]:
    """The JSON of clips that were not cut."""
    whole = {p.event.index for p in done.pieces if p.source == p.event.source}
    for lane in old.lanes:
        for cell in lane.cells:
            uncut = cell.index is None or cell.index in whole
            if uncut and isinstance(cell.item, library().schema.Clip):
                yield _told(cell.item)


def _told(clip: Any) -> str:
    """The JSON of a clip without the program's own markers."""
    told = json.loads(clip.to_json_string())
    told["markers"] = [each for each in told["markers"] if METADATA_KEY not in each["metadata"]]
    return json.dumps(told, sort_keys=True)
