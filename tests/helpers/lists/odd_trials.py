"""Recuts of odd cuts, judged by the second reader and on plain lists of frames.

What is judged shares nothing with the program's reader: which frames lie where by the rows of the
change list, what stands on both sides of a transition, which event a motion statement is about,
notes and their times, and whether every trim was made or refused wherever it is shown.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from random import Random

from impactcut.core.programme.change_list import ChangeList, change_list
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.recut.reel_match import match_events
from impactcut.core.time.frames import FrameRange
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.recut_check import check_recut
from impactcut.lists.edl.reissue import reissue
from impactcut.lists.edl.sequence import list_names, sequence_of
from impactcut.lists.tables.change_list_csv import parse_change_csv, render_change_csv
from tests.helpers.lists.odd_cuts import OddCut
from tests.helpers.lists.random_cuts import RandomCut
from tests.helpers.lists.second_reader import Line, Reading, frames_of, read_list

HOLDS = (None, None, "tail", "head", "next")
_TIME = re.compile(r"\d\d:\d\d:\d\d[:;]\d\d")
Fact = tuple[object, ...]
Row = dict[str, str]


@dataclass(frozen=True)
class OddTrial:
    """One recut: how, what was done, and what is handed over."""

    cut: RandomCut
    origin: int
    hold: str | None
    whole_sound: bool
    document: EdlDocument
    done: Recut
    changes: ChangeList
    text: str
    table: str

    @property
    def rows(self) -> list[Row]:
        return list(csv.DictReader(io.StringIO(self.table, newline="")))

    def read(self, text: str) -> Reading:
        return read_list(text, self.cut.timebase.counted)


def run_odd(odd: OddCut) -> OddTrial | None:
    """Recut an odd cut and judge the result; None where the list is refused as a whole."""
    cut, random = odd.written(), Random(f"how {odd.seed}")
    hold, whole_sound = random.choice(HOLDS), random.random() < 0.4
    try:
        document = parse_edl(cut.text, cut.timebase.rate)
        events = sequence_of(document)
    except ListFormatError:
        return None
    matches = match_events(events, list_names(cut.clips))
    done = recut([match.event for match in matches], cut.removals, hold, whole_sound)
    texts = reissue(document, done, "QUAY REEL 2 B")
    changes = change_list(
        ("QUAY REEL 2", "B"), document.record_clock, done.events, done.pieces
    )  # fmt: skip
    table = render_change_csv(changes)
    changes = parse_change_csv(table) if changes.adjustments else changes
    check_recut(texts, document, done, changes)
    trial = OddTrial(
        cut, odd.origin, hold, whole_sound, document, done, changes, texts[0], table
    )  # fmt: skip
    judge(trial)
    return trial


def judge(trial: OddTrial) -> None:
    """Compare the new list with the old one, both as the second reader sees them."""
    old, new = trial.read(trial.cut.text), trial.read(trial.text)
    _judge_frames(old, new, trial)
    _judge_transitions(old, new, trial)
    assert Counter(_motions(old)) == Counter(_motions(new)), "motion"
    _judge_notes(old, new, trial)
    assert _passed_on(old) == _passed_on(new), "splits and effects"
    _judge_uses(old, trial)


def _day(reading: Reading, drop: bool) -> int:
    return frames_of("24:00:00:00", reading.counted, drop)


def _frames(reading: Reading, origin: int) -> dict[str, dict[int, Counter[Fact]]]:
    """What each frame of each track shows, by its place from ``origin`` on."""
    found: dict[str, dict[int, Counter[Fact]]] = {}
    for line in reading.lines:
        taken, lasts = line.source_out - line.source_in, line.record_out - line.record_in
        for place in range(lasts):
            at = (line.record_in + place - origin) % reading.day
            source = (line.source_in + place) % _day(reading, line.drop)
            what: Fact = (line.reel, line.drop, source)
            if taken != lasts:
                what = (line.reel, line.drop, line.source_in, taken, place if taken else -1)
            for track in line.tracks or {"NONE"}:
                found.setdefault(track, {}).setdefault(at, Counter())[what] += 1
    return found


def _judge_frames(old: Reading, new: Reading, trial: OddTrial) -> None:
    before, after = (_frames(reading, trial.origin) for reading in (old, new))
    last = max((at for shown in (*before.values(), *after.values()) for at in shown), default=0)
    none: Counter[Fact] = Counter()
    for track in before.keys() | after.keys():
        frames = [before.get(track, {}).get(at, none) for at in range(last + 1)]
        for row in reversed(trial.rows):
            if track not in row["tracks"].split():
                continue
            at = (int(row["record_old_in_frame"]) - trial.origin) % old.day
            count = int(row["frames"])
            if row["operation"].startswith("extend"):
                drop = row["source_count_mode"] == "drop-frame"
                first, day = int(row["source_first_frame"]), _day(old, drop)
                come = [Counter({(row["reel"], drop, (first + n) % day): 1}) for n in range(count)]
                frames[at:at] = come
            else:
                del frames[at : at + count]
        wanted = [*frames, *[none] * (last + 1)][: last + 1]
        found = [after.get(track, {}).get(at, none) for at in range(last + 1)]
        assert found == wanted, f"frames of {track}"


def _groups(reading: Reading) -> list[list[Line]]:
    return [list(each) for _, each in groupby(reading.lines, key=lambda line: line.number)]


def _joins(reading: Reading, origin: int) -> Iterator[tuple[str, int, str, Fact | None, Fact]]:
    """Track, place, transition, and both of its sides; None for black or nothing before it.

    Where several events end at its place, nobody knows which it leads away from.
    """
    for group in _groups(reading):
        for at, line in enumerate(group):
            shows_nothing = line.record_in == line.record_out
            if line.transition[0] == "C" or line.transition.startswith("K B") or shows_nothing:
                continue
            for track in line.tracks:
                place = (line.record_in - origin) % reading.day
                beside = [other for other in group[:at] if track in other.tracks][-1:]
                ending = beside or [
                    other
                    for other in reading.lines
                    if track in other.tracks
                    and other.record_out % reading.day == line.record_in % reading.day
                    and other.record_out > other.record_in
                ]
                if len(ending) > 1:
                    continue
                out = None
                if ending and (ending[0].reel != "BL" or ending[0].source_out):
                    before = ending[0]
                    day = _day(reading, before.drop)
                    out = (before.reel, before.drop, before.source_out % day)
                # One of no length is a cut: its head may go.
                whole = line.transition.split()[-1] != "000"
                into = (line.reel, line.drop, line.source_in if whole else None)
                yield track, place, line.transition, out, into


def _judge_transitions(old: Reading, new: Reading, trial: OddTrial) -> None:
    def side(track: str, out: Fact | None) -> object:
        whole = trial.whole_sound and track.startswith("A")
        return out[:2] if whole and out else out

    wanted: Counter[Fact] = Counter()
    unsure = Counter(
        (track, line.transition) for line in old.lines for track in line.tracks
    )  # fmt: skip
    for track, at, transition, out, into in _joins(old, trial.origin):
        gone = 0
        for row in trial.rows:
            place = (int(row["record_old_in_frame"]) - trial.origin) % old.day
            if track in row["tracks"].split() and place < at:
                came = row["operation"].startswith("extend")
                gone += -int(row["frames"]) if came else int(row["frames"])
        wanted[track, at - gone, transition, side(track, out), into] += 1
        unsure[track, transition] -= 1
    found: Counter[Fact] = Counter()
    for track, at, transition, out, into in _joins(new, trial.origin):
        found[track, at, transition, side(track, out), into] += 1
    missing = wanted - found
    assert all(unsure[key[0], key[2]] for key in missing), f"transitions {missing}, not {found}"


def _motions(reading: Reading) -> Iterator[Fact]:
    """Each motion statement with the event it is about, on each track."""
    for group in _groups(reading):
        for at, line in enumerate(group):
            for row in (each for each in line.others if each.startswith("M2 ")):
                reel = row[5:13].strip()
                about = [other for other in group[: at + 1] if other.reel == reel][-1:]
                for track in about[0].tracks if about else ():
                    source = about[0].source_in, about[0].source_out
                    lasts = about[0].record_out - about[0].record_in
                    yield row, track, *source, lasts
                if not about:
                    yield row, "of nothing"


def _passed_on(reading: Reading) -> Counter[str]:
    return Counter(row for row in reading.others().elements() if not row.startswith("M2 "))


def _plain(note: str) -> str:
    """A note without its times, and the name in it as that of the clip of its event."""
    said = _TIME.sub("TIME", note)
    return re.sub(r"^\* (TO CLIP NAME|SOURCE FILE):", "* FROM CLIP NAME:", said)


def _judge_notes(old: Reading, new: Reading, trial: OddTrial) -> None:
    assert new.head[0] == "TITLE: QUAY REEL 2 B"
    for words in (map(_plain, old.head[1:]), map(_plain, new.head[1:])):
        assert Counter(words) == Counter(map(_plain, old.head[1:])), "the head"
    by_note: dict[str, set[str]] = {}
    for group in _groups(old):
        for note in (note for line in group for note in line.notes):
            by_note.setdefault(_plain(note), set()).update(line.reel for line in group)
    seen: set[str] = set()
    for group in _groups(new):
        for note in (note for line in group for note in line.notes):
            reels = by_note.get(_plain(note), set())
            assert reels & {line.reel for line in group}, f"{note} is not of {group}"
            seen.add(_plain(note))
    assert seen == by_note.keys(), "notes"
    marks = [
        Counter(note for note in map(_plain, reading.notes()) if note.startswith("* LOC"))
        for reading in (old, new)
    ]
    assert marks[0] == marks[1], "marks"
    if trial.hold is None:
        _judge_places(old, new, trial)


def _judge_places(old: Reading, new: Reading, trial: OddTrial) -> None:
    """After a ripple, every mark lies where the frames before it that went have put it."""
    gone = {
        (at - trial.origin) % old.day
        for use in trial.done.made
        for at in range(use.record.start, use.record.stop)
    }

    def places(reading: Reading) -> Iterator[tuple[int, str]]:
        for at, words in reading.marks().elements():
            yield (at - trial.origin) % reading.day, _plain(words)

    wanted = Counter((at - sum(each < at for each in gone), words) for at, words in places(old))
    assert Counter(places(new)) == wanted, "places of marks"


def _judge_uses(old: Reading, trial: OddTrial) -> None:
    """Every trim is told of, and of every event that shows one of its frames by its own reel."""
    done = trial.done
    for removal in trial.cut.removals:
        clip = removal.clip
        day = clip.timebase.day
        frames = {(clip.source_start + each) % day for each in _numbers(removal.frames)}
        shown = [
            line
            for group in _groups(old)
            for line in group
            if line.reel == clip.reel
            and not any("NAME" in note or "FILE" in note for each in group for note in each.notes)
            and line.drop == clip.drop_frame
            and any(track.startswith("V") for track in line.tracks)
            and line.source_out - line.source_in == line.record_out - line.record_in
            and frames & {each % day for each in range(line.source_in, line.source_out)}
            and (line.source_in - clip.source_start) % day
            + line.source_out - line.source_in <= clip.frames
        ]  # fmt: skip
        refused = [each for each in done.refused if each.removal is removal]
        told = {each.number for each in refused}
        across = (re.findall(r"edit between events (\d+) and (\d+)", r.reason) for r in refused)
        told |= {int(number) for found in across for pair in found for number in pair}
        for use in (use for use in done.made if use.removal is removal):
            told |= {event.number for event in use.events}
            for event in use.events:
                part = use.record.shared(event.record)
                source = part.shifted(event.source.start - event.record.start)
                assert {each % day for each in _numbers(source)} <= frames
        for line in shown:
            # Of frames that lie across an edit, only one event need be named.
            whole = frames <= {each % day for each in range(line.source_in, line.source_out)}
            named = int(line.number) in told or (told and not whole)
            assert named, f"{clip.name} {removal.frames}"
        assert told or removal in done.absent


def _numbers(frames: FrameRange) -> range:
    return range(frames.start, frames.stop)


def damages(text: str, random: Random, count: int) -> Iterator[str]:
    """A list with one row left out, doubled or put elsewhere, or one digit or track otherwise."""
    rows = text.splitlines(keepends=True)
    for _ in range(count):
        at = random.randrange(1, len(rows))
        row = rows[at]
        kind = random.choice(["out", "double", "elsewhere", "digit", "digit", "field"])
        if kind == "out":
            made = [*rows[:at], *rows[at + 1 :]]
        elif kind == "double":
            made = [*rows[:at], row, *rows[at:]]
        elif kind == "elsewhere":
            made = [*rows[:at], *rows[at + 1 :]]
            made.insert(random.randint(1, len(made)), row)
        elif kind == "digit":
            digits = [n for n, letter in enumerate(row) if letter.isdigit()] or [0]
            place = random.choice(digits)
            made = [*rows]
            made[at] = row[:place] + random.choice("0123456789") + row[place + 1 :]
        else:
            made = [*rows]
            fields: Sequence[tuple[str, str]] = (
                (" V  ", " V2 "), (" AA ", " A  "), (" B  ", " V  "), (" C  ", " D  "), ("-", " "),
                (" D  ", " C  "), ("W001", "W002"), ("A001", "A002"), ("AUD  3", "AUD  5"),
            )  # fmt: skip
            for before, after in fields:
                if before in row:
                    made[at] = row.replace(before, after, 1)
                    break
        if made != rows:
            yield "".join(made)


def facts(trial: OddTrial, text: str) -> object:
    """All that a list says, but for how often a note stands in it."""
    reading = trial.read(text)
    frames = _frames(reading, trial.origin)
    lines = Counter(
        (line.reel, line.drop, line.source_in, line.source_out, line.record_in, line.record_out,
         line.transition, track)
        for line in reading.lines
        for track in line.tracks
    )  # fmt: skip
    return (
        reading.head,
        frames,
        lines,
        Counter(_joins(reading, trial.origin)),
        Counter(_motions(reading)),
        set(reading.notes()),
        reading.marks(),
        _passed_on(reading),
    )


def passes(trial: OddTrial, text: str) -> bool:
    """Whether a list would be handed over as the trial's new one."""
    try:
        check_recut((text,), trial.document, trial.done, trial.changes)
    except ListMismatchError:
        return False
    return True
