"""Statements of a CMX3600-form EDL, one for each line, and the lines they are written as.

A statement that was read keeps its line as it stood and is written back so; one that was made
here has no such text and is written in columns. The columns are those of `EventLine.columns`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from impactcut.core.programme.sequence import is_picture, is_sound
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase


@dataclass(frozen=True, kw_only=True)
class Statement:
    """One line of a list.

    Parameters
    ----------
    line : int
        Number of the line it was read from; 0 for a statement made here.
    text : str or None
        The line as it stood, without its end; None for a statement made here.
    """

    line: int = 0
    text: str | None = None

    def written(self) -> str:
        """The line to write."""
        return self.columns() if self.text is None else self.text

    def columns(self) -> str:
        """The line in the columns of the form, from the statement's fields alone."""
        return ""


@dataclass(frozen=True, kw_only=True)
class Title(Statement):
    """``TITLE:`` and the name of the list."""

    title: str

    def columns(self) -> str:
        """The line in the columns of the form."""
        return f"TITLE: {self.title}"


@dataclass(frozen=True, kw_only=True)
class FrameCodeMode(Statement):
    """``FCM:``, how frames are counted from here on; None where both modes or neither is named."""

    drop_frame: bool | None

    def columns(self) -> str:
        """The line in the columns of the form."""
        return "FCM: DROP FRAME" if self.drop_frame else "FCM: NON-DROP FRAME"


@dataclass(frozen=True, kw_only=True)
class EventLine(Statement):
    """A numbered line: frames of a source, placed in the programme.

    Parameters
    ----------
    number, digits : int
        The event's number, and how many digits it is written with.
    reel, channels : str
        As written; the reel is empty where the list leaves it out.
    transition : str
        ``C``, ``D``, ``W`` with a wipe's number, or ``K``, ``K B``, ``K O``.
    duration : int or None
        Frames of the transition.
    source, record : FrameRange
        Counts of frames on the clock beside each; a range across midnight ends after 24 hours.
    tracks : frozenset of str
        ``V`` and ``A1``, ``A2`` ... as the channels name them.
    remainder : str
        What followed the four timecodes on the line.
    """

    number: int
    reel: str
    channels: str
    source: FrameRange
    record: FrameRange
    source_clock: Timebase
    record_clock: Timebase
    transition: str = "C"
    duration: int | None = None
    tracks: frozenset[str] = frozenset({"V"})
    digits: int = 3
    remainder: str = ""

    def columns(self) -> str:
        """The line in the columns of the form.

        Event 1-3, reel 6-13, channels 15-18, transition 21-24, its duration 26-28, source in
        30-40 and out 42-52, record in 54-64 and out 66-76; out is exclusive. (The columns of
        public CMX3600 readers and of lists in circulation.)
        """
        duration = "" if self.duration is None else f"{self.duration:03d}"
        times = (
            self.source_clock.label(self.source.start),
            self.source_clock.label(self.source.stop),
            self.record_clock.label(self.record.start),
            self.record_clock.label(self.record.stop),
        )
        head = f"{self.number:0{self.digits}d}  {self.reel:<8} {self.channels:<4}  "
        line = f"{head}{self.transition:<4} {duration:>3} {' '.join(times)}"
        return f"{line} {self.remainder}" if self.remainder else line

    def placed(self, number: int, source: FrameRange, record: FrameRange) -> EventLine:
        """The event with another number and other frames, to be written in columns."""
        return replace(self, line=0, text=None, number=number, source=source, record=record)


@dataclass(frozen=True, kw_only=True)
class Note(Statement):
    """A line after ``*``: a keyword such as ``FROM CLIP NAME`` (or none) and what it says."""

    value: str
    keyword: str = ""

    def columns(self) -> str:
        """The line in the columns of the form."""
        return f"* {self.keyword}: {self.value}" if self.keyword else f"* {self.value}"


@dataclass(frozen=True, kw_only=True)
class Motion(Statement):
    """``M2``: a source that does not run at its own speed.

    ``speed`` is source frames per second of record, negative in reverse; ``trigger`` the source
    timecode from which it holds, as a count of frames on ``source_clock``.
    """

    reel: str
    speed: Fraction
    trigger: int
    source_clock: Timebase

    def columns(self) -> str:
        """The line in the columns of the form: reel 6-13, sign 20, speed 21-25, trigger 42-52."""
        sign = "-" if self.speed < 0 else " "
        head = f"M2   {self.reel:<8}      {sign}{float(abs(self.speed)):05.1f}"
        return f"{head:<41}{self.source_clock.label(self.trigger)}"


@dataclass(frozen=True, kw_only=True)
class Split(Statement):
    """``SPLIT:``, the ``AUDIO`` or ``VIDEO`` of an event that begins late by ``delay`` frames."""

    late: str
    delay: int
    record_clock: Timebase

    def columns(self) -> str:
        """The line in the columns of the form: what is late 11-21, delay 25-35."""
        return f"SPLIT:    {self.late} DELAY=  {self.record_clock.label(self.delay)}"


@dataclass(frozen=True, kw_only=True)
class ExtraAudio(Statement):
    """``AUD``: sound tracks above the second that the event before it uses too."""

    tracks: frozenset[str]

    def columns(self) -> str:
        """The line in the columns of the form."""
        numbers = sorted(int(track.removeprefix("A")) for track in self.tracks)
        return "AUD  " + "    ".join(map(str, numbers))


@dataclass(frozen=True, kw_only=True)
class Carried(Statement):
    """A line that is passed on unread; ``known`` tells a usual one from one never seen before."""

    known: bool


@dataclass(frozen=True, kw_only=True)
class Unread(Statement):
    """A line that ought to say something but cannot be read, and why."""

    reason: str


def write_statements(statements: Iterable[Statement]) -> str:
    """The text of a list, each line ended by CR LF."""
    return "".join(f"{statement.written()}\r\n" for statement in statements)


def channel_field(tracks: frozenset[str]) -> str:
    """The channel field for tracks; NONE where they all stand in AUD lines."""
    if tracks == {"V", "A1"}:
        return "B"
    first_two = "AA" if {"A1", "A2"} <= tracks else ""
    others = tracks - ({"A1", "A2"} if first_two else set())
    sound = sorted(filter(is_sound, others), key=lambda track: int(track[1:]))
    named = first_two + "".join("A" if track == "A1" else track for track in sound)
    picture = "".join(sorted(filter(is_picture, tracks)))
    return "/".join(filter(None, (named, picture))) or "NONE"
