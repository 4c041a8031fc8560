"""The sound that was recorded with a clip, as samples that keep to its picture."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain
from pathlib import Path

import numpy as np
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.error import EOFError as EndOfFile
from av.error import FFmpegError
from av.stream import Discard, Disposition
from numpy.typing import NDArray

from impactcut.core.sound.thumps import SAMPLE_RATE
from impactcut.errors import NotMediaError
from impactcut.media.decode.open import open_video, raise_media_error
from impactcut.media.decode.packets import first_frame

StereoSound = NDArray[np.float32]
OnSoundLoss = Callable[[str], None]

_MOST_JITTER = Fraction(1, 50)
_JUMP_BEYOND, _RUN_UP = 10 * SAMPLE_RATE, SAMPLE_RATE


def read_sound(
    path: Path, *, start: int = 0, stop: int | None = None, on_loss: OnSoundLoss | None = None
) -> Generator[tuple[int, StereoSound], None, None]:
    """Decode the first sound track of a clip, or the one that it marks as the default.

    Parameters
    ----------
    path : Path
        A clip.
    start, stop : int
        First sample wanted and the one after the last, at 48 kHz; sample 0 is the instant at
        which the clip's first decoded frame is shown.
    on_loss : callable, optional
        Called with what FFmpeg says of each packet that does not decode.

    Yields
    ------
    int, and float32, shape (n, 2)
        Sample at which a block starts, and its samples at full scale 1, in order, never twice.
        Where the file has no sound no block lies. Mono goes to both sides; of more than two
        channels, which on a camera are separate microphones, the mean does.

    Raises
    ------
    MediaError
        If the file cannot be opened or read, has no sound, or no decoder for it.
    """
    zero = _first_shown(path)
    for jump in (start > _JUMP_BEYOND, False):
        with _open_sound(path) as (container, stream):
            if jump:
                _jump(path, container, stream, zero + Fraction(start - _RUN_UP, SAMPLE_RATE))
            blocks = _placed(_decoded(path, container, stream, on_loss or _unheard), zero)
            first = next(blocks, None)
            if jump and (first is None or first[0] > start):
                continue
            yield from _clipped(chain([] if first is None else [first], blocks), start, stop)
            return


def count_sound_tracks(path: Path) -> int:
    """How many sound tracks a clip has.

    Raises
    ------
    MediaError
        If the file cannot be opened.
    """
    with open_video(path) as (container, _):
        return len(container.streams.audio)


def _first_shown(path: Path) -> Fraction:
    """Seconds on the file's clock at which frame 0 is shown."""
    with open_video(path) as (container, stream):
        frame = first_frame(path, container, stream)
        if frame.pts is None or frame.time_base is None:
            return Fraction(0)
        return frame.pts * frame.time_base


@contextmanager
def _open_sound(path: Path) -> Iterator[tuple[InputContainer, AudioStream]]:
    with open_video(path) as (container, _):
        tracks = container.streams.audio
        if not tracks:
            raise NotMediaError(f"{path}: has no sound; name a clip that was recorded with sound")
        chosen = max(tracks, key=lambda track: bool(track.disposition & Disposition.default))
        if chosen.codec_context is None:
            raise NotMediaError(f"{path}: no decoder is known for its sound; transcode it")
        for other in container.streams:
            if other.index != chosen.index:
                other.discard = Discard.all
        yield container, chosen


def _jump(path: Path, container: InputContainer, stream: AudioStream, seconds: Fraction) -> None:
    try:
        container.seek(int(seconds / (stream.time_base or 1)), stream=stream)
    except FFmpegError as error:
        if isinstance(error, OSError):
            raise_media_error(path, error)


def _decoded(
    path: Path, container: InputContainer, stream: AudioStream, on_loss: OnSoundLoss
) -> Iterator[AudioFrame]:
    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets, None)
            frames = stream.decode(packet)  # None drains the decoder
        except EndOfFile:
            return
        except FFmpegError as error:
            if isinstance(error, OSError):
                raise_media_error(path, error)
            on_loss(str(error.strerror))
            continue
        yield from frames
        if packet is None:
            return


@dataclass(frozen=True)
class _Form:
    sample_format: str
    layout: str
    rate: int


def _placed(
    frames: Iterable[AudioFrame], zero: Fraction
) -> Generator[tuple[int, StereoSound], None, None]:
    """Sound at 48 kHz, placed by its time stamps wherever they do not simply follow on."""
    form: _Form | None = None
    resampler = AudioResampler()
    seconds, position = -zero, 0
    for frame in frames:
        stamped = _seconds(frame, zero, seconds)
        this = _Form(frame.format.name, frame.layout.name, frame.sample_rate)
        if this != form or abs(stamped - seconds) > _MOST_JITTER:
            if form is not None:
                yield from _resampled(resampler, None, position)
            form, resampler = this, AudioResampler(format="flt", rate=SAMPLE_RATE)
            seconds, position = stamped, round(stamped * SAMPLE_RATE)
        for block in _resampled(resampler, frame, position):
            yield block
            position = block[0] + len(block[1])
        seconds += Fraction(frame.samples, frame.sample_rate)
    if form is not None:
        yield from _resampled(resampler, None, position)


def _seconds(frame: AudioFrame, zero: Fraction, expected: Fraction) -> Fraction:
    if frame.pts is None or frame.time_base is None:
        return expected
    return frame.pts * frame.time_base - zero


def _resampled(
    resampler: AudioResampler, frame: AudioFrame | None, position: int
) -> Iterator[tuple[int, StereoSound]]:
    for done in resampler.resample(frame):
        channels = done.layout.nb_channels
        sound = _both_sides(np.asarray(done.to_ndarray(), np.float32).reshape(-1, channels))
        yield position, sound
        position += len(sound)


def _both_sides(sound: NDArray[np.float32]) -> StereoSound:
    if sound.shape[1] == 2:
        return sound
    return np.repeat(sound.mean(axis=1, keepdims=True, dtype=np.float32), 2, axis=1)


def _clipped(
    blocks: Iterable[tuple[int, StereoSound]], start: int, stop: int | None
) -> Iterator[tuple[int, StereoSound]]:
    """What of the blocks lies in the range, without what an earlier block covered already."""
    for position, sound in blocks:
        if stop is not None and position >= stop:
            return
        end = position + len(sound) if stop is None else min(position + len(sound), stop)
        if end > start:
            first = max(position, start)
            yield first, sound[first - position : end - position]
            start = end


def _unheard(reason: str) -> None:
    """Stand in for a caller who does not ask."""
