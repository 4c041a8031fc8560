"""Butterworth filters (1930), by the spectrum of the sound.

They are the digital ones that the bilinear transform gives, as `scipy.signal.butter` makes them and
as a test compares; loading that package costs every process that measures a second and 50 MiB.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from impactcut.core.arrays import Float64Array

PIECE: Final = 15 * 4096
"""Samples that are filtered at once, so that with the ring they fill a spectrum of 65,536."""
_RING: Final = 4096
"""Samples after the end of a sound in which what it rings with falls below rounding: with edges at
200 Hz and above, at 48 kHz and up to order 4, by 1e-16 within 3,200."""

Response = NDArray[np.complex128]


class Butterworth:
    """A filter that is given a sound part by part, each following on from the one before.

    Parameters
    ----------
    order : int
        Of the prototype; a band has twice as many poles.
    low, high : float
        Edges of the band, as parts of the sampling rate; without ``high`` all above passes.
    """

    def __init__(self, order: int, low: float, high: float | None = None) -> None:
        self._order, self._low, self._high = order, low, high
        self.rest()

    def rest(self) -> None:
        """Forget what was heard before."""
        self._ringing: Float64Array = np.zeros(_RING)

    def __call__(self, sound: NDArray[np.floating]) -> Float64Array:
        """What the filter lets through, float64, of the length of ``sound``."""
        starts = range(0, len(sound), PIECE)
        parts = [self._piece(sound[start : start + PIECE]) for start in starts]
        return np.concatenate([np.zeros(0), *parts])

    def _piece(self, sound: NDArray[np.floating]) -> Float64Array:
        whole = len(sound) + _RING
        size = 1 << (whole - 1).bit_length()
        spectrum = np.fft.rfft(sound.astype(np.float64), size)
        passed = np.fft.irfft(spectrum * _response(self._order, self._low, self._high, size), size)
        passed[:_RING] += self._ringing
        self._ringing = passed[len(sound) : whole]
        return passed[: len(sound)]


@lru_cache(maxsize=4)
def _response(order: int, low: float, high: float | None, size: int) -> Response:
    """What becomes of each frequency of a spectrum."""
    analogue = 1j * np.tan(np.pi * np.fft.rfftfreq(size)[1:])
    bottom = math.tan(math.pi * low)
    if high is None:
        place = bottom / analogue
    else:
        top = math.tan(math.pi * high)
        place = (analogue**2 + bottom * top) / (analogue * (top - bottom))
    turns = np.arange(order + 1, 3 * order, 2) / (2 * order)
    through = [-pole / (place - pole) for pole in np.exp(1j * np.pi * turns)]
    return np.concatenate([[0], np.prod(through, axis=0)])
