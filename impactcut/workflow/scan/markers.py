"""Marks that an editor made elsewhere: where in which clips of the project they lie."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from impactcut.core.programme.sequence import SequenceEvent, is_picture
from impactcut.core.recut.reel_match import ClipNames, ways_to_count
from impactcut.core.takes.clip import Clip
from impactcut.errors import ImpactcutError, ListFormatError, TimecodeError
from impactcut.lists.csv_text import cells_of
from impactcut.lists.edl.note_times import LOCATOR
from impactcut.lists.edl.sequence import list_names
from impactcut.lists.edl.statements import Note
from impactcut.lists.otio.library import opened_timeline
from impactcut.lists.otio.own import is_own
from impactcut.lists.otio.sequence import clip_names
from impactcut.lists.otio.sequence import frame_of as frame_of_marker
from impactcut.project import Project, StoredClip
from impactcut.workflow.export.matching_list import matched_list
from impactcut.workflow.files.list_files import blaming, read_list_file, read_text
from impactcut.workflow.files.refusals import Refusal
from impactcut.workflow.files.timeline_files import ENDINGS, read_timeline_file
from impactcut.workflow.hits.hit_filter import measured_clips, names_clip
from impactcut.workflow.scan.by_hand import Place, frame_of

COLUMNS: Final = ("clip", "reel", "timecode", "frame", "note")
_LARGEST: Final = 10_000_000
_LOCATOR: Final = re.compile(r"\s*(\S+)(?:\s+([A-Z]+))?\s*(.*)", re.DOTALL)
"""A locator of a CMX3600 EDL: record timecode, colour, words (common practice, no source)."""


@dataclass(frozen=True)
class FoundPlaces:
    """Marks as read: places in clips, and what found none."""

    places: tuple[Place, ...]
    refusals: tuple[Refusal, ...]


def read_markers(project: Project, path: Path, rate: Fraction | None) -> FoundPlaces:
    """The marks in a file: CSV, EDL or timeline, by how its name ends.

    Parameters
    ----------
    rate : Fraction or None
        Of an EDL; None for that of the project's clips, where they have but one.

    Raises
    ------
    ListFormatError
        If it cannot be read, or is none of these.
    """
    clips = measured_clips(project)
    readers = {".csv": _of_csv, **dict.fromkeys(ENDINGS, _of_otio)}
    ending = path.suffix.lower()
    if ending == ".edl":
        found = list(_of_edl(path, clips, _rate_of(path, clips) if rate is None else rate))
    elif ending in readers:
        found = list(readers[ending](path, clips))
    else:
        raise ListFormatError(
            f"{path}: marks are read from .csv, .edl, .otio and .otioz; name one of those"
        )
    return FoundPlaces(
        tuple(each for each in found if isinstance(each, Place)),
        tuple(each for each in found if isinstance(each, Refusal)),
    )


def _of_csv(path: Path, clips: Sequence[StoredClip]) -> Iterator[Place | Refusal]:
    text, _ = read_text(path, "a list of marks", _LARGEST)
    with blaming(path):
        rows = cells_of(text)
    header = [cell.strip().casefold() for cell in rows[0][1]] if rows else []
    named = {"clip", "reel"} & set(header) and {"timecode", "frame"} & set(header)
    if not named:
        raise ListFormatError(
            f"{path}: line 1 names no columns of a list of marks; begin it with "
            "clip,timecode,note (or reel, or frame)"
        )
    known = list_names(stored.clip for stored in clips)
    for line, cells in rows[1:]:
        row = {name: cell.strip() for name, cell in zip(header, cells, strict=False)}
        if any(row.values()):
            yield _of_row(f"{path}: line {line}", row, clips, known)


def _of_row(
    where: str, row: Mapping[str, str], clips: Sequence[StoredClip], known: Sequence[ClipNames]
) -> Place | Refusal:
    label = row.get("timecode") or row.get("frame") or ""
    wanted = [
        stored
        for stored, names in zip(clips, known, strict=True)
        if _fits(stored, names, row.get("clip", ""), row.get("reel", ""))
    ]
    return _placed(where, wanted, label, row.get("note", ""))


def _fits(stored: StoredClip, names: ClipNames, clip: str, reel: str) -> bool:
    """Whether a clip is called so: case does not count, as where a list is recut."""
    if not clip and not reel:
        return False
    by_reel = not reel or reel.casefold() in {each.casefold() for each in names.reels}
    written = {each.casefold() for each in (*names.names, stored.called, names.clip.name)}
    path = bool(clip) and names_clip(Path(clip), names.clip)
    return by_reel and (not clip or path or clip.casefold() in written - {""})


def _placed(where: str, wanted: Sequence[StoredClip], label: str, note: str) -> Place | Refusal:
    """The mark, in the one clip of those that holds it."""
    places, faults = [], []
    for stored in wanted:
        try:
            places.append(Place(stored.id, frame_of(stored.clip, label), note))
        except ImpactcutError as error:
            faults.append(str(error))
    if len(places) == 1:
        return places[0]
    if places:
        return Refusal(where, "several clips of the project hold it", "name the clip by its path")
    if faults:
        return Refusal(where, faults[0], "correct the line")
    return Refusal(
        where, "it belongs to no clip of the project", "scan the clip, or correct its name"
    )


def _rate_of(path: Path, clips: Sequence[StoredClip]) -> Fraction:
    rates = {stored.clip.rate for stored in clips}
    if len(rates) != 1:
        raise ListFormatError(f"{path}: the project's clips have several rates; say --rate")
    return rates.pop()


def _of_edl(path: Path, clips: Sequence[StoredClip], rate: Fraction) -> Iterator[Place | Refusal]:
    listed = read_list_file(path, rate)
    known = {stored.clip: stored for stored in clips}
    events = [match.event for match in matched_list(listed, list(known), None)]
    shown = [event for event in events if any(map(is_picture, event.tracks))]
    clock = listed.document.record_clock
    for statement in listed.document.statements:
        if not isinstance(statement, Note) or statement.keyword.upper() != LOCATOR:
            continue
        where = f"{path}: line {statement.line}"
        match = _LOCATOR.fullmatch(statement.value)
        try:
            record = clock.frame("" if match is None else match[1])
        except TimecodeError as error:
            yield Refusal(where, str(error), "correct the line")
            continue
        note = "" if match is None else match[3].strip()
        yield _of_record(where, record, note, shown, known)


def _of_record(
    where: str,
    record: int,
    note: str,
    events: Sequence[SequenceEvent],
    known: Mapping[Clip, StoredClip],
) -> Place | Refusal:
    """The mark at a record frame, in the clip that is seen there."""
    there = [each for each in events if each.record.start <= record < each.record.stop]
    own = [each for each in there if each.clip is not None]
    if not own:
        why = "no clip of the project is seen there" if there else "no event is there"
        return Refusal(where, why, "scan the clip, or move the mark")
    event = own[0]
    if event.fixed:
        return Refusal(where, f"event {event.number}: {event.fixed}", "mark it in the clip itself")
    assert event.clip is not None
    return Place(known[event.clip].id, record - event.offset, note)


def _of_otio(path: Path, clips: Sequence[StoredClip]) -> Iterator[Place | Refusal]:
    text = read_timeline_file(path)
    with blaming(path):
        timeline = opened_timeline(text)
    known = list_names(stored.clip for stored in clips)
    for shot in timeline.find_clips():
        names = clip_names(shot)
        wanted = [
            stored
            for stored, each in zip(clips, known, strict=True)
            if any(_fits(stored, each, name, "") for name in names)
        ]
        media = getattr(shot.media_reference, "available_range", None)
        ways = ways_to_count(None if media is None else media.start_time.value)
        for marker in shot.markers:
            if is_own(marker):
                continue
            where = f"{path}: marker {marker.name!r} of {shot.name!r}"
            yield _of_marker(where, marker, wanted, ways)
    for holder in (timeline.tracks, *timeline.tracks):
        for marker in holder.markers:
            yield Refusal(
                f"{path}: marker {marker.name!r}",
                "it belongs to no clip",
                "put it on the clip itself",
            )


def _of_marker(
    where: str, marker: Any, wanted: Sequence[StoredClip], ways: Iterable[bool]
) -> Place | Refusal:
    """The mark, in the one clip that holds it; ``ways``: whether its time may count from 0."""
    note = str(marker.comment or marker.name)
    for from_zero in ways:
        places = []
        for stored in wanted:
            first = 0 if from_zero else stored.clip.source_start
            frame = frame_of_marker(marker, stored.clip.rate) - first
            if 0 <= frame < stored.clip.frames:
                places.append(Place(stored.id, frame, note))
        if len(places) == 1:
            return places[0]
        if places:
            return Refusal(where, "several clips of the project hold it", "scan only one of them")
    return Refusal(where, "it is in no clip of the project", "scan the clip, or correct its name")
