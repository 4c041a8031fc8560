"""Where in a programme's sound each scratch hit belongs.

A frame's place is ``round(frame * 48000 / rate)``, counted from midnight in the record clock, and a
place in a track is the difference of two such places. Lengths of frames, rounded one by one, are
never added up: 29.97 frames a second are 1601.6 samples each.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.assemble import place_clips
from impactcut.core.programme.cutlist import CutList
from impactcut.core.sound.thumps import SAMPLE_RATE


@dataclass(frozen=True, order=True)
class ThumpCue:
    """A thump to lay: the sample at which it starts, and what shapes it (see `thump`)."""

    sample: int
    speed: float
    seed: int


def sample_at(frame: int, rate: Fraction) -> int:
    """Sample, at 48 kHz, on which a frame starts; both count from the same instant."""
    return round(frame * SAMPLE_RATE / rate)


def time_reference(cut: CutList) -> int:
    """Samples from midnight to the programme's first frame."""
    return sample_at(cut.record_start, cut.timebase.rate)


def track_samples(cut: CutList) -> int:
    """Length of the sound of a whole programme, in samples."""
    return sample_at(cut.record.stop, cut.timebase.rate) - time_reference(cut)


def hit_cues(cut: CutList, hits: Iterable[HitEntry]) -> tuple[ThumpCue, ...]:
    """Thumps on the contact frames of a programme's hits, in order, counted from its start.

    A hit whose contact frame was taken out sounds on the first frame kept after it; hits of clips
    that are not in the programme are left out.
    """
    places, origin = place_clips(cut), time_reference(cut)
    cues = (
        ThumpCue(
            sample_at(places[hit.clip].new_record(hit.impact.contact), cut.timebase.rate) - origin,
            hit.impact.peak_speed,
            hit.id,
        )
        for hit in hits
        if hit.clip in places
    )
    return tuple(sorted(cues))
