"""Cells of a project file that hold something else than was kept: named, with what to do."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from impactcut.core.detect.hits import FoundHit
from impactcut.core.learn.correction import Check, Correction, Lesson
from impactcut.core.takes.scale import Scale
from impactcut.core.takes.shot_log import ShotSaid
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.viewer.calibration import Calibration
from impactcut.errors import ProjectFileError
from impactcut.project import Actor, HandMark, Project
from impactcut.project.file.migrations import MIGRATIONS
from impactcut.project.rows.damage import MEASURE, RESTORE
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import (
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

JUNK: dict[str, tuple[object, ...]] = {
    "INTEGER": ("junk", 1.5, BYTES), "REAL": ("junk", 9e999, BYTES), "TEXT": (BYTES,),
    "BLOB": ("junk", 5, BYTES),
}  # fmt: skip
"""What no column of a type may hold; SQLite keeps any type in any column."""
WORDS = ("junk", "")
RATIOS = ("junk", "1/0", "0", "-24", "nan", "1e99", "")
MORE: dict[str, tuple[object, ...]] = {
    "clips.state": WORDS, "clips.digest": (None,), "clips.name": (None,), "clips.reel": (None,),
    "clips.settings": ("junk", "5", "[]", '{"rate": 24}'), "clips.reel_source": WORDS,
    "clips.rate": (*RATIOS, None), "clips.drop_frame": (2, 1, None), "clips.frames": (0, -1, None),
    "clips.timecode_source": WORDS, "clips.width": (0,), "clips.height": (0,),
    "clips.pixel_aspect": RATIOS, "clips.variable_rate": (2,), "clips.has_sound": (2,),
    "clips.clock": (2,), "clips.dropped": (2,), "said_of_clips.clock": (2,),
    "clips.warnings": ("junk", "[", "5", '{"a": 1}', "[1]", "[" * 50_000, None),
    "said_of_clips.circled": (2,), "said_of_clips.metres": (0, -4, None),
    "said_of_clips.metres_error": (9,),
    "hits.onset": (999,), "hits.settle": (0,), "hits.camera": WORDS, "hit_labels.label": WORDS,
    "proposed_trims.chosen": (*NO_TRIM, None), "proposed_trims.no_trim": ("junk",),
    "decisions.answer": WORDS, "decisions.first": (-1, None), "decisions.count": (0, 4, -1, None),
    "acts.source": ("junk",), "marks.before": ("junk", "5", "{}"), "drops.dropped": (2,),
    "calibrations.position_step": (0, -1), "calibrations.viewer_ratio": (0.5,),
    "calibrations.viewers": (None,), "calibrations.made": (None,),
    "lessons.correction": ("junk", "{}", '{"weights": 1}'), "lessons.checked": ("junk", "{}"),
    "name_patterns.pattern": ("junk", "{take"),
}  # fmt: skip
"""What by its meaning a column may not hold."""
EMPTY = ("same_takes", "deliveries", "brightness", "fields_of_view")
UNREAD = ("hit_labels.contact", "marks.before_motion", "traces.weights", "proposed_trims.judge")
"""What is found by, or read by those who write."""
BINARY = ("hit_motions.data", "traces.data")
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
    """A project with a row in every table but those in `EMPTY`."""
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
        project.mark([HandMark(1, hit.id, FoundHit(make_hit(100), make_motion(100)))], MARA)
        project.undo(MARA)
        project.drop_clips([1], MARA)
        project.undo(MARA)
        check = Check(1, 8, 4, 9, (5, 7), (3, 1), (0.4, 0.3), 0.01)
        project.store_lesson(Lesson(Correction("w", 0.1, 0.2, (0.3, -0.4)), check), {})
        project.store_calibration(FITTED)
        project.store_proposals([(project.hit(1), make_proposal())])
    return path


@pytest.fixture
def path(whole: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copy(whole, tmp_path))


def measure(project: Project) -> None:
    keep_clip(project, make_clip(), 100, trace=make_trace())


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


def cells() -> dict[str, tuple[object, ...]]:
    """What cells, by ``table.column``, may not hold: all but numbers of rows."""
    with closing(sqlite3.connect(":memory:")) as made:
        for step in MIGRATIONS:
            for statement in step.statements:
                made.execute(statement)
        columns = made.execute(
            "SELECT tables.name || '.' || columns.name, columns.type FROM sqlite_schema AS tables, "
            "pragma_table_info(tables.name) AS columns WHERE tables.type = 'table' AND NOT pk "
            "AND columns.type <> '' AND columns.name NOT IN "
            "(SELECT [from] FROM pragma_foreign_key_list(tables.name))"
        ).fetchall()
    return {
        name: (*JUNK[kind], *MORE.get(name, ()))
        for name, kind in columns
        if name.partition(".")[0] not in EMPTY and name not in UNREAD
    }


CELLS = cells()
MEASURED = [
    cell
    for cell in CELLS
    if cell.partition(".")[0] in ("hits", "proposed_trims", "hit_motions", "traces")
    and cell != "hits.by_hand"
]


@pytest.mark.parametrize("cell", CELLS)
def test_damaged_cell_is_named_with_what_to_do(path: Path, cell: str) -> None:
    table, _, column = cell.partition(".")
    remedy = MEASURE if cell in MEASURED else RESTORE
    for value in CELLS[cell]:
        write(path, table, column, value)
        said = readings(path)
        assert said, value
        for each in said:
            assert each.startswith(f"{path}: it is damaged (") and each.endswith(f"); {remedy}")
            assert len(each) < len(str(path)) + 250
    if cell not in BINARY:
        result = run_command(*COMMANDS.get(table, ("hits",)), "--project", path)
        assert result.exit_code == 2
        assert result.output.startswith(f"impactcut: {path}: it is damaged (")
        assert f"); {remedy}\n" in result.output


@pytest.mark.parametrize("cell", MEASURED)
def test_measuring_again_mends_what_it_is_said_to_mend(path: Path, cell: str) -> None:
    """A hit whose contact is lost gets another number; what was decided finds it again."""
    table, _, column = cell.partition(".")
    write(path, table, column, CELLS[cell][0])
    assert readings(path)
    with Project(path) as project:
        measure(project)
        (hit,) = project.hits(1)
        assert hit.impact == make_hit(100) and hit.decision is not None
        assert hit.id == 1 or cell == "hits.contact"
        project.store_proposals([(hit, make_proposal())])
    assert hit.id != 1 or readings(path) == []


def test_text_that_is_none_is_explained(path: Path) -> None:
    """SQLite keeps bytes as text where they are said to be, and Python cannot read them."""
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE clips SET reel = CAST(x'ff' AS TEXT)")
    assert all(each.startswith(f"{path}: ") and each.endswith(RESTORE) for each in readings(path))
