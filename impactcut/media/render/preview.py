"""Previews as films: H.264 in MP4 at the clip's exact rate, with sound.

Written by the same versions of the program and of FFmpeg on one machine, a preview is the same byte
for byte: the number of encoder threads is fixed and no date is written. Other versions, or another
kind of processor, may encode the same pictures otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Final

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.audio.stream import AudioStream
from av.container import OutputContainer
from av.video.frame import VideoFrame
from av.video.reformatter import (
    ColorPrimaries,
    ColorRange,
    Colorspace,
    ColorTrc,
    Interpolation,
    VideoReformatter,
)
from av.video.stream import VideoStream
from numpy.typing import NDArray

from impactcut.core.programme.hit_track import sample_at
from impactcut.core.programme.mixing import PlacedSound, mixed_track
from impactcut.core.programme.preview import Passage, passage_starts, preview_cues
from impactcut.core.programme.sound_runs import placed_sound, sound_runs
from impactcut.core.sound.thumps import SAMPLE_RATE
from impactcut.core.takes.clip import Clip
from impactcut.errors import OutputError
from impactcut.media.decode.own_films import mark_as_own
from impactcut.media.render.pictures import stream_pictures
from impactcut.media.render.preview_frame import (
    Canvas,
    Labels,
    canvas_for,
    draw_frame,
    draw_title,
    picture_width,
)
from impactcut.media.sound.production import StereoSound, read_sound

_ENCODER: Final = "libx264"
_THREADS: Final = 4
_OPTIONS: Final = {"crf": "18", "preset": "veryfast", "bf": "0"}
_SOUND_BITS: Final = 192_000

OnFrame = Callable[[int, NDArray[np.uint8]], None]
OnClipLoss = Callable[[Clip, str], None]


@dataclass(frozen=True)
class PreviewFilm:
    """What goes into a preview.

    Parameters
    ----------
    passages : sequence of Passage
        All at one rate.
    labels : sequence of Labels
        One for each passage.
    sounding : frozenset of Clip
        Clips whose production sound is to be heard.
    """

    passages: Sequence[Passage]
    labels: Sequence[Labels]
    sounding: frozenset[Clip]

    @property
    def rate(self) -> Fraction:
        """Frames per second."""
        return self.passages[0].clip.rate

    @property
    def frames(self) -> int:
        """Frames of the whole preview."""
        return passage_starts(self.passages)[-1]


def write_preview(path: Path, film: PreviewFilm, on_frame: OnFrame, on_loss: OnClipLoss) -> None:
    """Render a preview into the file ``path``, whatever its name.

    Parameters
    ----------
    on_frame : callable
        Called with the number of frames done and the last one's pixels, after each.
    on_loss : callable
        Called with a clip, and what FFmpeg says of each packet of its sound that does not decode.

    Raises
    ------
    MediaError
        If a clip cannot be read, or lacks frames.
    OutputError
        If this installation of FFmpeg has no H.264 encoder.
    OSError
        If the file cannot be written.
    """
    clips = dict.fromkeys(passage.clip for passage in film.passages)
    canvas = canvas_for([(clip.width, clip.height) for clip in clips])
    with av.open(
        f"file:{path}", "w", format="mp4", options={"movflags": "+faststart"}
    ) as container:
        mark_as_own(container)
        video, audio = _add_video(container, film.rate, canvas), _add_audio(container)
        pictures, sounds = _pictures(film, canvas), _sounds(film, on_loss)
        scaler = VideoReformatter()
        for index, (pixels, sound) in enumerate(zip(pictures, sounds, strict=True)):
            container.mux(video.encode(_video_frame(pixels, scaler, index, film.rate)))
            container.mux(audio.encode(_audio_frame(sound, sample_at(index, film.rate))))
            on_frame(index + 1, pixels)
        container.mux(video.encode(None))
        container.mux(audio.encode(None))


def _add_video(container: OutputContainer, rate: Fraction, canvas: Canvas) -> VideoStream:
    if _ENCODER not in av.codecs_available:
        raise OutputError(
            "this installation of PyAV cannot encode H.264; install PyAV from its binary wheels"
        )
    options = {**_OPTIONS, "g": str(max(2, round(rate)))}
    stream: VideoStream = container.add_stream(_ENCODER, rate=rate, options=options)
    stream.width, stream.height, stream.pix_fmt = canvas.width, canvas.height, "yuv420p"
    context = stream.codec_context
    context.time_base = 1 / rate
    context.thread_count = _THREADS
    context.color_range, context.colorspace = ColorRange.MPEG, Colorspace.ITU709
    context.color_primaries, context.color_trc = ColorPrimaries.BT709, ColorTrc.BT709
    return stream


def _add_audio(container: OutputContainer) -> AudioStream:
    stream: AudioStream = container.add_stream("aac", rate=SAMPLE_RATE, layout="stereo")
    stream.bit_rate = _SOUND_BITS
    return stream


def _video_frame(
    pixels: NDArray[np.uint8], scaler: VideoReformatter, index: int, rate: Fraction
) -> VideoFrame:
    frame = scaler.reformat(
        VideoFrame.from_ndarray(pixels, format="bgr24"),
        format="yuv420p",
        dst_colorspace=Colorspace.ITU709,
        dst_color_range=ColorRange.MPEG,
        interpolation=Interpolation.AREA | Interpolation.ACCURATE_RND,
    )
    frame.pts, frame.time_base = index, 1 / rate
    return frame


def _audio_frame(sound: StereoSound, position: int) -> AudioFrame:
    frame = AudioFrame.from_ndarray(np.ascontiguousarray(sound.T), format="fltp", layout="stereo")
    frame.sample_rate, frame.pts = SAMPLE_RATE, position
    frame.time_base = Fraction(1, SAMPLE_RATE)
    return frame


def _pictures(film: PreviewFilm, canvas: Canvas) -> Iterator[NDArray[np.uint8]]:
    for passage, labels in zip(film.passages, film.labels, strict=True):
        if passage.lead:
            title = draw_title(canvas, passage, labels)
            yield from (title for _ in range(passage.lead))
        clip, shown = passage.clip, frozenset(passage.shown)
        wide = picture_width(clip.width, clip.height)
        path = Path(clip.path)
        for picture in stream_pictures(path, passage.frames, width=wide, frames=clip.frames):
            if picture.index in shown:
                drawn = draw_frame(canvas, passage, labels, picture.index, picture.pixels)
                yield from (drawn for _ in range(passage.hold))


def _sounds(film: PreviewFilm, on_loss: OnClipLoss) -> Iterator[StereoSound]:
    """Sound of each frame of the preview in turn."""
    bounds = [sample_at(frame, film.rate) for frame in range(film.frames + 1)]
    mixed = mixed_track(_production(film, on_loss), preview_cues(film.passages), bounds[-1])
    ready = np.zeros((0, 2), np.float32)
    for length in (right - left for left, right in pairwise(bounds)):
        while len(ready) < length:
            ready = np.concatenate([ready, next(mixed)])
        yield ready[:length]
        ready = ready[length:]


def _production(film: PreviewFilm, on_loss: OnClipLoss) -> Iterator[PlacedSound]:
    for passage, start in zip(film.passages, passage_starts(film.passages), strict=False):
        clip = passage.clip
        if passage.hold == 1 and clip in film.sounding:
            runs = sound_runs(passage.events(start + passage.lead), clip.rate, 0)[clip]
            first, stop = runs[0].source.start, runs[-1].source.stop
            blocks = read_sound(
                Path(clip.path), start=first, stop=stop, on_loss=partial(on_loss, clip)
            )
            yield from placed_sound(runs, blocks)
