"""What this program writes into timelines: everything stands under one metadata key."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from impactcut.core.programme.programme_marks import ProgrammeMark
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.reasons import verdict_words
from impactcut.lists.otio.library import library
from impactcut.lists.tables.cells import clock_cells
from impactcut.lists.tables.marks_csv import mark_name

if TYPE_CHECKING:
    import opentimelineio as otio

METADATA_KEY = "impactcut"
SCHEMA = 1


def list_metadata(clock: Timebase, judging: str) -> dict[str, object]:
    """Of a timeline: what it counts in, and what its numbers of visibility rest on."""
    return {"schema": SCHEMA, **clock_cells(clock), "judging": judging}


def id_of(text: str) -> str:
    """The same for the same text, whenever and wherever it is written."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def own_marker(mark: ProgrammeMark, source: int, rate: float) -> otio.schema.Marker:
    """The marker of a mark, on a source frame."""
    otio = library()
    colours = otio.schema.MarkerColor
    return otio.schema.Marker(
        name=mark_name(mark),
        marked_range=time_range(FrameRange(source, source + 1), rate),
        color=colours.RED if mark.kind == "contact" else colours.YELLOW,
        metadata={METADATA_KEY: _mark_metadata(mark)},
    )


def is_own(marker: Any) -> bool:
    """Whether this program wrote a marker, or put its metadata on one."""
    return METADATA_KEY in marker.metadata


def is_stale(marker: Any, marks: Iterable[ProgrammeMark]) -> bool:
    """Whether a marker of an earlier version goes where an event gets ``marks``.

    Splices that were made before, and what stands there for a contact that went, stay.
    """
    if not is_own(marker):
        return False
    told: Any = marker.metadata[METADATA_KEY]
    if not hasattr(told, "get"):
        return False
    said = told.get("kind"), told.get("hit")
    if said in {(mark.kind, mark.hit.id) for mark in marks}:
        return True
    return said[0] != "splice" and not told.get("contact_taken_out")


def time_range(frames: FrameRange, rate: float) -> otio.opentime.TimeRange:
    """Frames as the format has them."""
    otio = library()
    return otio.opentime.TimeRange(
        otio.opentime.RationalTime(frames.start, rate),
        otio.opentime.RationalTime(len(frames), rate),
    )


def _mark_metadata(mark: ProgrammeMark) -> dict[str, object]:
    found: dict[str, object] = {"kind": mark.kind, "hit": mark.hit.id}
    if mark.kind == "contact":
        found |= {
            "contact_taken_out": mark.moved,
            "peak_speed_widths_per_second": mark.hit.impact.peak_speed,
        }
    if mark.removal is not None:
        trim = mark.removal.trim
        found |= {
            "first_frame_out": trim.first,
            "frames_out": trim.count,
            "speed_gain": round(trim.speed_gain, 3),
            "visibility": round(trim.visibility, 3),
            "verdict": verdict_words(trim),
        }
    return found
