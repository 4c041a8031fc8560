"""Marks of an assembled programme: every contact, and every splice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.assemble import place_clips
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.names import called
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
    hit_id : int
    clip : Clip
    frame : int
        Of the clip, counted from 0.
    record : int
        Record frame.
    moved : bool
        The contact frame itself was taken out.
    peak_speed : float
        Of a contact, picture widths a second; 0 for a splice.
    removal : Removal or None
        What goes out for the hit.
    name : str
        What people call the hit; empty where only its number is known.
    """

    kind: Kind
    hit_id: int
    clip: Clip
    frame: int
    record: int
    moved: bool = False
    peak_speed: float = 0.0
    removal: Removal | None = None
    name: str = ""

    @property
    def called(self) -> str:
        """What the hit is called."""
        return called(self.name, self.hit_id)


def contact_mark(
    hit: HitEntry, frame: int, record: int, removal: Removal | None, moved: bool
) -> ProgrammeMark:
    """The mark of a hit's contact on a frame of its clip."""
    return ProgrammeMark(
        kind="contact",
        hit_id=hit.id,
        clip=hit.clip,
        frame=frame,
        record=record,
        moved=moved,
        peak_speed=hit.hit.peak_speed,
        removal=removal,
        name=hit.name,
    )


def splice_mark(removal: Removal, frame: int, record: int) -> ProgrammeMark:
    """The mark of a splice on a frame of the clip."""
    return ProgrammeMark(
        kind="splice",
        hit_id=removal.hit_id,
        clip=removal.clip,
        frame=frame,
        record=record,
        removal=removal,
        name=removal.name,
    )


def marks_of(cut: CutList, hits: Iterable[HitEntry]) -> tuple[ProgrammeMark, ...]:
    """The marks of a programme in record order; hits of clips outside it are left out."""
    places = place_clips(cut)
    removals = {(each.clip.path, each.hit_id): each for each in cut.removals}
    found = []
    for removal in cut.removals:
        place = places[removal.clip]
        frame = _marked_frame(removal.frames, removal.clip)
        found.append(splice_mark(removal, frame, place.new_record(frame)))
    for hit in (hit for hit in hits if hit.clip in places):
        place = places[hit.clip]
        contact = hit.hit.contact
        gone = place.gone.inside(FrameRange(contact, contact + 1))
        frame = _marked_frame(gone[0], hit.clip) if gone else contact
        made = removals.get((hit.clip.path, hit.id))
        found.append(contact_mark(hit, frame, place.new_record(frame), made, moved=bool(gone)))
    return tuple(sorted(found, key=lambda mark: (mark.record, mark.kind, mark.hit_id)))


def _marked_frame(gone: FrameRange, clip: Clip) -> int:
    """The first frame kept after a gap, or at the end of a clip the last before it."""
    return gone.stop if gone.stop < clip.frames else gone.start - 1
