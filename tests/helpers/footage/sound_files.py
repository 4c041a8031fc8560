"""Small clips with numbered pictures and known sound, written with PyAV."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from tests.helpers.footage.media_files import Recipe, grey_frame, numbered

PCM = "pcm_s24le"


@dataclass(frozen=True)
class SoundRecipe:
    """How a clip's sound is written.

    ``late`` is by how many frames its pictures start late; from picture ``hole[0]`` up to
    ``hole[1]`` no sound is written.
    """

    codec: str = PCM
    sample_rate: int = 48000
    layout: str = "mono"
    late: int = 0
    tracks: int = 1
    hole: tuple[int, int] = (0, 0)


def write_sounding(
    path: Path,
    sound: NDArray[np.floating],
    recipe: SoundRecipe = SoundRecipe(),
    *,
    rate: Fraction = Fraction(25),
    frames: int = 50,
    codec: str = "libx264",
) -> Path:
    """A clip of numbered frames with ``sound``, shape (n, channels), from the file's start on."""
    picture = Recipe(codec)
    with av.open(str(path), "w") as container:
        video = container.add_stream(codec, rate=rate)
        video.width, video.height, video.pix_fmt = 320, 180, "yuv420p"
        tracks = [
            container.add_stream(recipe.codec, rate=recipe.sample_rate, layout=recipe.layout)
            for _ in range(recipe.tracks)
        ]
        bounds = [round(n * recipe.sample_rate / rate) for n in range(frames + 1)]
        for number in range(frames):
            frame = grey_frame(numbered(number % 256), picture)
            frame.pts, frame.time_base = number + recipe.late, 1 / rate
            container.mux(video.encode(frame))
            part = sound[bounds[number] : bounds[number + 1]]
            for track in tracks:
                if len(part) and not recipe.hole[0] <= number < recipe.hole[1]:
                    container.mux(track.encode(_audio_frame(part, bounds[number], recipe)))
        for stream in (video, *tracks):
            container.mux(stream.encode(None))
    return path


def _audio_frame(sound: NDArray[np.floating], position: int, recipe: SoundRecipe) -> av.AudioFrame:
    words = np.clip(np.rint(sound.astype(float) * 2**31), -(2**31), 2**31 - 1).astype(np.int32)
    frame = av.AudioFrame.from_ndarray(words.reshape(1, -1), "s32", recipe.layout)
    frame.sample_rate, frame.pts = recipe.sample_rate, position
    frame.time_base = Fraction(1, recipe.sample_rate)
    return frame
