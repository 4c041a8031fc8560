"""Start timecode and reel, wherever a container keeps them.

MOV and MP4 have a track of their own for timecode (``tmcd``), Matroska and AVI a tag on the file,
MXF a track that shows as a tag on the file and on the picture. Keys differ in case. A semicolon
before the frames marks drop-frame counting (SMPTE ST 12-1 section 5.2.2 gives the counting; the
mark is common practice).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from av.container import InputContainer
from av.video.stream import VideoStream

from impactcut.core.takes.clip import ASSUMED_START
from impactcut.core.time.timebase import DROP_RATES, Timebase, nearest_rate
from impactcut.errors import TimecodeError

_DROP_MARKS = (";", ",")


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
    pairs = track_rate is not None and nearest_rate(track_rate) * 2 == timebase.rate
    try:
        frame = _half(timebase).frame(label) * 2 if pairs else timebase.frame(label)
    except TimecodeError as error:
        return _assumed(timebase, f"{error}: {ASSUMED_START}", *warnings)
    if pairs:
        warnings += (f"timecode counts frame pairs: {label} was taken as {timebase.label(frame)}",)
    elif track_rate is not None and nearest_rate(track_rate) != timebase.rate:
        counts = Timebase(nearest_rate(track_rate))
        warnings += (f"timecode counts {counts} a second, but is read at the clip's {timebase}",)
    return StartTimecode(timebase, frame, True, warnings)


def _counting(
    label: str, rate: Fraction, stated: Timebase | None
) -> tuple[Timebase, tuple[str, ...]]:
    dropped = len(label) > 3 and label[-3] in _DROP_MARKS
    if stated is not None:
        at_odds = dropped != stated.drop_frame
        told = "drop-frame" if dropped else "non-drop"
        warning = f"timecode in the file is {told}, but is counted as stated: {stated}"
        return stated, (warning,) if at_odds else ()
    if dropped and rate not in DROP_RATES:
        plain = Timebase(rate)
        return plain, (f"timecode {label} is marked drop-frame; {plain} is counted without",)
    return Timebase(rate, dropped), ()


def _half(timebase: Timebase) -> Timebase:
    return Timebase(timebase.rate / 2, timebase.drop_frame)


def _assumed(timebase: Timebase, *warnings: str) -> StartTimecode:
    return StartTimecode(timebase, 0, False, warnings)


def _tag_places(container: InputContainer, stream: VideoStream) -> Iterator[Mapping[str, str]]:
    yield stream.metadata
    yield from (data.metadata for data in container.streams.data)
    yield container.metadata
    yield from (other.metadata for other in container.streams)
