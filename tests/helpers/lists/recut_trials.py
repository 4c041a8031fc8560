"""Recuts of random cuts and of damaged lists, judged by the second reader alone."""

from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import dataclass
from random import Random

from impactcut.core.programme.change_list import change_list
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.recut.reel_match import match_events
from impactcut.errors import ListFormatError
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.recut_check import check_recut
from impactcut.lists.edl.reissue import reissue
from impactcut.lists.edl.sequence import list_names, sequence_of
from impactcut.lists.tables.change_list_csv import parse_change_csv, render_change_csv
from tests.helpers.lists.edl_samples import DROP, PLAIN, SLOPPY, SPLIT, TRANSITIONS
from tests.helpers.lists.list_clips import make_clip, make_removal
from tests.helpers.lists.random_cuts import RandomCut, random_cut
from tests.helpers.lists.second_reader import Reading, read_list

HOLDS = (None, None, "tail", "head", "next")


@dataclass(frozen=True)
class Trial:
    """One recut: how, what was done, and the change list as it is handed over."""

    cut: RandomCut
    hold: str | None
    whole_sound: bool
    done: Recut
    text: str
    changes: str


def run_trial(seed: int) -> Trial:
    """Recut the random cut of a seed, and judge the result."""
    cut = random_cut(seed)
    random = Random(f"how {seed}")
    hold, whole_sound = random.choice(HOLDS), random.random() < 0.4
    document = parse_edl(cut.text, cut.timebase.rate)
    matches = match_events(sequence_of(document), list_names(cut.clips))
    done = recut([match.event for match in matches], cut.removals, hold, whole_sound)
    text, changes = _handed_over(document, done)
    trial = Trial(cut, hold, whole_sound, done, text, changes)
    judge(trial)
    return trial


def _handed_over(document: EdlDocument, done: Recut) -> tuple[str, str]:
    (text,) = reissue(document, done, "QUAY REEL 2 B")
    changes = change_list(
        ("QUAY REEL 2", "QUAY REEL 2 B"), document.record_clock, done.events, done.pieces
    )
    table = render_change_csv(changes)
    check_recut((text,), document, done, parse_change_csv(table) if done.made else changes)
    return text, table


def judge(trial: Trial) -> None:
    """Compare the new list with the old one, both as the second reader sees them.

    Frames are compared by the rows of the change list, carried out on plain lists; transitions by
    what stands on both sides of them; marks and other notes one by one.
    """
    counted = trial.cut.timebase.counted
    old, new = read_list(trial.cut.text, counted), read_list(trial.text, counted)
    rows = list(csv.DictReader(io.StringIO(trial.changes, newline="")))
    _judge_frames(old, new, rows)
    _judge_transitions(old, new, rows, trial)
    _judge_marks(old, new, trial)
    _judge_lines(old, new)


def _judge_frames(old: Reading, new: Reading, rows: list[dict[str, str]]) -> None:
    before, after = old.frames(), new.frames()
    tracks = {track for track, _ in (*before, *after)}
    start = min(line.record_in for line in old.lines)
    stop = max(line.record_out for line in (*old.lines, *new.lines))
    none: Counter[tuple[object, ...]] = Counter()
    for track in tracks:
        frames = [before.get((track, at), none) for at in range(start, stop)]
        for row in reversed(rows):
            if track not in row["tracks"].split():
                continue
            at, count = int(row["record_old_in_frame"]) - start, int(row["frames"])
            if row["operation"].startswith("extend"):
                drop = row["source_count_mode"] == "drop-frame"
                first = int(row["source_first_frame"])
                come = [Counter({(row["reel"], drop, first + n): 1}) for n in range(count)]
                frames[at:at] = come
            else:
                del frames[at : at + count]
        wanted = [*frames, *[none] * (stop - start)][: stop - start]
        found = [after.get((track, at), none) for at in range(start, stop)]
        assert found == wanted, f"frames of {track}"


def _judge_transitions(
    old: Reading, new: Reading, rows: list[dict[str, str]], trial: Trial
) -> None:
    """Each transition lies where its frames went, between the frames it lay between.

    Sound that was left whole goes on under a transition from wherever it ends.
    """
    wanted: Counter[tuple[object, ...]] = Counter()
    for (track, at, transition, out, into), count in old.pairs().items():
        mine = [row for row in rows if track in row["tracks"].split()]
        gone = sum(
            -int(row["frames"]) if row["operation"].startswith("extend") else int(row["frames"])
            for row in mine
            if int(row["record_old_in_frame"]) < at
        )
        wanted[track, at - gone, transition, _side(track, out, trial), into] += count
    found: Counter[tuple[object, ...]] = Counter()
    for (track, at, transition, out, into), count in new.pairs().items():
        found[track, at, transition, _side(track, out, trial), into] += count
    assert found == wanted, f"transitions {found - wanted} instead of {wanted - found}"


def _side(track: object, out: object, trial: Trial) -> object:
    whole = trial.whole_sound and str(track).startswith("A")
    return out[:2] if whole and isinstance(out, tuple) else out


def _judge_marks(old: Reading, new: Reading, trial: Trial) -> None:
    """Every mark once; after a ripple where the frames before it that went have put it."""
    assert Counter(words for _, words in old.marks().elements()) == Counter(
        words for _, words in new.marks().elements()
    ), "marks"
    if trial.hold is None:
        gone = {at for use in trial.done.made for at in range(use.record.start, use.record.stop)}
        wanted = Counter(
            (at - sum(each < at for each in gone), words) for at, words in old.marks().elements()
        )
        assert new.marks() == wanted, "places of marks"


def _judge_lines(old: Reading, new: Reading) -> None:
    assert old.others() == new.others(), "motion, effects and splits"
    assert [line for line in new.head if "* LOC" not in line] == [
        "TITLE: QUAY REEL 2 B", *(line for line in old.head[1:] if "* LOC" not in line)
    ]  # fmt: skip
    plain = {note for note in old.notes() if "* LOC" not in note}
    kept = {note for note in new.notes() if "* LOC" not in note}
    # A piece that stands apart from its transition has its clip's name as that it comes from.
    apart = {note.replace("* TO CLIP", "* FROM CLIP") for note in plain}
    assert plain <= kept <= plain | apart, "notes"
    for line in new.lines:
        assert max(Counter(line.notes).values(), default=1) <= max(
            (Counter(each.notes)[note] for each in old.lines for note in each.notes), default=1
        )
    starts = [min(line.record_in for line in group) for group in new.events()]
    assert starts == sorted(starts), "record order"
    numbers = [int(line.number) for line in new.lines]
    assert numbers == sorted(numbers) and set(numbers) == set(range(1, numbers[-1] + 1))
    uncut = Counter(
        (line.reel, line.source_in, line.drop) for line in old.lines
        if line.source_in == line.source_out
    )  # fmt: skip
    left = Counter(
        (line.reel, line.source_in, line.drop) for line in new.lines
        if line.source_in == line.source_out
    )  # fmt: skip
    assert not uncut - left, "lines of no length"


SAMPLES = (PLAIN, TRANSITIONS, SPLIT, SLOPPY, DROP)
SCRAPS = (
    "\r", "\n", "\t", "*", ":", ";", "M2 ", "FCM: DROP FRAME\n", "SPLIT:", "AUD", "001", "  ",
    "99:99:99:99", "01:00:00:00", "K B", "W", "\x00", "\x0b", "\x1a", "\u2028", "\ufeff", "é",
    "-", "/V", "99999999999", "NONE", "* LOC: 01:00:01:00 RED", "#02 ", "AUD  3 4\n",
)  # fmt: skip
CLIPS = (
    make_clip("A004C011_TAKE2.MOV", reel="A004C011", frames=400, start=89_500),
    make_clip("A1.MOV", reel="A1", frames=24 * 600, start=86_400),
    make_clip("B1.MOV", reel="B1", frames=24 * 600, start=172_800),
)
REMOVALS = tuple(
    make_removal(clip, first, 1 + first % 3, hit=first)
    for clip in CLIPS
    for first in range(5, 390, 11)
)


def _damaged(random: Random, text: str) -> str:
    """A scrap put in, a digit changed, or lines taken out, doubled or put elsewhere."""
    kind = random.choice(["scrap", "digit", "digit", "out", "double", "elsewhere"])
    if kind == "scrap":
        start = random.randint(0, len(text))
        stop = min(len(text), start + random.randint(0, 20))
        return text[:start] + random.choice(SCRAPS) + text[stop:]
    if kind == "digit":
        places = [at for at, letter in enumerate(text) if letter.isdigit()] or [0]
        at = random.choice(places)
        return text[:at] + random.choice("0123456789") + text[at + 1 :]
    rows = text.splitlines(keepends=True)
    at = random.randrange(len(rows))
    row = rows[at] if kind == "double" else rows.pop(at)
    if kind != "out":
        rows.insert(random.randint(0, len(rows)), row)
    return "".join(rows)


def run_fuzzed(seed: int) -> bool:
    """Recut a list that was damaged at random; whether it was, rather than refused.

    A random cut may be damaged as well as one of the samples. What is recut is checked as before
    it is handed over, and keeps every line that is an event, a note or unknown.
    """
    random = Random(f"fuzz {seed}")
    cut = random_cut(seed) if random.random() < 0.5 else None
    text = cut.text if cut else random.choice(SAMPLES)
    for _ in range(random.randint(1, 3)):
        text = _damaged(random, text)
    rate = cut.timebase.rate if cut else CLIPS[0].rate
    clips, removals = (cut.clips, cut.removals) if cut else (CLIPS, REMOVALS)
    hold, whole_sound = random.choice(HOLDS), random.random() < 0.4
    try:
        document = parse_edl(text, rate)
        events = sequence_of(document)
    except ListFormatError:
        return False
    matches = match_events(events, list_names(clips))
    done = recut([match.event for match in matches], removals, hold, whole_sound)
    new, _ = _handed_over(document, done)
    again = sequence_of(parse_edl(new, rate))
    assert len(again) >= len(events)
    return True
