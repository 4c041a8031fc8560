"""Measuring where somebody marked a contact: the part of hits by hand that opens the clip."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from impactcut.core.detect.hits import FoundHit
from impactcut.core.detect.mark import SNAP, MarkedContact, as_marked, busiest, snapped
from impactcut.core.motion.cadence import finding_stride
from impactcut.core.sound.speech import Sounds
from impactcut.errors import MarkError
from impactcut.media.decode.frames import read_frames
from impactcut.media.measure.stretches import CONTEXT, Stretch, measure_around
from impactcut.project import StoredClip
from impactcut.workflow.scan.analyse import AnalysisSettings, set_out
from impactcut.workflow.scan.clips_to_measure import Report
from impactcut.workflow.scan.finding import find_hits, pictures_of
from impactcut.workflow.scan.spotting import Spotting, fitted_spotter
from impactcut.workflow.scan.stated import with_earlier


@dataclass(frozen=True, eq=False)
class Measured:
    """What was measured where somebody marked a contact, and why the contact lies there."""

    found: FoundHit
    why: str


def measure_mark(
    stored: StoredClip, frame: int, exact: bool, sounds: Sounds, report: Report
) -> Measured:
    """What is measured at a mark, as measuring processes call things."""
    clip = stored.clip
    stretch = _stretch_around(stored, frame)
    pictures = pictures_of(stretch)
    spotting = Spotting(fitted_spotter())
    spots = spotting(stretch, pictures)
    seen, place = spotting.seen_near(frame, spots, stretch.size)
    if exact:
        where = busiest(frame, stretch.cells) if place is None else place
        mark = MarkedContact(as_marked(frame, where), "as given")
    else:
        mark = snapped(frame, seen, place, stretch.cells)
    found = find_hits(stretch, pictures, sounds, [mark.spot])
    if not found:
        raise MarkError(
            f"{clip.name}: no picture follows frame {frame}, so nothing can be measured there; "
            "name an earlier one"
        )
    return Measured(found[0], mark.why)


def _stretch_around(stored: StoredClip, frame: int) -> Stretch:
    clip = stored.clip
    reach = CONTEXT * finding_stride(clip.rate) + SNAP
    start = max(0, frame - reach)
    settings = with_earlier(AnalysisSettings(), stored)
    frames = read_frames(Path(clip.path), width=settings.width, start=start, frames=clip.frames)
    with closing(frames):
        stretch = measure_around(islice(frames, frame + reach + 1 - start), clip.rate)
    if stretch is None:
        raise MarkError(
            f"{clip.name}: frame {frame} does not decode; check the file, or copy it again"
        )
    return stretch


def hear(stored: StoredClip, report: Report) -> Sounds:
    """The sounds of a clip, as measuring processes call things."""
    return set_out(Path(stored.clip.path), with_earlier(AnalysisSettings(), stored)).sounds
