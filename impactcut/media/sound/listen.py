"""Listening to a clip: everything that is measured of its sound, in one pass."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from impactcut.core.arrays import Float64Array, FloatArray
from impactcut.core.sound.filters import PIECE
from impactcut.core.sound.speech import VoiceLevels
from impactcut.media.sound.levels import LevelMeter
from impactcut.media.sound.production import StereoSound, read_sound
from impactcut.media.sound.voices import VoiceMeter


@dataclass(frozen=True, eq=False)
class Heard:
    """What was measured of a clip's sound."""

    levels: FloatArray
    voices: VoiceLevels


def listen(path: Path) -> Heard:
    """Measure a clip's first sound track, or the one that it marks as the default.

    Raises
    ------
    MediaError
        If the file cannot be read, has no sound, or no decoder for it.
    """
    levels, voices = LevelMeter(), VoiceMeter()
    for position, sound in _gathered(read_sound(path)):
        levels.add(position, sound)
        voices.add(position, sound)
    return Heard(levels.levels(), voices.levels())


def _gathered(
    blocks: Iterable[tuple[int, StereoSound]],
) -> Iterator[tuple[int, Float64Array]]:
    """Both sides' mean, in parts as long as filters like them wherever sound goes on so long."""
    start = end = 0
    held: list[FloatArray] = []
    for position, sound in blocks:
        if held and (position != end or end - start >= PIECE):
            yield start, np.concatenate(held, dtype=np.float64)
            held.clear()
        if not held:
            start = end = position
        held.append(sound.mean(axis=1))
        end += len(sound)
    if held:
        yield start, np.concatenate(held, dtype=np.float64)
