"""Production sound cut along with the picture: which samples go where, and how they are faded.

All places and lengths are in samples at 48 kHz.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from impactcut.core.arrays import FloatArray
from impactcut.core.programme.cutlist import Event
from impactcut.core.programme.hit_track import sample_at
from impactcut.core.sound.thumps import SAMPLE_RATE
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange

FADE_SAMPLES = SAMPLE_RATE // 200
"""Five milliseconds: long enough against clicks, short against a frame (no source)."""


@dataclass(frozen=True)
class SoundRun:
    """A run of a clip's sound, and where it goes.

    Parameters
    ----------
    source : FrameRange
        Samples of the clip, 0 at the start of its frame 0. It fades at either end, inside.
    target : int
        Sample of the track at which it starts.
    """

    source: FrameRange
    target: int

    def gain(self, samples: FrameRange) -> FloatArray:
        """Fades as factors, float32 (n,), for ``n`` samples of the clip that lie in the run.

        Quarters of a sine, so that unlike sounds that cross keep their power.
        """
        middle = np.arange(samples.start, samples.stop) + 0.5
        edge = np.minimum(middle - self.source.start, self.source.stop - middle) / FADE_SAMPLES
        return np.asarray(np.sin(np.minimum(edge, 1) * (math.pi / 2)), np.float32)

    def part(self, position: int, sound: FloatArray) -> tuple[int, FloatArray] | None:
        """What of a block of the clip's sound belongs to the run, faded, and where it starts.

        Parameters
        ----------
        position : int
            Sample of the clip at which the block starts.
        sound : float32, shape (n, channels)

        Returns
        -------
        int, and float32, shape (m, channels)
            Sample of the track, and sound to add there; None if the two do not meet.
        """
        start = max(position, self.source.start)
        stop = min(position + len(sound), self.source.stop)
        if start >= stop:
            return None
        inside = sound[start - position : stop - position]
        faded = inside * self.gain(FrameRange(start, stop))[:, None]
        return self.target + start - self.source.start, faded


def placed_sound(
    runs: Sequence[SoundRun], blocks: Iterable[tuple[int, FloatArray]]
) -> Iterator[tuple[int, FloatArray]]:
    """What of a clip's sound its runs take, faded, and where in the track each piece starts.

    Parameters
    ----------
    runs : sequence of SoundRun
        In order.
    blocks : iterable of int and float32, shape (n, channels)
        Sample of the clip at which a block starts, and its samples, in order.
    """
    for position, sound in blocks:
        for run in runs:
            if (part := run.part(position, sound)) is not None:
                yield part


def sound_runs(
    events: Iterable[Event], rate: Fraction, first: int
) -> dict[Clip, tuple[SoundRun, ...]]:
    """The production sound of events laid end to end, by clip.

    Where frames were taken out of a clip, the sound on either side runs on by half a fade into
    what was taken out, and the two cross; where one clip follows another, each fades inside its
    own length.

    Parameters
    ----------
    events : iterable of Event
        In record order.
    rate : Fraction
        Frames per second of all of them.
    first : int
        Record frame with which the track starts.
    """
    listed = list(events)
    runs: dict[Clip, tuple[SoundRun, ...]] = {}
    neighbours = zip([None, *listed], listed, [*listed[1:], None], strict=False)
    for before, event, after in neighbours:
        run = _run(event, rate, sample_at(first, rate), _over(before, event), _over(event, after))
        runs[event.clip] = (*runs.get(event.clip, ()), run)
    return runs


def _run(event: Event, rate: Fraction, origin: int, head: int, tail: int) -> SoundRun:
    target = sample_at(event.record.start, rate) - origin
    length = sample_at(event.record.stop, rate) - origin - target
    start = sample_at(event.source.start, rate)
    return SoundRun(FrameRange(start - head, start + length + tail), target - head)


def _over(before: Event | None, after: Event | None) -> int:
    """Samples by which the sound of two neighbours runs on beyond their cut."""
    joined = before is not None and after is not None and before.clip == after.clip
    return FADE_SAMPLES // 2 if joined else 0
