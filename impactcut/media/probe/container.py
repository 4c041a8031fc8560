"""What a media file says of itself, before anything in it is measured."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
from av.video.frame import VideoFrame

from impactcut.core.takes.clip import Clip, ReelSource
from impactcut.core.time.timebase import Timebase, nearest_rate
from impactcut.media.decode.open import open_video
from impactcut.media.decode.own_films import refuse_own
from impactcut.media.decode.packets import some_frame
from impactcut.media.decode.picture import picture_shape
from impactcut.media.decode.spacing import Spacing, spacing_in_header, survey
from impactcut.media.probe.timecode import find_tag, start_timecode
from impactcut.media.probe.tmcd import timecode_track_rate

_FEWEST = 2
_WITH_LENGTH = frozenset({"mov", "matroska", "mxf", "avi"})
"""Forms, as FFmpeg names them, whose header states how long the whole is."""


def probe(path: Path, *, rate: Timebase | None = None, reel: str | None = None) -> Clip:
    """Describe the clip in ``path``.

    The number of frames is the container's, or of its packets; frames that do not decode are not
    told apart, so whoever decodes the clip should put the true number in.

    Parameters
    ----------
    path : Path
        A media file.
    rate : Timebase, optional
        How the frames are counted, when the user says so; overrules the file.
    reel : str, optional
        Source name for a file whose timecode track names none; else the file's name serves.

    Raises
    ------
    UnreadableMediaError
        If the file is missing, a folder, or may not be read.
    NotMediaError
        If it is no media file, or no frame of it decodes.
    NoVideoError
        If it has no moving picture.
    """
    with open_video(path) as (container, stream):
        label = find_tag(container, stream, "timecode")
        named = find_tag(container, stream, "reel_name")
        track_rate = timecode_track_rate(path) if "mov" in container.format.name else None
        has_sound = bool(container.streams.audio)
        spacing = spacing_in_header(container, stream)
        first = some_frame(path, container, stream)
        shape = picture_shape(stream, first)
    spacing = spacing or survey(path)
    start = start_timecode(label, spacing.rate, rate, track_rate)
    name, source = reel_of(path, named, reel)
    return Clip(
        path=str(path),
        name=path.name,
        reel=name,
        reel_source=source,
        rate=start.timebase.rate,
        drop_frame=start.timebase.drop_frame,
        frames=spacing.frames,
        source_start=start.frame,
        timecode_source="file" if start.found else "assumed",
        width=shape.width,
        height=shape.height,
        rotation=shape.rotation,
        pixel_aspect=shape.pixel_aspect,
        variable_rate=not spacing.even,
        has_sound=has_sound,
        warnings=start.warnings + _warnings(spacing, rate, first),
    )


def reel_of(path: Path, named: str | None, given: str | None) -> tuple[str, ReelSource]:
    """The reel of a file, and who names it: the file itself, the user, or its file name."""
    if named:
        return named, "file"
    return (given, "user") if given else (path.stem.upper(), "name")


def _warnings(spacing: Spacing, stated: Timebase | None, first: VideoFrame) -> tuple[str, ...]:
    said = []
    if not spacing.even and stated is None:
        said.append(
            "has frames that are not evenly spaced: lists made from it are wrong unless the rate "
            "that the edit counts it at is stated with --rate"
        )
    elif not spacing.timed and stated is None:
        said.append(
            f"has no time stamps, so it is counted at {Timebase(spacing.rate)}; if it was shot at "
            "another rate, state that with --rate"
        )
    elif stated is not None and stated.rate != spacing.rate:
        said.append(
            f"counted at the stated {stated}, though the file runs at {Timebase(spacing.rate)}"
        )
    if spacing.frames < _FEWEST:
        said.append("is a single frame: nothing can move in it")
    if first.interlaced_frame:
        said.append("is interlaced: only the top field of each frame is measured")
    return tuple(said)


def frames_stated(path: Path) -> int:
    """About how many frames a file says that it has, without decoding any; 0 if it does not say.

    Raises
    ------
    OwnFilmError
        If this program made it to be looked at.
    MediaError
        If it cannot be opened, or has no moving picture.
    """
    with open_video(path) as (container, stream):
        refuse_own(path, container)
        if stream.frames:
            return stream.frames
        if stream.duration and stream.time_base and stream.average_rate:
            return int(stream.duration * stream.time_base * stream.average_rate)
    return 0


def frames_lacking(path: Path, frames: int) -> int:
    """How many more frames than ``frames`` the length in a file's header makes; at least 0.

    Where the header says nothing, or the length is made out from what is there, none lack.

    Raises
    ------
    MediaError
        If it cannot be opened, or has no moving picture.
    """
    with open_video(path) as (container, stream):
        rate, tick = stream.average_rate, stream.time_base
        if not rate or not _WITH_LENGTH.intersection(container.format.name.split(",")):
            return 0
        seconds = Fraction(container.duration or 0, av.time_base)
        if stream.duration and tick:
            seconds = stream.duration * tick
        return max(0, round(seconds * rate) - frames)


@dataclass(frozen=True)
class TakeStated:
    """What a file says of its take, without that any of it is decoded.

    Parameters
    ----------
    label : str
        Start timecode.
    reel_source : {"file", "name"}
    rate : Fraction
        Nearest usual one.
    pixels : int
        Of a picture.
    """

    label: str
    reel: str
    reel_source: ReelSource
    rate: Fraction
    frames: int
    pixels: int


def take_stated(path: Path) -> TakeStated | None:
    """What a file says of its take; None where it states no timecode, rate or length.

    Raises
    ------
    MediaError
        If it cannot be opened, or has no moving picture.
    """
    with open_video(path) as (container, stream):
        label = find_tag(container, stream, "timecode")
        if label is None or not stream.average_rate or not stream.frames:
            return None
        reel, source = reel_of(path, find_tag(container, stream, "reel_name"), None)
        rate = nearest_rate(stream.average_rate)
        pixels = stream.codec_context.width * stream.codec_context.height
        return TakeStated(label, reel, source, rate, stream.frames, pixels)
