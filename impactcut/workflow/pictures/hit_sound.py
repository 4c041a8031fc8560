"""The sound of a hit's moment, for a page: production sound, and the scratch hit, as small WAV."""

from __future__ import annotations

import io
import wave
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from impactcut.core.programme.hit_track import sample_at
from impactcut.core.sound.thumps import SAMPLE_RATE, thump
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.media.sound.production import read_sound
from impactcut.workflow.export.sounding import sort_out_sound

_HALVED: Final = 2
_FULL_SCALE: Final = 32767


def production_wav(clip: Clip, frames: FrameRange) -> bytes | None:
    """The sound recorded with frames of a clip; it begins where the first of them does.

    Returns
    -------
    bytes or None
        A WAV file, mono, 24 kHz; None where the clip has no sound that keeps to its picture.

    Raises
    ------
    MediaError
        If the clip cannot be read.
    """
    if clip not in sort_out_sound([clip]).clips:
        return None
    start, stop = (sample_at(frame, clip.rate) for frame in (frames.start, frames.stop))
    sound = np.zeros(stop - start, np.float32)
    for position, block in read_sound(Path(clip.path), start=start, stop=stop):
        sound[position - start : position - start + len(block)] = block.mean(axis=1)
    return _wav(sound)


def thump_wav(speed: float, seed: int) -> bytes:
    """The scratch hit for a peak speed (picture widths a second): a WAV file, mono, 24 kHz."""
    return _wav(thump(speed, seed))


def _wav(sound: NDArray[np.float32]) -> bytes:
    """48 kHz sound as 24 kHz WAV, each sample the mean of two: enough to judge a moment by."""
    whole = len(sound) // _HALVED * _HALVED
    halved = sound[:whole].reshape(-1, _HALVED).mean(axis=1)
    words = np.rint(np.clip(halved, -1, 1) * _FULL_SCALE).astype("<i2")
    file = io.BytesIO()
    with wave.open(file, "wb") as writer:
        writer.setnchannels(1)
        writer.setsampwidth(2)
        writer.setframerate(SAMPLE_RATE // _HALVED)
        writer.writeframes(words.tobytes())
    return file.getvalue()
