"""The spotting list: every sound that the hits call for, and what each trim does to sound.

Record places are those of the new programme. Offsets follow ITU-R BT.1359-1: positive where sound
is early against the picture, negative where it is late.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import Final, Literal

from impactcut.core.fight.entries import HitEntry
from impactcut.core.grouping import grouped
from impactcut.core.programme.cutlist import Removal
from impactcut.core.programme.hit_track import sample_at
from impactcut.core.programme.showings import ClipShowing
from impactcut.core.sound.cues import SoundCue
from impactcut.core.sound.sync import SyncVerdict, sync_verdict
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.meeting import Meetings

Weight = Literal["", "light", "medium", "heavy"]
Screen = Literal["on", "partly on"]

LIGHT: Final = 0.8
HEAVY: Final = 1.25
"""Speed, against the median of all cues of its kind in the list, below which a cue is light and
above which it is heavy; engineering choice without a source."""


@dataclass(frozen=True)
class ClipCues:
    """The cues of one hit."""

    hit: HitEntry
    cues: tuple[SoundCue, ...]


@dataclass(frozen=True)
class SoundOffset:
    """How far sound lies from its picture, and whether that is out of sync.

    Parameters
    ----------
    frames : int
        Positive where sound is early.
    samples : int
        At 48 kHz, between two places that are rounded each for itself.
    verdict : {"in sync", "detectable", "unacceptable"}
    """

    frames: int
    milliseconds: Fraction
    samples: int
    verdict: SyncVerdict

    @property
    def words(self) -> str:
        """The verdict, and which way the sound is off."""
        way = "early" if self.frames > 0 else "late"
        return f"{self.verdict}, {way}" if self.frames else self.verdict


@dataclass(frozen=True)
class SpottedCue:
    """A cue where it lies in the programme.

    Parameters
    ----------
    record : FrameRange
        Record frames.
    moment : int or None
        Record frame of the hit itself.
    source_frame : int
        Frame of the clip, counted from 0, at which the cue begins.
    screen, weight : str
        Where it lies on the screen, and how heavy it is.
    speed : float
        Picture widths per second; 0 where none was measured.
    """

    hit: HitEntry
    kind: str
    performer: str
    record: FrameRange
    moment: int | None
    source_frame: int
    screen: Screen
    weight: Weight
    speed: float
    note: str


@dataclass(frozen=True)
class SpottedTrim:
    """A splice, and where production sound that was not cut with the picture comes to lie.

    Parameters
    ----------
    record : int
        Of the first frame after the splice.
    gone : FrameRange
        Frames of the clip.
    own : SoundOffset
        What this trim alone does to what follows it.
    after : SoundOffset
        After this splice, all trims of the showing counted, if the sound lies at its head as it
        lay before.
    """

    clip: Clip
    hits: tuple[str, ...]
    record: int
    gone: FrameRange
    own: SoundOffset
    after: SoundOffset


def spot_cues(showings: Iterable[ClipShowing], hits: Iterable[ClipCues]) -> tuple[SpottedCue, ...]:
    """The cues that the programme shows, in record order.

    A contact frame that was taken out is spotted on the first frame kept after it. A cue that
    begins or ends outside what is shown is cut there.
    """
    cues = [(each.hit, cue) for each in hits for cue in each.cues]
    medians = _median_speeds(cue for _, cue in cues)
    meetings = Meetings((hit.clip.path, cue.frames, at) for at, (hit, cue) in enumerate(cues))
    spotted = (
        _spotted(showing, *cues[at], medians)
        for showing in showings
        for at in sorted(meetings.of(showing.clip.path, showing.frames))
    )
    shown = [cue for cue in spotted if cue is not None]
    return tuple(sorted(shown, key=lambda cue: (cue.record, cue.hit.id)))


def spot_trims(
    showings: Iterable[ClipShowing], removals: Sequence[Removal], rate: Fraction
) -> tuple[SpottedTrim, ...]:
    """Every splice that the programme shows, in record order."""
    meetings = Meetings(
        (each.clip.path, each.frames, (at, each.called)) for at, each in enumerate(removals)
    )
    found = [trim for showing in showings for trim in _trims(showing, meetings, rate)]
    return tuple(sorted(found, key=lambda trim: trim.record))


def sound_offset(early: int, record: int, rate: Fraction) -> SoundOffset:
    """Sound that belongs to record frame ``record`` and comes ``early`` frames before it.

    Parameters
    ----------
    early : int
        Frames; negative where it comes late.
    rate : Fraction
        Frames per second.
    """
    milliseconds = 1000 * early / Fraction(rate)
    samples = sample_at(record, rate) - sample_at(record - early, rate)
    return SoundOffset(early, milliseconds, samples, sync_verdict(milliseconds))


def _trims(
    showing: ClipShowing, removals: Meetings[str, tuple[int, str]], rate: Fraction
) -> Iterator[SpottedTrim]:
    early = showing.sound_early
    for gap in showing.gone.ranges:
        hits = tuple(name for _, name in sorted(removals.of(showing.clip.path, gap)))
        record = showing.place(gap.stop)
        early -= len(gap)
        own = sound_offset(-len(gap), record, rate)
        yield SpottedTrim(showing.clip, hits, record, gap, own, sound_offset(early, record, rate))


def _spotted(
    showing: ClipShowing, hit: HitEntry, cue: SoundCue, medians: Mapping[str, float]
) -> SpottedCue | None:
    frames, note = cue.frames, cue.note
    gap = _taken_out(showing, cue)
    if gap is not None:
        frames = FrameRange(gap.stop, gap.stop + 1)
        note = f"contact frame taken out: on the first frame after it; {note}"
    kept = showing.kept(frames)
    if not kept:
        return None
    (source_frame, first), (_, last) = kept[0], kept[-1]
    inside = showing.frames.start <= frames.start and frames.stop <= showing.frames.stop
    return SpottedCue(
        hit=hit,
        kind=cue.kind,
        performer=cue.performer,
        record=FrameRange(first, last + 1),
        moment=first if gap is not None else _moment(showing, cue),
        source_frame=source_frame,
        screen="on" if inside else "partly on",
        weight=_weight(cue, medians),
        speed=cue.speed,
        note=note,
    )


def _taken_out(showing: ClipShowing, cue: SoundCue) -> FrameRange | None:
    """The gap that took a hit's contact frame."""
    if cue.kind != "hit":
        return None
    return next(iter(showing.gone.inside(cue.frames)), None)


def _moment(showing: ClipShowing, cue: SoundCue) -> int | None:
    return None if cue.moment is None else showing.record(cue.moment)


def _median_speeds(cues: Iterable[SoundCue]) -> Mapping[str, float]:
    speeds = grouped((cue.kind, cue.speed) for cue in cues if cue.speed > 0)
    return {kind: median(found) for kind, found in speeds.items()}


def _weight(cue: SoundCue, medians: Mapping[str, float]) -> Weight:
    if cue.speed <= 0:
        return ""
    ratio = cue.speed / medians[cue.kind]
    if ratio < LIGHT:
        return "light"
    return "heavy" if ratio > HEAVY else "medium"
