"""Cells of a project file that hold something else than was kept: named, with what to do."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from impactcut.core.learn.correction import Check, Correction, Lesson
from impactcut.core.takes.scale import Scale
from impactcut.core.takes.shot_log import ShotSaid
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decisions import Decision
from impactcut.core.viewer.calibration import Calibration
from impactcut.errors import ProjectFileError
from impactcut.project import Actor, HandMark, Project
from impactcut.project.rows.damage import MEASURE, RESTORE
from tests.helpers.projects.project_values import (
    SEEN,
    make_clip,
    make_hit,
    make_motion,
    make_proposal,
    make_trace,
)
from tests.helpers.running.commands import run_command

MARA = Actor("Mara", "2024-03-01T12:00:00Z")
FITTED = Calibration(4.0, 0.1, 2.5, (0.4, 0.03, 0.2), 480, 4, "2026-11-25T12:00:00+00:00")
BYTES = b"\x00\xff"
NO_TEXT: tuple[object, ...] = (BYTES,)
NO_WHOLE: tuple[object, ...] = ("junk", 1.5, BYTES)
NO_NUMBER: tuple[object, ...] = ("junk", 9e999, BYTES)
NO_FLAG: tuple[object, ...] = ("junk", 2, BYTES)
NO_WORD: tuple[object, ...] = ("junk", "", BYTES)
NO_RATIO: tuple[object, ...] = ("junk", "1/0", "0", "-24", "nan", "1e99", "", BYTES)
NO_TEXTS: tuple[object, ...] = ("junk", "[", "5", '{"a": 1}', "[1]", "[" * 50_000, None, BYTES)
TRIM = (
    '{"first": 99, "count": 2, "speed_gain": 1.2, "visibility": 0.8, "verdict": "clean", '
    '"vetoes": [], "channels": {"strike": 0.3}, "reasons": [], "front_row": null, "felt": {}, '
    '"confident": true, "by_taste": false}'
)
CHANGES = (
    ('"first": 99', '"first": "junk"'), ('"count": 2', '"count": 0'), ('"count": 2', '"count": 4'),
    ('"speed_gain": 1.2', '"speed_gain": null'), ('"visibility": 0.8', '"visibility": Infinity'),
    ('"clean"', '"junk"'), ('"vetoes": []', '"vetoes": "junk"'), ("0.3", '"junk"'),
    ('"reasons": []', '"reasons": [1]'), ("null", '"junk"'), ('"felt": {}', '"felt": []'),
    ("true", "5"), ('"first": 99, ', ""),
)  # fmt: skip
NO_TRIM = ("junk", "5", "[]", "{}", "null", *(TRIM.replace(*each) for each in CHANGES))

JUNK: dict[str, dict[str, tuple[object, ...]]] = {
    "clips": {
        "state": NO_WORD, "size": NO_WHOLE, "mtime_ns": NO_WHOLE, "digest": (None, BYTES),
        "settings": ("junk", "5", "[]", '{"rate": 24}', BYTES), "error": NO_TEXT,
        "remedy": NO_TEXT, "tries": NO_WHOLE, "measured": NO_TEXT, "path": NO_TEXT,
        "name": (None, BYTES), "reel": (None, BYTES), "reel_source": NO_WORD,
        "rate": (*NO_RATIO, None), "drop_frame": (*NO_FLAG, 1, None),
        "frames": (*NO_WHOLE, 0, -1, None), "source_start": NO_WHOLE, "timecode_source": NO_WORD,
        "width": (*NO_WHOLE, 0), "height": (*NO_WHOLE, 0), "rotation": NO_WHOLE,
        "pixel_aspect": NO_RATIO, "variable_rate": NO_FLAG, "has_sound": NO_FLAG,
        "section": NO_TEXT, "take": NO_TEXT, "angle": NO_TEXT, "slate": NO_TEXT, "clock": NO_FLAG,
        "warnings": NO_TEXTS, "called": NO_TEXT,
        "dropped": NO_FLAG,
    },
    "said_of_clips": {
        "section": NO_TEXT, "take": NO_TEXT, "angle": NO_TEXT, "slate": NO_TEXT,
        "circled": NO_FLAG, "metres": (*NO_NUMBER, 0, -4, None), "metres_error": (*NO_NUMBER, 9),
        "clock": NO_FLAG,
    },
    "hits": {
        "onset": (*NO_WHOLE, 999), "peak": NO_WHOLE, "contact_exact": NO_NUMBER,
        "settle": (*NO_WHOLE, 0), "reaction": NO_WHOLE, "confidence": NO_NUMBER,
        "peak_speed": NO_NUMBER, "region_left": NO_NUMBER, "region_top": NO_NUMBER,
        "region_width": NO_NUMBER, "region_height": NO_NUMBER, "camera": NO_WORD,
        "contact": NO_WHOLE,
    },
    "proposed_trims": {
        "chosen": (*NO_TRIM, None, BYTES), "no_trim": ("junk", BYTES), "trims": ("junk", 5, BYTES),
    },
    "hit_motions": {"data": ("junk", 5, BYTES)},
    "traces": {"data": ("junk", 5, BYTES)},
    "decisions": {
        "contact": NO_WHOLE, "digest": NO_TEXT, "answer": NO_WORD, "first": (*NO_WHOLE, -1, None),
        "count": (*NO_WHOLE, 0, 4, -1, None), "who": NO_TEXT, "decided": NO_TEXT, "note": NO_TEXT,
        "note_who": NO_TEXT,
    },
    "acts": {"who": NO_TEXT, "made": NO_TEXT, "source": ("junk", BYTES)},
    "marks": {
        "contact": NO_WHOLE, "before": ("junk", "5", "{}", BYTES), "before_by": NO_TEXT,
    },
    "hit_labels": {"label": NO_WORD},
    "drops": {"dropped": NO_FLAG},
    "clip_names": {"name": NO_TEXT},
    "calibrations": {
        "position_step": (*NO_NUMBER, 0, -1), "area_exponent": NO_NUMBER,
        "viewer_ratio": (*NO_NUMBER, 0.5), "step_error": NO_NUMBER, "exponent_error": NO_NUMBER,
        "ratio_error": NO_NUMBER, "answers": NO_WHOLE, "viewers": (*NO_WHOLE, None),
        "made": (None, BYTES),
    },
    "lessons": {
        "correction": ("junk", "{}", '{"weights": 1}', BYTES), "checked": ("junk", "{}", BYTES),
    },
    "name_patterns": {"pattern": ("junk", "{take", BYTES)},
    "beat_marks": {"with_hit_id": NO_WHOLE},
}  # fmt: skip
BINARY = ("hit_motions.data", "traces.data")
MEASURED = ("hits", "proposed_trims", "hit_motions", "traces")
READ: tuple[Callable[[Project], object], ...] = (
    Project.clips,
    lambda project: project.clip_at("/quay/S2_T3_B.mov"),
    Project.all_hits,
    lambda project: project.hit(1),
    lambda project: project.speeds(0.5),
    lambda project: project.motion(1),
    lambda project: project.trace(1, "w"),
    lambda project: project.proposals(1),
    lambda project: project.chosen_trims(0.5),
    lambda project: project.history(1),
    lambda project: project.orphans(1),
    Project.decided_on_other_content,
    Project.calibration,
    Project.lesson,
    Project.name_pattern,
    Project.beat_marks,
    Project.acts,
    Project.marks,
    Project.drops,
    Project.clip_names,
)
COMMANDS = {
    "hits": ("hits",), "proposed_trims": ("trims", 1),
    "name_patterns": ("shots",), "beat_marks": ("compare",), "acts": ("history",),
    "marks": ("history",), "drops": ("history",), "lessons": ("status",),
}  # fmt: skip


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project with a row in every table but the calibrations."""
    path = tmp_path_factory.mktemp("whole") / "night.db"
    with Project(path, create=True) as project:
        measure(project)
        (hit,) = project.hits(1)
        project.say_of_clips({1: ShotSaid(take="3", circled=True, scale=Scale(4.0, 1.0))})
        project.mark_clock([1], False)
        project.store_proposals([(hit, make_proposal())])
        project.decide(hit.id, Decision("approved", FrameRange(99, 101), "Ines"))
        project.store_name_pattern("S{section}_T{take}_{angle}", {})
        project.mark_beat(hit.id, hit.id)
        project.call_clips({1: "S2T3B"})
        project.mark([HandMark(1, hit.id, make_hit(100), make_motion(100))], MARA)
        project.undo(MARA)
        project.drop_clips([1], MARA)
        project.undo(MARA)
        check = Check(1, 8, 4, 9, (5, 7), (3, 1), (0.4, 0.3), 0.01)
        project.store_lesson(Lesson(Correction("w", 0.1, 0.2, (0.3, -0.4)), check), {})
        project.store_proposals([(project.hit(1), make_proposal())])
    return path


@pytest.fixture
def path(whole: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copy(whole, tmp_path))


def measure(project: Project) -> None:
    found = [(make_hit(100), make_motion(100))]
    project.store_clip(make_clip(), SEEN, "{}", found, make_trace())


def write(path: Path, table: str, column: str, value: object) -> None:
    """Write a cell of every row of a table, whatever the program would allow."""
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        for each in ("decisions", "acts", "marks", "drops"):
            connection.execute(f"DROP TRIGGER IF EXISTS {each}_are_not_changed")
        connection.execute(f"UPDATE {table} SET {column} = ?", (value,))


def readings(path: Path) -> list[str]:
    """What every way of reading that fails says; it may fail in no other way than this."""
    said = []
    with Project(path) as project:
        for read in READ:
            try:
                read(project)
            except ProjectFileError as error:
                said.append(str(error))
    return said


def test_nothing_is_said_of_a_whole_project(path: Path) -> None:
    assert readings(path) == []
    with Project(path) as project:
        project.store_calibration(FITTED)
    assert readings(path) == []


@pytest.mark.parametrize(
    ("table", "column"), [(table, column) for table in JUNK for column in JUNK[table]]
)
def test_damaged_cell_is_named_with_what_to_do(path: Path, table: str, column: str) -> None:
    if table == "calibrations":
        with Project(path) as project:
            project.store_calibration(FITTED)
    remedy = MEASURE if table in MEASURED else RESTORE
    for value in JUNK[table][column]:
        write(path, table, column, value)
        said = readings(path)
        assert said, value
        for each in said:
            assert each.startswith(f"{path}: it is damaged (") and each.endswith(f"); {remedy}")
            assert len(each) < len(str(path)) + 250
    if f"{table}.{column}" not in BINARY:
        result = run_command(*COMMANDS.get(table, ("hits",)), "--project", path)
        assert result.exit_code == 2
        assert result.output.startswith(f"impactcut: {path}: it is damaged (")
        assert f"); {remedy}\n" in result.output


@pytest.mark.parametrize("table", MEASURED)
def test_measuring_again_mends_what_it_is_said_to_mend(path: Path, table: str) -> None:
    """A hit whose contact is lost gets another number; what was decided finds it again."""
    for column, junk in JUNK[table].items():
        write(path, table, column, junk[0])
        assert readings(path)
        with Project(path) as project:
            measure(project)
            (hit,) = project.hits(1)
            assert hit.hit == make_hit(100) and hit.decision is not None
            assert hit.id == 1 or (table, column) == ("hits", "contact")
            project.store_proposals([(hit, make_proposal())])
        if hit.id != 1:
            break
        assert readings(path) == []


def test_text_that_is_none_is_explained(path: Path) -> None:
    """SQLite keeps bytes as text where they are said to be, and Python cannot read them."""
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE clips SET reel = CAST(x'ff' AS TEXT)")
    assert all(each.startswith(f"{path}: ") and each.endswith(RESTORE) for each in readings(path))
