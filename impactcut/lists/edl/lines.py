"""Reading one line of a CMX3600-form EDL, by tokens: columns are seldom kept in real lists."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.errors import TimecodeError
from impactcut.lists.edl.statements import (
    Carried,
    EventLine,
    ExtraAudio,
    FrameCodeMode,
    Motion,
    Note,
    Split,
    Statement,
    Title,
    Unread,
)

LONGEST_LINE = 1000
LONGEST_HEAD = 200
_LABELS_OF_AN_EVENT = 4
_LABEL = r"\d\d[:;.,]\d\d[:;.,]\d\d[:;.,]\d\d"
_TIMES = re.compile(rf"(?<!\S)({_LABEL})\s+({_LABEL})\s+({_LABEL})\s+({_LABEL})(?!\S)", re.ASCII)
_EACH_LABEL = re.compile(rf"(?<!\d){_LABEL}(?!\d)", re.ASCII)
_TRANSITION = r"C|D|W\d{0,4}|K(?:\s?[BO])?"
_USUAL_CHANNELS = r"NONE|B|V\d?(?:/?A\d*)*|(?:A\d*)+(?:/V\d?)?"
_HEAD = re.compile(
    rf"(\d{{1,6}})\s+(?:(\S.*?)\s+)?({_USUAL_CHANNELS})\s+({_TRANSITION})(?:\s+(\d{{1,4}}))?",
    re.ASCII,
)
_ODD_HEAD = re.compile(
    rf"(\d{{1,6}})\s+(\S+)\s+(\S+)\s+({_TRANSITION})(?:\s+(\d{{1,4}}))?", re.ASCII
)
_SPEED = re.compile(r"[+-]?\d{1,4}(?:\.\d{0,6})?", re.ASCII)
_SPLIT = re.compile(rf"SPLIT:\s*(AUDIO|VIDEO)\s+DELAY\s*=\s*({_LABEL})", re.ASCII)
_KEYWORD = re.compile(r"[A-Z](?:[A-Z0-9_ ]*[A-Z_])?", re.ASCII | re.IGNORECASE)


class Clocks(NamedTuple):
    """How the timecodes of a line count."""

    source: Timebase
    record: Timebase


def read_statement(line: int, text: str, clocks: Clocks) -> Statement:
    """The statement in one line; one that cannot be read comes back as `Unread`, never lost."""
    body = text.strip()
    if len(body) > LONGEST_LINE:
        return Unread(line=line, text=text, reason=f"has more than {LONGEST_LINE} characters")
    if not body:
        return Carried(line=line, text=text, known=True)
    try:
        found = replace(_reader(body)(body, clocks), line=line, text=text)
    except (_UnreadableError, TimecodeError) as error:
        return Unread(line=line, text=text, reason=str(error))
    if not isinstance(found, EventLine) and len(labels_in(body)) >= _LABELS_OF_AN_EVENT:
        return Unread(line=line, text=text, reason="has four timecodes but is no event line")
    return found


def labels_in(text: str) -> tuple[str, ...]:
    """Every timecode in a text, as it is written."""
    return tuple(_EACH_LABEL.findall(text))


def label_spans(text: str) -> tuple[slice, ...]:
    """Where in a text its timecodes stand."""
    return tuple(slice(*match.span()) for match in _EACH_LABEL.finditer(text))


def labelled_frame(label: str, clock: Timebase) -> int | None:
    """The frame of a timecode whatever its marks; None where there is none such."""
    try:
        return _frame(label, clock)
    except TimecodeError:
        return None


def tracks_of(channels: str) -> frozenset[str]:
    """Tracks that a channel field names: ``V``, ``A1``, ``A2`` ...; none where it is not usual.

    ``B`` is picture and the first sound track, ``AA`` the first two (as public readers have it).
    """
    if not re.fullmatch(_USUAL_CHANNELS, channels, re.ASCII) or channels == "NONE":
        return frozenset()
    if channels == "B":
        return frozenset({"V", "A1"})
    sound = re.findall(r"A\d*", channels)
    named = {"A1" if track == "A" else track for track in sound}
    both = {"A2"} if sound.count("A") > 1 else set()
    return frozenset(named | both | set(re.findall(r"V\d?", channels)))


def read_frame_code_mode(text: str) -> bool | None:
    """Whether a mode is drop frame; None where the text names both modes or neither."""
    rest, plain = re.subn(r"NON[- ]?DROP|\bNDF\b", "", text.upper())
    drop = re.search(r"DROP|\bDF\b", rest) is not None
    return None if drop == bool(plain) else drop


class _UnreadableError(Exception):
    """Why a line cannot be read; never leaves this module."""


_Reader = Callable[[str, Clocks], Statement]


def _reader(body: str) -> _Reader:
    if body[0] == "*":
        return _read_note
    if body[0] in "0123456789":
        return _read_event
    word = re.split(r"[\s:]", body, maxsplit=1)[0].upper()
    return _READERS.get(word, lambda _, __: Carried(known=False))


def _read_event(body: str, clocks: Clocks) -> Statement:
    times = _TIMES.search(body)
    if times is None:
        raise _UnreadableError("begins like an event but has no four timecodes")
    head = body[: times.start()].strip()
    fits = len(head) <= LONGEST_HEAD
    match = fits and (_HEAD.fullmatch(head) or _ODD_HEAD.fullmatch(head))
    if not match:
        raise _UnreadableError(
            "has no event number, reel, channels and transition that can be read"
        )
    if len(labels_in(body)) > _LABELS_OF_AN_EVENT:
        raise _UnreadableError("has more than four timecodes")
    number, reel, channels, transition, duration = match.groups()
    return EventLine(
        number=int(number),
        digits=len(number),
        reel=reel or "",
        channels=channels,
        tracks=tracks_of(channels),
        transition=transition,
        duration=None if duration is None else int(duration),
        source=_range(times[1], times[2], clocks.source),
        record=_range(times[3], times[4], clocks.record),
        source_clock=clocks.source,
        record_clock=clocks.record,
        remainder=body[times.end() :].strip(),
    )


def _read_note(body: str, clocks: Clocks) -> Statement:
    said = body.lstrip("*").strip()
    keyword, colon, value = said.partition(":")
    if colon and _KEYWORD.fullmatch(keyword.rstrip()):
        return Note(keyword=keyword.rstrip().upper(), value=value.strip())
    return Note(value=said)


def _read_motion(body: str, clocks: Clocks) -> Statement:
    *reel, speed, trigger = ["", "", *body.split()[1:]]
    reel = [word for word in reel if word]
    if reel and reel[-1] in ("+", "-"):
        speed = reel.pop() + speed
    if not _SPEED.fullmatch(speed):
        raise _UnreadableError("is a motion statement without a speed that can be read")
    return Motion(
        reel=" ".join(reel),
        speed=Fraction(speed),
        trigger=_frame(trigger, clocks.source),
        source_clock=clocks.source,
    )


def _read_split(body: str, clocks: Clocks) -> Statement:
    match = _SPLIT.fullmatch(body)
    if match is None:
        raise _UnreadableError("is a split without AUDIO or VIDEO DELAY and a timecode")
    delay = _frame(match[2], clocks.record)
    return Split(late=match[1], delay=delay, record_clock=clocks.record)


def _read_extra_audio(body: str, clocks: Clocks) -> Statement:
    tracks = re.findall(r"\d+", body, re.ASCII)
    if not tracks:
        raise _UnreadableError("names no sound track after AUD")
    return ExtraAudio(tracks=frozenset(f"A{track}" for track in tracks))


_READERS: dict[str, _Reader] = {
    "TITLE": lambda body, _: Title(title=body.partition(":")[2].strip()),
    "FCM": lambda body, _: FrameCodeMode(drop_frame=read_frame_code_mode(body)),
    "M2": _read_motion,
    "SPLIT": _read_split,
    "AUD": _read_extra_audio,
    "EFFECTS": lambda _, __: Carried(known=True),
    ">>>": lambda _, __: Carried(known=True),
}


def _range(first: str, last: str, clock: Timebase) -> FrameRange:
    start, stop = _frame(first, clock), _frame(last, clock)
    return FrameRange(start, stop if stop >= start else stop + clock.day)


def _frame(label: str, clock: Timebase) -> int:
    return clock.frame(":".join(re.split(r"[:;.,]", label)))
