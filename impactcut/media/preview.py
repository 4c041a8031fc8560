"""Previews as films: H.264 in MP4 at the clip's exact rate, with sound.

Written by the same versions of the program and of FFmpeg on one machine, a preview is the same byte
for byte: the number of encoder threads is fixed and no date is written. Other versions, or another
kind of processor, may encode the same pictures otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
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

from impactcut.core.clip import Clip
from impactcut.core.hit_track import ThumpCue, sample_at, thump_runs
from impactcut.core.preview import Passage, passage_starts, preview_cues
from impactcut.core.sound_runs import sound_runs
from impactcut.core.thumps import SAMPLE_RATE, THUMP_SAMPLES, thump
from impactcut.errors import OutputError
from impactcut.media.pictures import stream_pictures
from impactcut.media.preview_frame import (
    Canvas,
    Labels,
    canvas_for,
    draw_frame,
    draw_title,
    picture_width,
)
from impactcut.media.production_sound import OnSoundLoss, StereoSound, read_sound

PRODUCTION_GAIN: Final = 0.5
"""Production sound is 6 dB down, so that it and a thump together stay below full scale."""

_ENCODER: Final = "libx264"
_THREADS: Final = 4
_OPTIONS: Final = {"crf": "18", "preset": "veryfast", "bf": "0"}
_SOUND_BITS: Final = 192_000

OnFrame = Callable[[int], None]


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


def write_preview(path: Path, film: PreviewFilm, on_frame: OnFrame, on_loss: OnSoundLoss) -> None:
    """Render a preview into the file ``path``, whatever its name.

    Parameters
    ----------
    on_frame : callable
        Called with the number of frames done, after each.
    on_loss : callable
        Called with what FFmpeg says of sound that does not decode.

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
        video, audio = _add_video(container, film.rate, canvas), _add_audio(container)
        pictures, sounds = _pictures(film, canvas), _sounds(film, on_loss)
        scaler = VideoReformatter()
        for index, (pixels, sound) in enumerate(zip(pictures, sounds, strict=True)):
            container.mux(video.encode(_video_frame(pixels, scaler, index, film.rate)))
            container.mux(audio.encode(_audio_frame(sound, sample_at(index, film.rate))))
            on_frame(index + 1)
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


def _sounds(film: PreviewFilm, on_loss: OnSoundLoss) -> Iterator[StereoSound]:
    """Sound of each frame of the preview in turn."""
    cues = preview_cues(film.passages)
    starts = passage_starts(film.passages)
    factor = np.float32(1 / max(1.0, PRODUCTION_GAIN + _loudest(cues)))
    carried = np.zeros((THUMP_SAMPLES, 2), np.float32)
    for passage, (start, stop) in zip(film.passages, pairwise(starts), strict=True):
        bounds = [sample_at(frame, film.rate) for frame in range(start, stop + 1)]
        samples = bounds[-1] - bounds[0]
        strip = np.zeros((samples + THUMP_SAMPLES, 2), np.float32)
        strip[:THUMP_SAMPLES] += carried
        if passage.hold == 1 and passage.clip in film.sounding:
            _lay_production(strip, passage, start, on_loss)
        inside = [cue for cue in cues if bounds[0] <= cue.sample < bounds[-1]]
        _lay_thumps(strip, inside, bounds[0])
        carried = strip[samples:].copy()
        np.clip(strip * factor, -1, 1, out=strip)
        for left, right in pairwise(bounds):
            yield strip[left - bounds[0] : right - bounds[0]]


def _lay_production(strip: StereoSound, passage: Passage, start: int, on_loss: OnSoundLoss) -> None:
    clip = passage.clip
    runs = sound_runs(passage.events(start + passage.lead), clip.rate, start)[clip]
    span = runs[0].source.start, runs[-1].source.stop
    for position, block in read_sound(
        Path(clip.path), start=span[0], stop=span[1], on_loss=on_loss
    ):
        for run in runs:
            if (part := run.part(position, block)) is not None:
                at, sound = part
                strip[at : at + len(sound)] += PRODUCTION_GAIN * sound


def _lay_thumps(strip: StereoSound, cues: Sequence[ThumpCue], origin: int) -> None:
    placed = (ThumpCue(cue.sample - origin, cue.speed, cue.seed) for cue in cues)
    for at, sound in thump_runs(placed, len(strip)):
        strip[at : at + len(sound)] += sound[:, None]


def _loudest(cues: Sequence[ThumpCue]) -> float:
    """Highest sample that thumps add up to, where several sound at once."""
    loudest, start, strip = 0.0, 0, np.zeros(0, np.float32)
    for cue in cues:
        if cue.sample - start >= len(strip):
            start, strip = cue.sample, np.zeros(0, np.float32)
        at = cue.sample - start
        strip = np.pad(strip, (0, at + THUMP_SAMPLES - len(strip)))
        strip[at:] += thump(cue.speed, cue.seed)
        loudest = max(loudest, float(np.abs(strip).max()))
    return loudest
