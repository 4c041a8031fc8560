"""How loud voices are in a clip's sound, many times a second, and whether there is pitch in it."""

from __future__ import annotations

from typing import Final

import numpy as np

from impactcut.core.arrays import Float64Array
from impactcut.core.sound.filters import Butterworth
from impactcut.core.sound.speech import VOICES_PER_SECOND, VoiceLevels
from impactcut.core.sound.thumps import SAMPLE_RATE

BAND_HERTZ: Final = (300, 3400)
"""Telephone speech, ITU-T G.712 [from memory]: speech is understood in it, rumble is not in it."""
_EVERY: Final = 6
_RATE: Final = SAMPLE_RATE // _EVERY
_HOP: Final = _RATE // VOICES_PER_SECOND
_WINDOW: Final = _RATE // 25
"""40 ms: two periods and more of the deepest voice."""
PITCH: Final = slice(_RATE // 400, _RATE // 70 + 1)
"""Lags of a voice's pitch, from 400 Hz (a child, a shout) to 70 Hz (a deep man), common figures
without a source. The sound must repeat itself better there than at any lag of `SHORTER`: metal that
rings repeats itself at all of them."""
SHORTER: Final = slice(5, 18)
VOICED: Final = 0.5
"""Least correlation of the sound with itself one pitch period later. Engineering choice: between
noise, near 0, and a sung vowel, near 1."""
_LAGS: Final = 160
_CHUNK: Final = 10 * _RATE
_SILENCE: Final = 1e-9


class VoiceMeter:
    """Measures sound block by block; memory stays flat but for what it returns."""

    def __init__(self) -> None:
        self._filter = Butterworth(4, *(edge / SAMPLE_RATE for edge in BAND_HERTZ))
        self._found: list[tuple[int, VoiceLevels]] = []
        self._start = self._next = self._first = 0
        self._kept: list[Float64Array] = []
        self._begin(0)

    def add(self, position: int, sound: Float64Array) -> None:
        """Measure the samples (mono, 48 kHz) that begin at sample ``position``, in order."""
        if position != self._next:
            self._measure()
            self._begin(position)
        filtered = self._filter(sound)
        self._kept.append(filtered[-(self._next - self._start) % _EVERY :: _EVERY])
        self._next += len(sound)
        if sum(map(len, self._kept)) >= _CHUNK:
            self._measure()

    def levels(self) -> VoiceLevels:
        """What was measured; where there was no sound it is silent."""
        self._measure()
        size = max((first + len(part.level) for first, part in self._found), default=0)
        level, voiced = np.zeros(size, np.float32), np.zeros(size, bool)
        for first, part in self._found:
            level[first : first + len(part.level)] = part.level
            voiced[first : first + len(part.level)] = part.voiced
        return VoiceLevels(level, voiced)

    def _begin(self, position: int) -> None:
        self._start = self._next = position
        self._filter.rest()
        self._kept = []
        self._first = round((position / SAMPLE_RATE + _WINDOW / 2 / _RATE) * VOICES_PER_SECOND)

    def _measure(self) -> None:
        """Measure what is kept, but for the end that the next windows share."""
        sound = np.concatenate([np.zeros(0), *self._kept])
        count = max((len(sound) - _WINDOW) // _HOP + 1, 0)
        if count:
            windows = np.lib.stride_tricks.sliding_window_view(sound, _WINDOW)[::_HOP][:count]
            self._found.append((self._first, voice_levels(windows)))
        self._first += count
        self._kept = [sound[count * _HOP :]]


def voice_levels(windows: Float64Array) -> VoiceLevels:
    """Level and pitch of windows of band-passed sound, (n, window), 8 kHz."""
    spectrum = np.fft.rfft(windows, 2 * _WINDOW, axis=1)
    lagged = np.fft.irfft(np.abs(spectrum) ** 2, axis=1)[:, :_LAGS]
    overlap = _WINDOW / (_WINDOW - np.arange(_LAGS))
    alike = lagged / np.maximum(lagged[:, :1], _SILENCE) * overlap
    pitched = alike[:, PITCH].max(axis=1)
    voiced = (pitched > VOICED) & (pitched > alike[:, SHORTER].max(axis=1))
    return VoiceLevels((lagged[:, 0] / _WINDOW).astype(np.float32), voiced)
