"""Marks of an assembled programme: every contact, and every splice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from impactcut.core.programme.assemble import place_clips, splice_events
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.programme.hit_track import ClipHit
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


def marks_of(cut: CutList, hits: Iterable[ClipHit]) -> tuple[ProgrammeMark, ...]:
    """The marks of a programme in record order; hits of clips outside it are left out."""
    found = [*_splices(cut), *_contacts(cut, hits)]
    return tuple(sorted(found, key=lambda mark: (mark.record, mark.kind, mark.hit_id)))


def _contacts(cut: CutList, hits: Iterable[ClipHit]) -> Iterable[ProgrammeMark]:
    places = place_clips(cut)
    removals = {(each.clip.path, each.hit_id): each for each in cut.removals}
    for hit in hits:
        place = places.get(hit.clip)
        if place is None:
            continue
        gap = next(iter(place.gone.inside(FrameRange(hit.contact, hit.contact + 1))), None)
        frame = hit.contact if gap is None else gap.stop
        if frame == hit.clip.frames and gap is not None:
            frame = gap.start - 1
        yield ProgrammeMark(
            kind="contact",
            hit_id=hit.hit_id,
            clip=hit.clip,
            frame=frame,
            record=place.new_record(frame),
            moved=gap is not None,
            peak_speed=hit.peak_speed,
            removal=removals.get((hit.clip.path, hit.hit_id)),
            name=hit.name,
        )


def _splices(cut: CutList) -> Iterable[ProgrammeMark]:
    for removal, index in zip(cut.removals, splice_events(cut), strict=True):
        event = cut.events[index]
        at_end = event.source.stop == removal.frames.start
        frame = event.source.stop - 1 if at_end else event.source.start
        yield ProgrammeMark(
            kind="splice",
            hit_id=removal.hit_id,
            clip=removal.clip,
            frame=frame,
            record=event.record.start + frame - event.source.start,
            removal=removal,
            name=removal.name,
        )
