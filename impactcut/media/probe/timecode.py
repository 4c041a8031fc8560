"""Start timecode and reel, wherever a container keeps them.

MOV and MP4 have a track of their own for timecode (``tmcd``), Matroska and AVI a tag on the file,
MXF a track that shows as a tag on the file and on the picture. Keys differ in case. A semicolon
before the frames marks drop-frame counting (SMPTE ST 12-1 section 5.2.2 gives the counting; the
mark is common practice). Above 30 frames a second a label may stand for several frames; above 100,
where two digits are too few, one with three digits stands for one (as FFmpeg writes them).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from av.container import InputContainer
from av.video.stream import VideoStream

from impactcut.core.takes.clip import ASSUMED_START
from impactcut.core.time.timebase import DROP_RATES, Timebase, nearest_rate
from impactcut.errors import TimecodeError

_DROP_MARKED = re.compile(r".*[;,]\d{2,3}", re.ASCII)
_LABEL = re.compile(r"(\d\d:\d\d:\d\d[:;.,])(\d{2,3})", re.ASCII)


@dataclass(frozen=True)
class StartTimecode:
    """Where a clip's source timecode starts.

    Parameters
    ----------
    timebase : Timebase
        Rate and way of counting.
    frame : int
        Source timecode of frame 0, as a count of frames.
    found : bool
        Whether the file states it; if not, 00:00:00:00 stands in.
    warnings : tuple of str
        What had to be assumed.
    """

    timebase: Timebase
    frame: int
    found: bool
    warnings: tuple[str, ...] = ()


def find_tag(container: InputContainer, stream: VideoStream, key: str) -> str | None:
    """Value of metadata ``key`` in any case: of the picture, data streams, the file, the rest."""
    for tags in _tag_places(container, stream):
        for name, value in tags.items():
            if name.lower() == key and value.strip():
                return value.strip()
    return None


def start_timecode(
    label: str | None, rate: Fraction, stated: Timebase | None, track_rate: Fraction | None
) -> StartTimecode:
    """What a timecode label means for a clip.

    Parameters
    ----------
    label : str or None
        As the file has it.
    rate : Fraction
        Measured frames per second.
    stated : Timebase or None
        Given by the user; it overrules ``rate`` and the label's drop-frame mark.
    track_rate : Fraction or None
        Labels per second of the timecode track, if it has one of its own.
    """
    if label is None:
        timebase = stated or Timebase(rate)
        return _assumed(timebase, f"has no timecode: {ASSUMED_START}")
    timebase, warnings = _counting(label, rate, stated)
    counts = None if track_rate is None else Timebase(nearest_rate(track_rate))
    group = 1 if counts is None else timebase.rate / counts.rate
    whole = group.denominator == 1
    try:
        frame = _frame(label, timebase, int(group) if whole else 1, counts is not None)
    except TimecodeError as error:
        return _assumed(timebase, f"{error}: {ASSUMED_START}", *warnings)
    if not whole:
        warnings += (f"timecode counts {counts} a second, but is read at the clip's {timebase}",)
    elif group > 1:
        taken = timebase.timecode(frame) or f"the first of its {group} frames"
        groups = "frame pairs" if group == 2 else f"groups of {group} frames"
        warnings += (f"timecode counts {groups}: {label} was taken as {taken}",)
    return StartTimecode(timebase, frame, True, warnings)


def _frame(label: str, timebase: Timebase, group: int, sure: bool) -> int:
    """The count of frames of a label that stands for ``group`` frames, if that is ``sure``.

    Raises
    ------
    TimecodeError
        If there is no such label, or nobody knows how many frames it stands for.
    """
    if group > 1:
        base = Timebase(timebase.rate / group, timebase.drop_frame)
        return base.frame(label) * group
    match = _LABEL.fullmatch(label)
    if timebase.has_timecode:
        whole_second = match is not None and match[2] == "000"
        return timebase.frame(label[:-1] if whole_second else label)
    frames = 0 if match is None else int(match[2])
    if match is None or frames >= timebase.counted:
        raise TimecodeError(f"timecode {label} does not exist at {timebase}")
    if frames and len(match[2]) == len("FF") and not sure:
        raise TimecodeError(
            f"timecode {label} does not say how it counts {timebase} frames a second"
        )
    seconds = Timebase(Fraction(1)).frame(f"{match[1]}00")
    return seconds * timebase.counted + frames


def _counting(
    label: str, rate: Fraction, stated: Timebase | None
) -> tuple[Timebase, tuple[str, ...]]:
    dropped = _DROP_MARKED.fullmatch(label) is not None
    if stated is not None:
        at_odds = dropped != stated.drop_frame
        told = "drop-frame" if dropped else "non-drop"
        warning = f"timecode in the file is {told}, but is counted as stated: {stated}"
        return stated, (warning,) if at_odds else ()
    if dropped and rate not in DROP_RATES:
        plain = Timebase(rate)
        return plain, (f"timecode {label} is marked drop-frame; {plain} is counted without",)
    return Timebase(rate, dropped), ()


def _assumed(timebase: Timebase, *warnings: str) -> StartTimecode:
    return StartTimecode(timebase, 0, False, warnings)


def _tag_places(container: InputContainer, stream: VideoStream) -> Iterator[Mapping[str, str]]:
    yield stream.metadata
    yield from (data.metadata for data in container.streams.data)
    yield container.metadata
    yield from (other.metadata for other in container.streams)
