"""What a preview shows, frame by frame: a run as shot, the same run trimmed, then both slowed.

A preview is a row of passages at the clip's own rate. In a slowed passage every frame is held for
``hold`` frames, so that nothing is invented between them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.assemble import ClipPlace, place_clips
from impactcut.core.programme.cutlist import CutList, Event, Removal
from impactcut.core.programme.hit_track import ThumpCue, sample_at
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange, Gaps, without

LEAD_SECONDS = Fraction(3, 5)
"""For which a title stands before a passage."""
AROUND_SECONDS, CLOSE_SECONDS = Fraction(1), Fraction(2, 5)
"""Shown before and after a trim at full speed, and slowed; engineering choices, as the lead is."""
SLOWED_STEPS = 6
"""Frames a second that a slowed passage moves at, unless something else is asked for."""


@dataclass(frozen=True)
class Passage:
    """A run of a clip, as shot or trimmed.

    Parameters
    ----------
    frames : FrameRange
        The run, in frames of the clip.
    removed : tuple of FrameRange
        Trims inside it, in order.
    trimmed : bool
        Whether they are taken out, or only to be marked.
    hold : int
        Frames of the preview for each frame of the clip.
    lead : int
        Frames of the preview that a title stands before it.
    record_start : int or None
        Record frame of its first frame in the programme that it is part of.
    hits : tuple of HitEntry
        Those inside it.
    """

    clip: Clip
    frames: FrameRange
    removed: tuple[FrameRange, ...]
    trimmed: bool
    hold: int
    lead: int
    record_start: int | None
    hits: tuple[HitEntry, ...]

    @property
    def runs(self) -> tuple[FrameRange, ...]:
        """Runs of the clip's frames that are shown, in order."""
        return without(self.frames, self.removed if self.trimmed else ())

    @property
    def shown(self) -> Iterator[int]:
        """The clip's frames that are shown, each once, in order."""
        return (frame for run in self.runs for frame in range(run.start, run.stop))

    @property
    def length(self) -> int:
        """Frames of the preview that the passage takes, with its title."""
        return self.lead + self.hold * sum(map(len, self.runs))

    def place(self, frame: int) -> int:
        """Frame of the passage in which ``frame``, or the first shown after it, comes up."""
        return self.lead + self.hold * Gaps(self.runs).before(frame)

    def is_splice(self, frame: int) -> bool:
        """Whether ``frame`` is the first shown after frames were taken out."""
        return self.trimmed and any(gap.stop == frame for gap in self.removed)

    def is_to_go(self, frame: int) -> bool:
        """Whether ``frame`` is shown, but is to be taken out."""
        return not self.trimmed and any(frame in gap for gap in self.removed)

    def events(self, start: int) -> tuple[Event, ...]:
        """The runs shown, as events, if the passage without its title starts at frame ``start``."""
        lengths = accumulate((len(run) for run in self.runs), initial=start)
        return tuple(Event(self.clip, run, at) for run, at in zip(self.runs, lengths, strict=False))


def usual_hold(rate: Fraction) -> int:
    """For how many frames each is held, so that about `SLOWED_STEPS` a second are seen."""
    return max(2, round(rate / SLOWED_STEPS))


def preview_hit(removal: Removal, hits: Iterable[HitEntry], hold: int) -> tuple[Passage, ...]:
    """Passages that show one hit and one trim, with the hits that fall into the same seconds."""
    clip, gap, contact = removal.clip, removal.frames, removal.hit.impact.contact
    seen = FrameRange(min(gap.start, contact), max(gap.stop, contact + 1))
    wide, close = (_around(clip, seen, s) for s in (AROUND_SECONDS, CLOSE_SECONDS))
    heard = tuple(hits)
    return (*_both(clip, wide, (gap,), heard, 1), *_both(clip, close, (gap,), heard, hold))


def preview_cut(cut: CutList, hits: Iterable[HitEntry], hold: int) -> tuple[Passage, ...]:
    """Passages that show a whole programme as shot and trimmed, then each splice slowed."""
    heard = tuple(hits)
    whole = (*_programme(cut, heard, trimmed=False), *_programme(cut, heard, trimmed=True))
    places = place_clips(cut)
    slowed = (
        passage
        for removal in cut.removals
        for passage in _close_to(places[removal.clip], removal, heard, hold)
    )
    return (*whole, *slowed)


def passage_starts(passages: Sequence[Passage]) -> tuple[int, ...]:
    """Frame of the preview with which each passage starts, and the preview's length at the end."""
    return tuple(accumulate((passage.length for passage in passages), initial=0))


def preview_cues(passages: Sequence[Passage]) -> tuple[ThumpCue, ...]:
    """Thumps for every contact that comes up, in samples of the preview, in order."""
    cues = (
        ThumpCue(
            sample_at(start + passage.place(hit.impact.contact), passage.clip.rate),
            hit.impact.peak_speed,
            hit.id,
        )
        for start, passage in zip(passage_starts(passages), passages, strict=False)
        for hit in passage.hits
    )
    return tuple(sorted(cues))


def _programme(cut: CutList, hits: tuple[HitEntry, ...], *, trimmed: bool) -> Iterator[Passage]:
    for number, (clip, place) in enumerate(place_clips(cut).items()):
        whole = FrameRange(0, clip.frames)
        lead = 0 if number else _lead(clip)
        record = place.new_start if trimmed else place.old_start
        inside = _inside(hits, clip, whole)
        yield Passage(clip, whole, place.gone.ranges, trimmed, 1, lead, record, inside)


def _close_to(
    place: ClipPlace, removal: Removal, hits: tuple[HitEntry, ...], hold: int
) -> tuple[Passage, Passage]:
    window = _around(removal.clip, removal.frames, CLOSE_SECONDS)
    gaps = tuple(gap.shared(window) for gap in place.gone.inside(window))
    return _both(removal.clip, window, gaps, hits, hold)


def _both(
    clip: Clip,
    window: FrameRange,
    gaps: tuple[FrameRange, ...],
    hits: tuple[HitEntry, ...],
    hold: int,
) -> tuple[Passage, Passage]:
    inside, lead = _inside(hits, clip, window), _lead(clip)
    before = Passage(clip, window, gaps, False, hold, lead, None, inside)
    return before, Passage(clip, window, gaps, True, hold, lead, None, inside)


def _around(clip: Clip, frames: FrameRange, seconds: Fraction) -> FrameRange:
    margin = round(seconds * clip.rate)
    return FrameRange(max(0, frames.start - margin), min(clip.frames, frames.stop + margin))


def _inside(hits: tuple[HitEntry, ...], clip: Clip, window: FrameRange) -> tuple[HitEntry, ...]:
    return tuple(hit for hit in hits if hit.clip == clip and hit.impact.contact in window)


def _lead(clip: Clip) -> int:
    return round(LEAD_SECONDS * clip.rate)
