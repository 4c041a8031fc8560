"""How the frames of a clip are spaced in time, without decoding any.

A clip is evenly spaced at a rate if every frame is shown near the instant that counting frames at
that rate gives it: with ``d_k = t_k * rate - k`` (``t_k`` in seconds, frames in display order),
``max d - min d`` is at most half a frame, or two ticks of the container's clock if those are
longer. Jitter below that moves no frame to another place in a list; one frame left out moves all
later ones by a whole frame and makes the clip uneven. The half frame is the most that rounding to
whole frames forgives.

A rate that fits within two ticks comes first: one that the header states, or the measured average,
as the standard rate within a part in two thousand or as it is. Then one that fits within half a
frame: the standard rate nearest the measured average, or that average. An uneven clip gets the
standard rate nearest its usual interval.

Reading all time stamps means reading the file. Where the header lists every frame with one
duration (MOV and MP4 with equal average and base rates and a duration that agrees with the frame
count; MXF, whose edit rate is constant) the header is believed instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from av.container import InputContainer
from av.error import EOFError as EndOfFile
from av.error import FFmpegError
from av.video.stream import VideoStream
from numpy.typing import NDArray

from impactcut.core.time.timebase import USUAL_RATES, nearest_rate
from impactcut.errors import NotMediaError
from impactcut.media.decode.open import open_video, raise_media_error

Stamps = NDArray[np.int64]
_MOST_JITTER = 0.5


@dataclass(frozen=True, eq=False)
class Spacing:
    """Rate and number of a clip's frames.

    Parameters
    ----------
    rate : Fraction
        Frames per second.
    even : bool
        Whether the frames follow that rate.
    frames : int
        Frames that the container holds.
    ticks : Fraction
        Ticks of the stream's clock from one frame to the next, on average.
    stamps : int64, shape (frames,), or None
        Presentation time of each frame in stream ticks, in display order; None where the header
        was believed or the file has no time stamps.
    timed : bool
        Whether header or time stamps tell the rate; else it is what the pictures themselves say.
    """

    rate: Fraction
    even: bool
    frames: int
    ticks: Fraction
    stamps: Stamps | None = None
    timed: bool = True


def survey(path: Path) -> Spacing:
    """Spacing of the frames of ``path``, from its header or its packets.

    Raises
    ------
    MediaError
        If the file cannot be opened or read.
    """
    with open_video(path) as (container, stream):
        return spacing_in_header(container, stream) or _from_packets(path, container, stream)


def spacing_of(stamps: Stamps, tick: Fraction, stated: tuple[Fraction, ...]) -> Spacing:
    """Spacing of frames shown at ``stamps`` (in display order, two or more).

    Parameters
    ----------
    stamps : int64, shape (n,)
        Presentation times in ticks.
    tick : Fraction
        Seconds per tick.
    stated : tuple of Fraction
        Rates that the container states, the most believable first.
    """
    span = int(stamps[-1] - stamps[0])
    measured = Fraction(len(stamps) - 1, max(span, 1)) / tick
    ticks = 1 / (measured * tick)
    exact = [nearest_rate(rate) for rate in stated] + [*stated, nearest_rate(measured), measured]
    near = [*sorted(USUAL_RATES, key=lambda rate: abs(rate - measured)), measured]
    for rates, slack in ((exact, 0.0), (near, _MOST_JITTER)):
        for rate in rates:
            if _follows(stamps, tick, rate, slack):
                return Spacing(rate, True, len(stamps), ticks, stamps)
    return Spacing(_usual_rate(stamps, tick), False, len(stamps), ticks, stamps)


def spacing_in_header(container: InputContainer, stream: VideoStream) -> Spacing | None:
    """Spacing of the frames of an open clip, if its header can be believed."""
    rate, tick, duration = stream.average_rate, stream.time_base, stream.duration
    if not rate or rate != stream.base_rate or not tick or not duration:
        return None
    frames = round(duration * tick * rate)
    form = container.format.name.split(",")
    listed = "mov" in form and stream.frames == frames
    constant = "mxf" in form and tick == 1 / rate
    if not listed and not constant:
        return None
    return Spacing(nearest_rate(rate), True, frames, 1 / (rate * tick))


def _from_packets(path: Path, container: InputContainer, stream: VideoStream) -> Spacing:
    times = _packet_times(path, container, stream)
    stated = tuple(rate for rate in (stream.average_rate, stream.base_rate) if rate)
    tick = stream.time_base
    stamps = np.sort(np.array([time for time in times if time is not None], np.int64))
    if tick and len(stamps) == len(times) and len(stamps) > 1 and stamps[-1] > stamps[0]:
        return spacing_of(stamps, tick, stated)
    rate = stream.guessed_rate or next(iter(stated), Fraction(25))
    ticks = 1 / (rate * tick) if tick else Fraction(1)
    return Spacing(nearest_rate(rate), True, len(times), ticks, timed=len(stamps) == len(times))


def _packet_times(path: Path, container: InputContainer, stream: VideoStream) -> list[int | None]:
    times: list[int | None] = []
    try:
        for packet in container.demux(stream):
            if packet.size and not packet.is_discard:
                times.append(packet.pts)
    except EndOfFile:
        pass
    except FFmpegError as error:
        if isinstance(error, OSError) or not times:
            raise_media_error(path, error)
    if not times:
        raise NotMediaError(f"{path}: no frame can be read; copy it again from the card")
    return times


def _follows(stamps: Stamps, tick: Fraction, rate: Fraction, slack: float) -> bool:
    frames_per_tick = float(tick * rate)
    away = (stamps - stamps[0]) * frames_per_tick - np.arange(len(stamps))
    return float(np.ptp(away)) <= max(slack, 2 * frames_per_tick)


def _usual_rate(stamps: Stamps, tick: Fraction) -> Fraction:
    intervals = np.diff(stamps)
    intervals = intervals[intervals > 0]
    usual = np.percentile(intervals, 50, method="lower")
    seconds = float(np.mean(intervals[np.abs(intervals - usual) <= 1])) * float(tick)
    return min(USUAL_RATES, key=lambda rate: abs(float(rate) * seconds - 1))
