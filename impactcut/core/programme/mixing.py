"""Mixing scratch hits with production sound, block by block, so that nothing goes over full scale.

Thumps are laid as they are; while they last, the production sound gives way by as much as they can
peak, so that it and they together stay within what the production sound alone may reach.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from operator import attrgetter

import numpy as np

from impactcut.core.arrays import FloatArray
from impactcut.core.programme.hit_track import ThumpCue
from impactcut.core.programme.sound_runs import FADE_SAMPLES
from impactcut.core.sound.thumps import SAMPLE_RATE, THUMP_SAMPLES, MonoSound, peak_level, thump
from impactcut.core.time.frames import FrameRange

BLOCK_SAMPLES = SAMPLE_RATE
_sample = attrgetter("sample")

PlacedSound = tuple[int, FloatArray]


def blocks_of(samples: int) -> Iterator[FrameRange]:
    """Blocks of a second that make up a track of so many samples; the last may be shorter."""
    for start in range(0, samples, BLOCK_SAMPLES):
        yield FrameRange(start, min(start + BLOCK_SAMPLES, samples))


def thump_track(cues: Sequence[ThumpCue], samples: int) -> Iterator[FloatArray]:
    """Thumps alone, as blocks of float32, shape (n, 1); ``cues`` in order."""
    factor = _overlap_factor(cues)
    for block in blocks_of(samples):
        yield factor * _thumps(cues, block)[:, None]


def mixed_track(
    production: Iterable[PlacedSound], cues: Sequence[ThumpCue], samples: int
) -> Iterator[FloatArray]:
    """Production sound and thumps, as blocks of float32, shape (n, 2).

    Parameters
    ----------
    production : iterable of int and float32, shape (m, 2)
        Where runs of sound start, and their samples. None starts earlier than the one before it
        by more than `FADE_SAMPLES`.
    cues : sequence of ThumpCue
        In order.
    samples : int
        Length of the track; what lies outside it is left out.
    """
    factor = _overlap_factor(cues)
    for block, sound in zip(blocks_of(samples), _gathered(production, samples), strict=True):
        room = 1 - np.minimum(factor * _levels(cues, block), 1)
        yield sound * room[:, None] + factor * _thumps(cues, block)[:, None]


def _gathered(production: Iterable[PlacedSound], samples: int) -> Iterator[FloatArray]:
    source, waiting, more = iter(production), list[PlacedSound](), True
    for block in blocks_of(samples):
        while more and not (waiting and waiting[-1][0] >= block.stop + FADE_SAMPLES):
            placed = next(source, None)
            more = placed is not None
            waiting += [] if placed is None else [placed]
        yield _summed(waiting, block)
        waiting = [(at, sound) for at, sound in waiting if at + len(sound) > block.stop]


def _summed(placed: Iterable[PlacedSound], block: FrameRange) -> FloatArray:
    total = np.zeros((len(block), 2), np.float32)
    for at, sound in placed:
        start, stop = max(at, block.start), min(at + len(sound), block.stop)
        if start < stop:
            total[start - block.start : stop - block.start] += sound[start - at : stop - at]
    return total


def _thumps(cues: Sequence[ThumpCue], block: FrameRange) -> MonoSound:
    total = np.zeros(len(block), np.float32)
    for cue in _near(cues, block):
        start, stop = max(cue.sample, block.start), min(cue.sample + THUMP_SAMPLES, block.stop)
        if start < stop:
            sound = thump(cue.speed, cue.seed)[start - cue.sample : stop - cue.sample]
            total[start - block.start : stop - block.start] += sound
    return total


def _levels(cues: Sequence[ThumpCue], block: FrameRange) -> MonoSound:
    """How high the thumps can peak at each sample, with a ramp before and after each."""
    total = np.zeros(len(block), np.float32)
    at = np.arange(block.start, block.stop)
    for cue in _near(cues, block):
        beyond = np.maximum(cue.sample - at, at - (cue.sample + THUMP_SAMPLES - 1))
        ramp = np.clip(1 - beyond / FADE_SAMPLES, 0, 1)
        total += (peak_level(cue.speed) * ramp).astype(np.float32)
    return total


def _near(cues: Sequence[ThumpCue], block: FrameRange) -> Sequence[ThumpCue]:
    """The cues whose thump, or whose ramp, may reach into the block."""
    first = bisect_left(cues, block.start - THUMP_SAMPLES - FADE_SAMPLES, key=_sample)
    return cues[first : bisect_left(cues, block.stop + FADE_SAMPLES, key=_sample)]


def _overlap_factor(cues: Sequence[ThumpCue]) -> np.float32:
    """What thumps are lowered by so that those that sound at once cannot pass full scale."""
    highest = 1.0
    for index, cue in enumerate(cues):
        together = cues[bisect_left(cues, cue.sample - THUMP_SAMPLES, key=_sample) : index + 1]
        highest = max(highest, sum(peak_level(each.speed) for each in together))
    return np.float32(1 / highest)
