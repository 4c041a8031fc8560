"""Killing the program at random moments of scanning, deciding and exporting, over and over.

A warm process forks a child for every kill, so that Python starts once. The child says through a
pipe what it has done, after it was done; the parent waits for a random number of such lines, a
random moment longer, and sends SIGKILL. What was said must then be in the project.
"""

from __future__ import annotations

import csv
import os
import random
import signal
import sqlite3
import time
from collections import Counter
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import NoReturn

from impactcut.core.trims.decision import Decision
from impactcut.project import Project
from impactcut.workflow.export.exporting import ExportOptions, export_lists
from impactcut.workflow.hits.listing import list_chosen
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.scan.clips_to_measure import Work
from impactcut.workflow.scan.planning import Plan
from impactcut.workflow.scan.scanning import ScanOptions, scan
from tests.helpers.footage.staged_clips import film, measure
from tests.helpers.running.this_process import ThisProcess

KILLS_A_PROJECT = 5
FORMATS = ("csv", "edl", "changes")
CLIPS_A_KILL = 2
MOST_LINES = 12
"""After which a child is killed: by then it has scanned, decided, exported and begun again."""
LONGEST_SECONDS = 0.02
PROJECT, CARDS, LISTS = "night.db", "cards", "lists"


@dataclass
class Tally:
    """How many children were killed, by what they had said last, and half files that were left."""

    after: Counter[str] = field(default_factory=Counter)
    unfinished: int = 0


@dataclass(frozen=True)
class Said:
    """What children have reported as done: clips by path, and hits with notes of decisions."""

    clips: set[str] = field(default_factory=set)
    notes: set[str] = field(default_factory=set)


def kill_often(folder: Path, kills: int, seed: int) -> Tally:
    """Kill so many children, and look at what each leaves behind."""
    tally = Tally()
    whole = film(folder / "whole.mov", frames=24).read_bytes()
    said, home = Said(), folder
    for number in range(kills):
        if number % KILLS_A_PROJECT == 0:
            said, home = Said(), folder / f"night {number}"
            (home / CARDS).mkdir(parents=True)
        for clip in range(CLIPS_A_KILL):
            name = f"S1_T{number * CLIPS_A_KILL + clip}_A.mov"
            (home / CARDS / name).write_bytes(whole + name.encode())
        lines = _one_kill(home, number, random.Random(f"{seed} {number}"))
        _take_down(lines, said)
        _look(home, said)
        tally.after[lines[-1].split()[0] if lines else "nothing"] += 1
        left = list((home / LISTS).glob(".*.part"))
        tally.unfinished += len(left)
        for part in left:
            part.unlink()
    return tally


def _one_kill(home: Path, number: int, chance: random.Random) -> list[str]:
    """What a child said before it was killed."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _work(home, number, writing)
    os.close(writing)
    with os.fdopen(reading) as stream:
        lines = [stream.readline() for _ in range(chance.randrange(MOST_LINES))]
        time.sleep(chance.uniform(0, LONGEST_SECONDS))
        os.kill(child, signal.SIGKILL)
        lines += stream.readlines()
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL, lines
    assert all(line.endswith("\n") for line in lines), lines
    return [line.rstrip("\n") for line in lines]


def _work(home: Path, number: int, writing: int) -> NoReturn:
    """Scan, then decide and export without end; never returns."""
    try:
        with Project(home / PROJECT, create=True) as project:
            options = ScanOptions(AnalysisSettings(), ThisProcess())
            scan(project, [home / CARDS], options, _Teller(writing), measure)
            _say(writing, "scanned")
            for turn in count():
                _decide(project, f"{number}.{turn}", writing)
                export_lists(project, home / LISTS, _export_options(number))
                _say(writing, "exported")
    finally:
        os._exit(1)


def _export_options(number: int) -> ExportOptions:
    return ExportOptions(f"night {number}", formats=FORMATS, force=True)


def _decide(project: Project, mark: str, writing: int) -> None:
    """Approve what is proposed, and once there is nothing left, the last hit again."""
    hits = [hit for clip in list_chosen(project) for hit in clip.hits]
    undecided = [hit for hit in hits if hit.undecided] or hits[-1:]
    for hit in undecided:
        trim, note = hit.proposal.proposed, f"{mark} of {hit.id}"
        assert trim is not None
        project.decide(hit.id, Decision("approved", trim.frames, note=note))
        _say(writing, f"decided {note}")


class _Teller:
    """Says which clips are kept."""

    def __init__(self, writing: int) -> None:
        self._writing = writing

    def planned(self, plan: Plan) -> None:
        _say(self._writing, f"planned {len(plan.work)}")

    def measured(self, path: Path, frames: int) -> None:
        pass

    def put_off(self, work: Work, error: Exception) -> None:
        raise AssertionError(error)

    def ended(self, work: Work, error: Exception | None) -> None:
        assert error is None
        _say(self._writing, f"kept {work.path}")


def _say(writing: int, line: str) -> None:
    os.write(writing, f"{line}\n".encode())


def _take_down(lines: Sequence[str], said: Said) -> None:
    for line in lines:
        what, _, rest = line.partition(" ")
        if what == "kept":
            said.clips.add(rest)
        if what == "decided":
            said.notes.add(rest)


def _look(home: Path, said: Said) -> None:
    """Everything that was said is there, and everything that is there is whole."""
    path = home / PROJECT
    if not path.exists() or not path.stat().st_size:
        assert not said.clips
        return
    with closing(sqlite3.connect(path)) as plain:
        assert plain.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert plain.execute("PRAGMA foreign_key_check").fetchall() == []
    with Project(path, create=True) as project:
        clips = project.clips()
        assert all(clip.state == "done" for clip in clips)
        assert said.clips <= {clip.path for clip in clips}
        assert all(len(project.hits(clip.id)) == 1 for clip in clips)
        history = [entry.said.note for clip in clips for entry in project.history(clip.id)]
        assert said.notes <= set(history) and len(history) == len(set(history))
    for listed in (home / LISTS).glob("[!.]*"):
        _look_at_list(listed)


def _look_at_list(path: Path) -> None:
    """Nobody exports before all that is there is approved, so that a list's length is known."""
    number = int(path.name.split("_")[1])
    hits = CLIPS_A_KILL * (number % KILLS_A_PROJECT + 1)
    lines = path.read_bytes().decode("ascii").splitlines()
    if path.suffix == ".csv":
        assert len(lines) - 1 == hits, path
        assert len({len(row) for row in csv.reader(lines)}) == 1, path
    if path.suffix == ".edl":
        numbers = [line[:3] for line in lines if line[:3].isdigit()]
        assert numbers == [f"{event:03}" for event in range(1, 2 * hits + 1)], path
