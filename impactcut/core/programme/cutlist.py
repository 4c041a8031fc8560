"""The cut list: clips with their trims taken out, laid end to end in record order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from impactcut.core.fight.entries import HitEntry
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.decision import WORDS
from impactcut.core.trims.trim import Trim
from impactcut.errors import TimecodeError, TrimError


@dataclass(frozen=True)
class Removal:
    """Frames taken out of a clip for a hit, and on whose word.

    Parameters
    ----------
    hit : HitEntry
        With the decision by which they go; with none where they are proposed.
    trim : Trim
        What was judged of the removed frames.

    Raises
    ------
    TrimError
        If the decision says otherwise: the hit stays as shot, or other frames were approved.
    """

    hit: HitEntry
    trim: Trim

    def __post_init__(self) -> None:
        decision = self.hit.decision
        if decision is None or decision.answer == "open":
            return
        if decision.trim != self.trim.frames:
            raise TrimError(
                f"{self.clip.name}: hit {self.called} is {WORDS[decision.answer]} by "
                f"{decision.who or 'somebody'}, but not with these frames; export its decision, "
                "or clear it"
            )

    @property
    def clip(self) -> Clip:
        """Out of which they go."""
        return self.hit.clip

    @property
    def called(self) -> str:
        """What the hit is called."""
        return self.hit.called

    @property
    def standing(self) -> Literal["approved", "proposed", "proposed by taste"]:
        """Whether somebody approved it, and if not, by what it is proposed."""
        if not self.hit.undecided:
            return "approved"
        return "proposed by taste" if self.trim.by_taste else "proposed"

    @property
    def frames(self) -> FrameRange:
        """The removed frames of the clip."""
        return self.trim.frames


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
    timebase : Timebase
        The record clock; every clip has its rate.
    record_start : int
        Record timecode of the first frame, as a count of frames.
    removals : tuple of Removal
        In record order.

    Raises
    ------
    TimecodeError
        If the record start is no time of day.
    ValueError
        If an event does not begin where the one before it ends.
    """

    title: str
    timebase: Timebase
    record_start: int
    events: tuple[Event, ...]
    removals: tuple[Removal, ...]
    version: int = 1

    def __post_init__(self) -> None:
        if not 0 <= self.record_start < self.timebase.day:
            raise TimecodeError(
                f"record start {self.record_start} lies outside the 24 hours of {self.timebase}; "
                "state a timecode from 00:00:00:00 on"
            )
        end = self.record_start
        for event in self.events:
            if event.record_in != end:
                raise ValueError(f"an event begins at record frame {event.record_in}, not {end}")
            end = event.record.stop

    @property
    def clips(self) -> tuple[Clip, ...]:
        """The clips, each once, in record order."""
        return tuple(dict.fromkeys(event.clip for event in self.events))

    @property
    def record(self) -> FrameRange:
        """Where the whole programme lies."""
        length = sum(len(event.source) for event in self.events)
        return FrameRange(self.record_start, self.record_start + length)
