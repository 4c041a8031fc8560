"""A second reader of EDLs, for tests: by columns, with its own timecode, sharing nothing with ours.

Columns, frame-code modes and what a transition's lines mean are those of public CMX3600 readers
and of lists in circulation; drop frame is SMPTE ST 12-1. Only lists in columns are read.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby

Shown = tuple[object, ...]


@dataclass(eq=False)
class Line:
    """An event line: times are counts of frames, since midnight, outs not before ins."""

    number: str
    reel: str
    tracks: set[str]
    transition: str
    source_in: int
    source_out: int
    record_in: int
    record_out: int
    drop: bool
    notes: list[str] = field(default_factory=list)
    others: list[str] = field(default_factory=list)


@dataclass
class Reading:
    """What a list says."""

    head: list[str]
    lines: list[Line]
    counted: int
    drop: bool

    @property
    def day(self) -> int:
        return frames_of("24:00:00:00", self.counted, self.drop)

    def events(self) -> list[list[Line]]:
        """Lines of one number together."""
        return [list(group) for _, group in groupby(self.lines, key=lambda line: line.number)]

    def frames(self) -> dict[tuple[str, int], Counter[Shown]]:
        """What each frame of each track shows: reel and source frame, or place in a motion."""
        shown: dict[tuple[str, int], Counter[Shown]] = {}
        for line in self.lines:
            taken, lasts = line.source_out - line.source_in, line.record_out - line.record_in
            for place in range(lasts):
                what: Shown = (line.reel, line.drop, line.source_in + place)
                if taken != lasts:
                    what = (line.reel, line.drop, line.source_in, line.source_out, place)
                for track in line.tracks:
                    at = (track, (line.record_in + place) % self.day)
                    shown.setdefault(at, Counter())[what] += 1
        return shown

    def pairs(self) -> Counter[Shown]:
        """Each transition on each track: what stands on both sides of it, and where.

        A line of no length of black at zero is as good as no line.
        """
        found: Counter[Shown] = Counter()
        for at, line in enumerate(self.lines):
            if line.transition[0] not in "DW":
                continue
            for track in line.tracks:
                before = self._before(at, track)
                black = before is None or (before.reel == "BL" and not before.source_out)
                out = None if black else (before.reel, before.drop, before.source_out)
                into = (line.reel, line.drop, line.source_in)
                found[track, line.record_in, line.transition, out, into] += 1
        return found

    def _before(self, at: int, track: str) -> Line | None:
        line = self.lines[at]
        for other in reversed(self.lines[:at]):
            if other.number != line.number:
                break
            if track in other.tracks:
                return other
        ending = [
            other
            for other in self.lines
            if track in other.tracks
            and other.record_out % self.day == line.record_in % self.day
            and other.record_out > other.record_in
        ]
        return ending[-1] if ending else None

    def marks(self) -> Counter[tuple[int, str]]:
        """The record frame and the words of each ``* LOC:`` note."""
        found: Counter[tuple[int, str]] = Counter()
        for note in self.notes():
            if note.startswith("* LOC: "):
                found[frames_of(note[7:18], self.counted, self.drop), note[18:]] += 1
        return found

    def notes(self) -> Iterator[str]:
        yield from (line for line in self.head if line.startswith("*"))
        for line in self.lines:
            yield from line.notes

    def others(self) -> Counter[str]:
        """Lines that are neither events, notes, AUD, FCM nor TITLE: each once, as they stood."""
        return Counter(other for line in self.lines for other in line.others)


def read_list(text: str, counted: int) -> Reading:
    """Read a list that counts ``counted`` labels a second."""
    rows = text.split("\r\n")
    assert rows.pop() == "", "the last line has no end"
    modes = [row for row in rows if row.startswith("FCM: ")]
    drop = bool(modes) and modes[0] == "FCM: DROP FRAME"
    source_drop = drop
    reading = Reading([], [], counted, drop)
    waiting: list[str] = []
    for row in rows:
        if row.startswith("FCM: "):
            source_drop = row == "FCM: DROP FRAME"
        elif row[:3].isdigit():
            reading.lines.append(_event(row, counted, drop, source_drop))
            reading.lines[-1].others += waiting
            waiting = []
        elif row.startswith("SPLIT:"):
            waiting.append(row)
        elif not reading.lines:
            reading.head.append(row)
        elif row.startswith("AUD "):
            reading.lines[-1].tracks |= {f"A{each}" for each in row[3:].split()}
        elif row.startswith("*"):
            reading.lines[-1].notes.append(row)
        elif row:
            reading.lines[-1].others.append(row)
    return reading


def _event(row: str, counted: int, drop: bool, source_drop: bool) -> Line:
    labels = [row[start : start + 11] for start in (29, 41, 53, 65)]
    drops = (source_drop, source_drop, drop, drop)
    times = [frames_of(each, counted, how) for each, how in zip(labels, drops, strict=True)]
    days = [frames_of("24:00:00:00", counted, how) for how in drops]
    source_in, source_out, record_in, record_out = times
    return Line(
        number=row[:3],
        reel=row[5:13].strip(),
        tracks=_tracks(row[14:18].strip()),
        transition=row[20:28].strip(),
        source_in=source_in,
        source_out=source_out + (days[0] if source_out < source_in else 0),
        record_in=record_in,
        record_out=record_out + (days[2] if record_out < record_in else 0),
        drop=source_drop,
    )


def _tracks(channels: str) -> set[str]:
    if channels == "NONE":
        return set()
    if channels == "B":
        return {"V", "A1"}
    found: set[str] = set()
    for part in channels.split("/"):
        if part.startswith("V"):
            found.add(part)
        elif part == "AA":
            found |= {"A1", "A2"}
        else:
            found |= {f"A{each or 1}" for each in part.split("A")[1:]}
    return found


def frames_of(label: str, counted: int, drop: bool) -> int:
    """SMPTE ST 12-1: at 30 two labels, at 60 four, are left out of nine minutes in ten."""
    hours, minutes, seconds, frames = (int(label[at : at + 2]) for at in (0, 3, 6, 9))
    assert frames < counted and seconds < 60 and minutes < 60, label
    past = hours * 60 + minutes
    dropped = counted // 15 * (past - past // 10) if drop else 0
    left_out = drop and minutes % 10 and not seconds and frames < counted // 15
    assert not left_out, f"{label} does not exist"
    return (past * 60 + seconds) * counted + frames - dropped
