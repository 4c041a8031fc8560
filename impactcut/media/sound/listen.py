"""Listening to a clip: everything that is measured of its sound, in one pass."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from impactcut.core.arrays import FloatArray
from impactcut.core.sound.speech import VoiceLevels
from impactcut.media.sound.levels import LevelMeter
from impactcut.media.sound.production import read_sound
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
    for position, sound in read_sound(path):
        if len(sound):
            mono = sound.mean(axis=1)
            levels.add(position, mono)
            voices.add(position, mono)
    return Heard(levels.levels(), voices.levels())
