"""A programme as OpenTimelineIO JSON: its picture, and the sound of its clips beside it.

Needs the extra ``otio``, which is the core package of OpenTimelineIO only. A rate of 24000/1001 is
written as the nearest double, as the format has it, and as a fraction in the metadata. All that the
format has no place for stands under one metadata key.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING
from urllib.parse import quote

from impactcut.core.fight.entries import HitEntry
from impactcut.core.grouping import grouped
from impactcut.core.programme.assemble import place_clips
from impactcut.core.programme.cutlist import CutList, Event
from impactcut.core.programme.programme_marks import ProgrammeMark, marks_of
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.errors import ListMismatchError
from impactcut.lists.csv_text import well_formed
from impactcut.lists.edl.write import SoundLines
from impactcut.lists.otio.library import REEL_KEY, library, opened_timeline
from impactcut.lists.otio.own import METADATA_KEY, id_of, list_metadata, own_marker, time_range
from impactcut.lists.reels import reel_names
from impactcut.lists.tables.cut_list_csv import cut_rows
from impactcut.lists.tables.marks_csv import mark_name

if TYPE_CHECKING:
    import opentimelineio as otio

PICTURE = "V1"
_TRIM_FIELDS = (
    "hit", "event", "clip", "first_frame", "last_frame", "source_in", "source_out",
    "record_old_frame", "record_new_frame", "frames", "running_offset", "speed_gain",
    "visibility", "verdict", "decision", "who", "note",
)  # fmt: skip


def render_otio(
    cut: CutList,
    hits: Iterable[HitEntry] = (),
    judging: str = "",
    sound: SoundLines | None = None,
) -> str:
    """The JSON text of a programme, with handles and a marker on every contact and splice.

    Parameters
    ----------
    hits : iterable of HitEntry
        Hits to mark; those of clips outside the programme are left out. A contact frame that was
        taken out is marked on the first frame kept after it.
    judging : str
        What its numbers of visibility rest on, for the metadata.
    sound : SoundLines or None
        For how many tracks of sound there are beside the picture's; None for none.

    Raises
    ------
    ListFormatError
        If OpenTimelineIO is not installed.
    """
    otio = library()
    rate = float(cut.timebase.rate)
    timeline = otio.schema.Timeline(
        name=well_formed(cut.title),
        global_start_time=otio.opentime.RationalTime(cut.record_start, rate),
        metadata={METADATA_KEY: _list_metadata(cut, judging, sound)},
    )
    reels = reel_names(cut.clips)
    starts = [event.record_in for event in cut.events]
    marked = grouped(
        (starts[bisect_right(starts, mark.record) - 1], mark) for mark in marks_of(cut, hits)
    )
    for name in _track_names(cut, sound):
        is_picture = name == PICTURE
        kinds = otio.schema.TrackKind
        track = otio.schema.Track(name=name, kind=kinds.Video if is_picture else kinds.Audio)
        timeline.tracks.append(track)
        for event in cut.events:
            if is_picture or name in _sound_tracks(event.clip, sound):
                marks = marked.get(event.record_in, ()) if is_picture else ()
                track.append(_clip(event, name, rate, reels[event.clip], marks))
            else:
                length = otio.opentime.RationalTime(len(event.source), rate)
                track.append(otio.schema.Gap(duration=length))
    return str(timeline.to_json_string(indent=1)) + "\n"


def check_otio(
    text: str,
    cut: CutList,
    hits: Iterable[HitEntry] = (),
    sound: SoundLines | None = None,
) -> None:
    """Read a timeline back with OpenTimelineIO and compare every track, frame by frame, and marks.

    The plan is taken from the clips and their removals, not from the events that were written.

    Raises
    ------
    ListMismatchError
        If it is not the plan.
    """
    timeline = opened_timeline(text)
    found = {track.name: list(map(_shown, track)) for track in timeline.tracks}
    wanted = {name: list(_planned(cut, name, sound)) for name in _track_names(cut, sound)}
    marks = sorted(
        (marker.name, int(marker.marked_range.start_time.value))
        for clip in timeline.find_clips()
        for marker in clip.markers
    )
    planned = sorted((mark_name(m), m.hit.clip.source_start + m.frame) for m in marks_of(cut, hits))
    same_start = timeline.global_start_time.value == cut.record_start
    if found != wanted or marks != planned or not same_start:
        raise ListMismatchError(
            f"the timeline of {cut.title!r}, read back, is not the plan; do not use it, and report "
            "this"
        )


def _track_names(cut: CutList, sound: SoundLines | None) -> list[str]:
    names = {name for clip in cut.clips for name in _sound_tracks(clip, sound)}
    return [PICTURE, *sorted(names, key=lambda name: int(name[1:]))]


def _sound_tracks(clip: Clip, sound: SoundLines | None) -> frozenset[str]:
    return frozenset() if sound is None else sound.tracks(clip.has_sound)


def _clip(
    event: Event, track: str, rate: float, reel: str, marks: Iterable[ProgrammeMark]
) -> otio.schema.Clip:
    otio = library()
    clip, source = event.clip, event.source
    place = f"{track}/{clip.path}/{source.start}/{source.stop}/{event.record_in}"
    reference = otio.schema.ExternalReference(
        target_url=_url(clip.listed),
        available_range=time_range(FrameRange(0, clip.frames).shifted(clip.source_start), rate),
        metadata={METADATA_KEY: _clip_metadata(clip), REEL_KEY: {"reel": reel}},
    )
    reference.name = well_formed(clip.name)
    shown = otio.schema.Clip(
        name=well_formed(clip.name),
        media_reference=reference,
        source_range=time_range(source.shifted(clip.source_start), rate),
        metadata={METADATA_KEY: {"id": id_of(place)}, REEL_KEY: {"reel": reel}},
    )
    for mark in marks:  # OpenTimelineIO 0.17 takes none where a clip is made
        shown.markers.append(own_marker(mark, clip.source_start + mark.frame, rate))
    return shown


def _list_metadata(cut: CutList, judging: str, sound: SoundLines | None) -> dict[str, object]:
    rows = cut_rows(cut, sound)
    return list_metadata(cut.timebase, judging) | {
        "version": cut.version,
        "trims": [{name: _carried(name, row[name]) for name in _TRIM_FIELDS} for row in rows],
    }


def _carried(name: str, cell: str | float) -> str | float:
    """A cell of the cut list in metadata, which has numbers."""
    if name in ("speed_gain", "visibility"):
        return float(cell)
    return well_formed(cell) if isinstance(cell, str) else cell


def _clip_metadata(clip: Clip) -> dict[str, object]:
    return {
        "reel": well_formed(clip.reel),
        "section": well_formed(clip.section),
        "take": well_formed(clip.take),
        "angle": well_formed(clip.angle),
        "slate": well_formed(clip.slate),
        "circled": clip.circled,
        "timecode_source": clip.timecode_source,
    }


def _url(path: str) -> str:
    """A file's address: UTF-8, everything but the unreserved characters of RFC 3986 spelled out."""
    if re.match(r"[A-Za-z]:[\\/]", path):
        path = "/" + path.replace("\\", "/")
    return "file://" + quote(path, safe="/:", errors="surrogateescape")


_Shown = tuple[str, int, int]
"""An address (none for a gap), the first source frame, and how many."""


def _shown(item: otio.core.Item) -> _Shown:
    frames = item.trimmed_range()
    if isinstance(item, library().schema.Gap):
        return "", 0, int(frames.duration.value)
    url = item.media_reference.target_url
    return url, int(frames.start_time.value), int(frames.duration.value)


def _planned(cut: CutList, track: str, sound: SoundLines | None) -> Iterator[_Shown]:
    for clip, place in place_clips(cut).items():
        shown = track == PICTURE or track in _sound_tracks(clip, sound)
        for kept in place.kept:
            first = clip.source_start + kept.start
            yield (_url(clip.listed), first, len(kept)) if shown else ("", 0, len(kept))
