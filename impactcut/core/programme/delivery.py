"""Deliveries: what was handed over, version by version, and what the next one has to say of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from impactcut.core.grouping import grouped
from impactcut.core.programme.compare_versions import Said
from impactcut.core.programme.sequence import SequenceEvent
from impactcut.core.time.frames import FrameRange, without
from impactcut.core.time.timebase import Timebase

Standing = Literal["", "approved", "proposed", "proposed by taste"]
Tracks = Callable[[bool], frozenset[str]]
"""The tracks of a programme that show a clip, by whether it has sound."""


@dataclass(frozen=True)
class Scope:
    """Of what a list is: which clips were asked for, under which title, in how many lists.

    A change list runs from a list of the same scope and name.
    """

    title: str
    section: str | None = None
    take: str | None = None
    angle: str | None = None
    circled: bool = False
    per_clip: bool = False


@dataclass(frozen=True)
class DeliveredClip:
    """A clip as it was handed over.

    Parameters
    ----------
    number : int
        Of the clip in the project.
    path, name, reel : str
        The reel as lists write it.
    digest : str
        Of the file as it was measured.
    """

    number: int
    path: str
    name: str
    reel: str
    frames: int
    source_start: int
    has_sound: bool
    section: str
    take: str
    angle: str
    slate: str
    circled: bool
    digest: str

    @property
    def shot(self) -> tuple[object, ...]:
        """All that people may say of it and lists show."""
        return (
            self.name, self.reel, self.frames, self.source_start, self.section, self.take,
            self.angle, self.slate, self.circled,
        )  # fmt: skip


@dataclass(frozen=True)
class DeliveredHit:
    """A hit as it was handed over.

    Parameters
    ----------
    number, clip : int
        Of the hit and of its clip in the project.
    contact : int
        Frame of the clip.
    first, count : int or None
        The frames that went out; None for a hit as shot.
    standing : {"", "approved", "proposed", "proposed by taste"}
    words : str
        On whose word they went.
    """

    number: int
    clip: int
    name: str
    contact: int
    first: int | None = None
    count: int | None = None
    standing: Standing = ""
    words: str = ""

    @property
    def gone(self) -> FrameRange | None:
        """The frames of the clip that went out."""
        if self.first is None or self.count is None:
            return None
        return FrameRange(self.first, self.first + self.count)

    @property
    def told(self) -> tuple[object, ...]:
        """All of it that another answer may change."""
        return self.contact, self.first, self.count, self.standing


@dataclass(frozen=True)
class DeliveredList:
    """One programme as it was handed over: whole clips end to end, without what went out.

    Parameters
    ----------
    name : str
        That its files begin with.
    record_start : int
        As a count of frames.
    clips : tuple of DeliveredClip
        In record order.
    """

    name: str
    title: str
    rate: Fraction
    drop_frame: bool
    record_start: int
    clips: tuple[DeliveredClip, ...]
    hits: tuple[DeliveredHit, ...]

    @property
    def timebase(self) -> Timebase:
        """Of the record clock, and of every clip."""
        return Timebase(self.rate, self.drop_frame)

    @property
    def trims(self) -> tuple[DeliveredHit, ...]:
        """The hits of which frames went out."""
        return tuple(hit for hit in self.hits if hit.gone is not None)

    @property
    def frames_out(self) -> int:
        """How many frames went out."""
        return sum(hit.count or 0 for hit in self.hits)


@dataclass(frozen=True)
class DeliveredFile:
    """A file that was written: its absolute path, and the SHA-256 digest of what is in it."""

    path: str
    digest: str


@dataclass(frozen=True)
class Delivery:
    """A version that was handed over.

    Parameters
    ----------
    number : int
        From 1.
    who, when : str
        By whom, and when (UTC, ISO 8601).
    fov : float
        Viewer's field of view for which trims were judged, degrees.
    proposed : bool
        Whether proposals that nobody had answered went out, too.
    """

    number: int
    who: str
    when: str
    scope: Scope
    fov: float
    proposed: bool
    files: tuple[DeliveredFile, ...]
    lists: tuple[DeliveredList, ...]


def events_of(listed: DeliveredList, record_start: int, tracks: Tracks) -> list[SequenceEvent]:
    """The events of a programme that was handed over, numbered as its EDL numbers its picture.

    Parameters
    ----------
    record_start : int
        Record frame at which it is taken to begin.
    """
    clock, record = listed.timebase, record_start
    gone = _gone(listed)
    events: list[SequenceEvent] = []
    for clip in listed.clips:
        for kept in without(FrameRange(0, clip.frames), gone.get(clip.number, ())):
            events.append(
                SequenceEvent(
                    index=len(events),
                    number=len(events) + 1,
                    reel=clip.reel,
                    name=clip.name,
                    tracks=tracks(clip.has_sound),
                    source=kept.shifted(clip.source_start),
                    record=FrameRange(record, record + len(kept)),
                    source_clock=clock,
                )
            )
            record += len(kept)
    return events


def words_of(listed: DeliveredList) -> Iterator[Said]:
    """On whose word frames went out, by reel, clip name and source frames."""
    clips = {clip.number: clip for clip in listed.clips}
    for hit in listed.trims:
        clip, gone = clips.get(hit.clip), hit.gone
        if clip is not None and gone is not None:
            yield Said(clip.reel, clip.name, gone.shifted(clip.source_start), hit.words)


def earlier(
    deliveries: Sequence[Delivery], name: str, scope: Scope, timebase: Timebase
) -> Iterator[tuple[int, DeliveredList]]:
    """The lists of that name, scope and count that were handed over, the last first."""
    for delivery in reversed(deliveries):
        if delivery.scope == scope:
            for listed in delivery.lists:
                if (listed.name, listed.timebase) == (name, timebase):
                    yield delivery.number, listed


def in_force(deliveries: Iterable[Delivery]) -> tuple[Delivery, ...]:
    """Of each scope the version that was handed over last, in their order."""
    last = {delivery.scope: delivery for delivery in deliveries}
    return tuple(sorted(last.values(), key=lambda delivery: delivery.number))


def _gone(listed: DeliveredList) -> dict[int, list[FrameRange]]:
    return grouped((hit.clip, hit.gone) for hit in listed.hits if hit.gone is not None)
