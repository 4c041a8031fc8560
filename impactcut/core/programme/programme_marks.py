"""Marks of an assembled programme: every contact, and every splice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.assemble import place_clips
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange

Kind = Literal["contact", "splice"]


@dataclass(frozen=True)
class ProgrammeMark:
    """A frame of the programme that people want to find.

    Parameters
    ----------
    kind : {"contact", "splice"}
        The contact frame of a hit, or the first frame kept where it was taken out; the first frame
        after a splice, or the last before one at the end of a clip.
    frame : int
        Of its clip, counted from 0.
    record : int
        Record frame.
    removal : Removal or None
        What goes out for the hit.
    moved : bool
        The contact frame itself was taken out.
    """

    kind: Kind
    hit: HitEntry
    frame: int
    record: int
    removal: Removal | None
    moved: bool = False


def marks_of(cut: CutList, hits: Iterable[HitEntry]) -> tuple[ProgrammeMark, ...]:
    """The marks of a programme in record order; hits of clips outside it are left out."""
    places = place_clips(cut)
    removals = {(each.clip.path, each.hit.id): each for each in cut.removals}
    found = []
    for removal in cut.removals:
        place = places[removal.clip]
        frame = _marked_frame(removal.frames, removal.clip)
        record = place.new_record(frame)
        found.append(ProgrammeMark("splice", removal.hit, frame, record, removal))
    for hit in (hit for hit in hits if hit.clip in places):
        place = places[hit.clip]
        contact = hit.impact.contact
        gone = place.gone.inside(FrameRange(contact, contact + 1))
        frame = _marked_frame(gone[0], hit.clip) if gone else contact
        made = removals.get((hit.clip.path, hit.id))
        record = place.new_record(frame)
        found.append(ProgrammeMark("contact", hit, frame, record, made, moved=bool(gone)))
    return tuple(sorted(found, key=lambda mark: (mark.record, mark.kind, mark.hit.id)))


def _marked_frame(gone: FrameRange, clip: Clip) -> int:
    """The first frame kept after a gap, or at the end of a clip the last before it."""
    return gone.stop if gone.stop < clip.frames else gone.start - 1
