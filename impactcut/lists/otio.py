"""A programme as OpenTimelineIO JSON.

Needs the extra ``otio``, which is the core package of OpenTimelineIO only. A rate of 24000/1001 is
written as the nearest double, as the format has it, and as a fraction in the metadata. All that the
format has no place for stands under one metadata key.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

from impactcut.core.assemble import place_clips
from impactcut.core.clip import Clip
from impactcut.core.cutlist import CutList, Event
from impactcut.core.frames import FrameRange, without
from impactcut.core.hit_track import ClipHit
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.clock_cells import count_mode, rate_cell
from impactcut.lists.csv_text import well_formed
from impactcut.lists.cut_rows import cut_rows

if TYPE_CHECKING:
    import opentimelineio as otio

METADATA_KEY = "impactcut"
SCHEMA = 1
_TRIM_FIELDS = (
    "hit", "event", "clip", "first_frame", "last_frame", "source_in", "source_out",
    "record_old_frame", "record_new_frame", "frames", "running_offset", "speed_gain",
    "visibility", "verdict", "decision", "who", "note",
)  # fmt: skip
_UNRESERVED = frozenset(b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/:")


def is_available() -> bool:
    """Whether OpenTimelineIO is installed."""
    return find_spec("opentimelineio") is not None


def render_otio(cut: CutList, hits: Iterable[ClipHit] = (), judging: str = "") -> str:
    """The JSON text of a programme: one picture track, handles, a marker on every contact frame.

    Parameters
    ----------
    cut : CutList
    hits : iterable of ClipHit
        Hits to mark; those of clips outside the programme are left out. A contact frame that was
        taken out is marked on the first frame kept after it.
    judging : str
        What its numbers of visibility rest on, for the metadata.

    Raises
    ------
    ListFormatError
        If OpenTimelineIO is not installed.
    """
    library = _library()
    rate = float(cut.timebase.rate)
    timeline = library.schema.Timeline(
        name=well_formed(cut.title),
        global_start_time=library.opentime.RationalTime(cut.record_start, rate),
        metadata={METADATA_KEY: _list_metadata(cut, judging)},
    )
    track = library.schema.Track(name="V1", kind=library.schema.TrackKind.Video)
    timeline.tracks.append(track)
    marked = _hits_by_event(cut, hits)
    for event in cut.events:
        track.append(_clip(event, rate, marked.get(event, ())))
    return str(timeline.to_json_string(indent=1)) + "\n"


def check_otio(text: str, cut: CutList) -> None:
    """Read a timeline back with OpenTimelineIO and compare every frame it shows with the plan.

    The plan is taken from the clips and their removals, not from the events that were written.

    Raises
    ------
    ListMismatchError
        If it is not the plan.
    """
    timeline = _library().adapters.read_from_string(text, "otio_json")
    found = [_shown(clip) for clip in timeline.find_clips()]
    wanted = list(_planned(cut))
    if found != wanted or timeline.global_start_time.value != cut.record_start:
        raise ListMismatchError(
            f"the timeline of {cut.title!r}, read back, is not the plan; do not use it, and report "
            "this"
        )


def _library() -> Any:
    try:
        import opentimelineio
    except ImportError as error:
        raise ListFormatError(
            "a timeline needs OpenTimelineIO; install it into the Python that runs this program: "
            "python -m pip install 'opentimelineio>=0.17'"
        ) from error
    return opentimelineio


def _clip(event: Event, rate: float, hits: Iterable[ClipHit]) -> otio.schema.Clip:
    library = _library()
    clip = event.clip
    reference = library.schema.ExternalReference(
        target_url=_url(clip.path),
        available_range=_time_range(FrameRange(0, clip.frames), clip, rate),
        metadata={METADATA_KEY: _clip_metadata(clip)},
    )
    reference.name = well_formed(clip.name)
    return library.schema.Clip(
        name=well_formed(clip.name),
        media_reference=reference,
        source_range=_time_range(event.source, clip, rate),
        markers=[_marker(hit, event, rate) for hit in hits],
    )


def _marker(hit: ClipHit, event: Event, rate: float) -> otio.schema.Marker:
    library = _library()
    at = max(hit.contact, event.source.start)
    return library.schema.Marker(
        name=f"hit {hit.called}",
        marked_range=_time_range(FrameRange(at, at + 1), hit.clip, rate),
        color=library.schema.MarkerColor.RED,
        metadata={
            METADATA_KEY: {
                "hit": hit.called,
                "contact_frame": hit.contact,
                "contact_taken_out": at != hit.contact,
                "peak_speed_widths_per_second": hit.peak_speed,
            }
        },
    )


def _hits_by_event(cut: CutList, hits: Iterable[ClipHit]) -> Mapping[Event, list[ClipHit]]:
    """The hits of each event, a hit whose contact was taken out with the event after it."""
    by_clip: dict[Clip, list[Event]] = {}
    for event in cut.events:
        by_clip.setdefault(event.clip, []).append(event)
    found: dict[Event, list[ClipHit]] = {}
    for hit in sorted(hits, key=lambda hit: (hit.contact, hit.hit_id)):
        later = [e for e in by_clip.get(hit.clip, ()) if hit.contact < e.source.stop]
        if later:
            found.setdefault(later[0], []).append(hit)
    return found


def _time_range(frames: FrameRange, clip: Clip, rate: float) -> otio.opentime.TimeRange:
    library = _library()
    return library.opentime.TimeRange(
        library.opentime.RationalTime(clip.source_start + frames.start, rate),
        library.opentime.RationalTime(len(frames), rate),
    )


def _list_metadata(cut: CutList, judging: str) -> dict[str, object]:
    rows = cut_rows(cut)
    return {
        "schema": SCHEMA,
        "version": cut.version,
        "rate": rate_cell(cut.timebase),
        "count_mode": count_mode(cut.timebase),
        "judging": judging,
        "trims": [{name: getattr(row, name) for name in _TRIM_FIELDS} for row in rows],
    }


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
    quoted = path.encode("utf-8", "surrogateescape")
    return "file://" + "".join(
        chr(byte) if byte in _UNRESERVED else f"%{byte:02X}" for byte in quoted
    )


_Shown = tuple[str, int, int]


def _shown(clip: otio.schema.Clip) -> _Shown:
    frames = clip.source_range
    url = clip.media_reference.target_url
    return url, int(frames.start_time.value), int(frames.duration.value)


def _planned(cut: CutList) -> Iterable[_Shown]:
    for clip, place in place_clips(cut).items():
        for kept in without(FrameRange(0, clip.frames), place.removed):
            yield _url(clip.path), clip.source_start + kept.start, len(kept)
