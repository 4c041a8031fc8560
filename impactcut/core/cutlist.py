"""The cut list: clips with their trims taken out, laid end to end in record order."""

from __future__ import annotations

from dataclasses import dataclass

from impactcut.core.clip import Clip
from impactcut.core.decisions import Decision
from impactcut.core.frames import FrameRange
from impactcut.core.timebase import Timebase
from impactcut.core.trims import Trim


@dataclass(frozen=True)
class Removal:
    """Frames taken out of a clip, and on whose word.

    Parameters
    ----------
    clip : Clip
    hit_id : int
    contact : int
        Contact frame of the hit, counted in the clip.
    trim : Trim
        What was judged of the removed frames.
    decision : Decision or None
        None for a proposal that nobody has answered.
    """

    clip: Clip
    hit_id: int
    contact: int
    trim: Trim
    decision: Decision | None = None


@dataclass(frozen=True)
class Event:
    """One numbered line of a list: a run of one clip's frames, placed in the programme.

    ``source`` is in clip frames (0 at the clip's first); ``record_in`` in frames of the programme.
    """

    clip: Clip
    source: FrameRange
    record_in: int

    @property
    def record(self) -> FrameRange:
        """Where the event lies in the programme."""
        return FrameRange(self.record_in, self.record_in + len(self.source))


@dataclass(frozen=True)
class CutList:
    """A programme: events in record order, and the removals that made them.

    Parameters
    ----------
    title : str
    timebase : Timebase
        The record clock; every clip has its rate.
    record_start : int
        Record timecode of the first frame, as a count of frames.
    events : tuple of Event
    removals : tuple of Removal
        In record order.
    version : int
    """

    title: str
    timebase: Timebase
    record_start: int
    events: tuple[Event, ...]
    removals: tuple[Removal, ...]
    version: int = 1
