"""Values in the project file that are not what was kept: named with the file and a remedy."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

import pytest

from commands import run_command
from impactcut.core.viewing import Viewing
from impactcut.errors import ProjectFileError
from impactcut.project import Project
from project_values import SEEN, make_clip, make_hit, make_motion, make_proposal, make_track

BROKEN = ("", "{", "[", "nothing", "[1, 2]", '{"a": 1}', "5", "null", b"\xff\xfe")
RATES = ("", "24/0", "0", "-25", "twenty-four", "24/x", "1e", b"\x00")


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        clip_id = project.store_clip(
            make_clip(), SEEN, "{}", make_track(), [(make_hit(), make_motion())]
        )
        hit = project.hits(clip_id)[0]
        project.store_proposals(Viewing(), [(hit, make_proposal())])
    return path


def read_all(path: Path) -> None:
    with Project(path) as project:
        for clip in project.clips():
            project.proposals(clip.id, Viewing())
        project.chosen_trims(Viewing(), 0.0)


def spoil(path: Path, column: str, value: str | bytes) -> None:
    table, name = column.split(".")
    connection = sqlite3.connect(path)
    assert connection.execute(f"UPDATE {table} SET {name} = ?", (value,)).rowcount == 1
    connection.commit()
    connection.close()


def test_what_was_kept_is_read(kept: Path) -> None:
    read_all(kept)


@pytest.mark.parametrize(
    ("column", "value"),
    [("clips.warnings", value) for value in BROKEN]
    + [("clips.rate", value) for value in RATES]
    + [("clips.pixel_aspect", value) for value in RATES]
    + [("proposals.trims", value) for value in BROKEN if value != "[]"]
    + [("chosen_trims.trim", value) for value in BROKEN]
    + [("proposals.proposed", "7")],
)
def test_a_damaged_value_names_the_file_and_a_remedy(
    kept: Path, column: str, value: str | bytes
) -> None:
    spoil(kept, column, value)
    remedy = r"cannot be read; put back a copy of it, or name a new file with --project"
    with pytest.raises(ProjectFileError, match=f"{re.escape(str(kept))}: .*{remedy}"):
        read_all(kept)


@pytest.mark.parametrize(
    "change",
    [
        ('"first": ', '"first": "x", "was": '),
        ('"count": ', '"counted": '),
        ('"verdict": "clean"', '"verdict": "lovely"'),
        ('"felt": {', '"felt": 3, "was": {'),
    ],
)
def test_a_trim_with_a_wrong_value_is_damage(kept: Path, change: tuple[str, str]) -> None:
    with sqlite3.connect(kept) as connection:
        (text,) = connection.execute("SELECT trim FROM chosen_trims").fetchone()
    assert change[0] in text
    spoil(kept, "chosen_trims.trim", text.replace(*change))
    with pytest.raises(ProjectFileError, match=r"a proposal cannot be read; put back a copy"):
        read_all(kept)


def test_a_command_says_so_in_one_line(kept: Path) -> None:
    spoil(kept, "clips.rate", "24/0")
    result = run_command("hits", "--project", str(kept))
    assert result.exit_code == 2
    assert result.output.splitlines() == [
        f"impactcut: {kept}: what is kept of the clip /quay/S2_T3_B.mov cannot be read; "
        "put back a copy of it, or name a new file with --project"
    ]
