"""Versions that are handed over: numbered, listed, told apart, and named once they are old."""

from __future__ import annotations

import csv
import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from impactcut.project import Project
from tests.helpers.projects.quay_project import CLOSE, WIDE, make_quay_project
from tests.helpers.running.commands import run_command


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    return make_quay_project(tmp_path / "night.db")


def export(quay: Path, *words: object) -> Result:
    lists = quay.parent / "lists"
    return run_command("export", lists, "--project", quay, "--only", "edl,csv,changes", *words)


def rows_of(quay: Path, name: str) -> list[dict[str, str]]:
    with (quay.parent / "lists" / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def told(quay: Path, *words: object) -> list[dict[str, Any]]:
    result = run_command("deliveries", *words, "--json", "--project", quay)
    found: list[dict[str, Any]] = json.loads(result.stdout)["deliveries"]
    return found


def odd(quay: Path) -> list[str]:
    result = run_command("status", "--project", quay)
    return [line for line in result.stdout.splitlines() if "delivered" in line]


def test_each_export_is_a_version_with_the_changes_since_the_last(quay: Path) -> None:
    assert "version 1: 3 trims in 3 files" in export(quay, "--who", "Anna").stderr
    run_command("decide", "S12T2A.1", "--as-shot", "--project", quay)
    assert export(quay).exit_code == 2, "files are there already"
    assert "version 2: 2 trims" in export(quay, "--force").stderr
    changed = rows_of(quay, "night_24_changes.csv")
    assert [(row["operation"], row["frames"], row["reel"]) for row in changed] == [
        ("put back", "2", "A004C011")
    ]
    assert "approved by Ines" in changed[0]["note"]
    versions = (changed[0]["version_old"], changed[0]["version_new"])
    assert versions == ("night, version 1", "night, version 2")
    assert {row["version"] for row in rows_of(quay, "night_24.csv")} == {"2"}
    assert "TITLE: night V2" in (quay.parent / "lists/night_24.edl").read_text("ascii")
    first, second = told(quay)
    assert (first["version"], first["who"], second["who"]) == (1, "Anna", "Mara")
    edl = quay.parent / "lists" / "night_24.edl"
    (kept,) = (file for file in second["files"] if file["path"] == str(edl))
    assert kept["digest"] == hashlib.sha256(edl.read_bytes()).hexdigest()
    assert [file["state"] for file in first["files"]] == ["changed"] * 3
    assert [file["state"] for file in second["files"]] == ["as written"] * 3


def test_exported_again_unchanged_the_list_runs_from_what_was_other(quay: Path) -> None:
    export(quay)
    export(quay, "--force")
    rows = rows_of(quay, "night_24_changes.csv")
    assert {row["version_old"] for row in rows} == {"night, untrimmed"}
    result = export(quay, "--force", "--since", "1")
    assert "no frame is other than in night, version 1" in result.stderr


def test_since_names_any_version_or_the_untrimmed_clips(quay: Path) -> None:
    export(quay)
    for hit in ("S12T2A.1", "S12T2A.2"):
        run_command("decide", hit, "--as-shot", "--project", quay)
        export(quay, "--force")
    export(quay, "--force", "--since", "1")
    assert [row["operation"] for row in rows_of(quay, "night_24_changes.csv")] == ["put back"] * 2
    export(quay, "--force", "--since", "0")
    assert [row["operation"] for row in rows_of(quay, "night_24_changes.csv")] == ["remove inside"]
    result = export(quay, "--force", "--since", "9")
    assert result.exit_code == 2 and "there is no version 9: there are 1 to 5" in result.stderr
    result = export(quay, "--force", "--since", "1", "--title", "OTHER")
    assert "holds no list of this name and rate, but night_24" in result.stderr


def test_lists_of_another_scope_start_anew(quay: Path) -> None:
    export(quay)
    export(quay, "--force", "--take", "2")
    rows = rows_of(quay, "night_24_changes.csv")
    assert {row["version_old"] for row in rows} == {"night, untrimmed"}
    assert {row["version_new"] for row in rows} == {"night, version 2"}


def test_a_version_without_a_trim_follows_one_with_some(quay: Path) -> None:
    export(quay)
    for hit in (1, 2, 3):
        run_command("decide", hit, "--clear", "--project", quay)
    assert export(quay, "--force").exit_code == 0
    rows = rows_of(quay, "night_24_changes.csv")
    assert [row["operation"] for row in rows] == ["put back"] * 3


def test_status_names_what_is_no_longer_as_it_was_delivered(quay: Path) -> None:
    export(quay)
    assert odd(quay) == []
    run_command("decide", "S12T2A.1", "--as-shot", "--project", quay)
    with Project(quay) as project:
        project.drop_clips([2], _by(project))
    answers, shots = odd(quay)
    assert answers.startswith("2 hits are answered otherwise since version 1 was delivered: S12T2A")
    assert shots.startswith("1 clip came, went or has another name, timecode or shot since")
    assert told(quay)[0]["changed_since"] == {
        "answers": ["S12T2A.1", "S12T3B.1"], "shots": [CLOSE.name], "media": [],
    }  # fmt: skip
    run_command("undo", "--project", quay)
    run_command("undo", "--project", quay)
    assert odd(quay) == []
    run_command("decide", "S12T2A.1", "--as-shot", "--project", quay)
    export(quay, "--force")
    assert odd(quay) == [], "the next version is what is in force"


def test_status_names_media_that_changed_since(quay: Path) -> None:
    export(quay)
    with Project(quay) as project:
        (stored,) = (clip for clip in project.clips() if clip.path == WIDE.path)
        assert stored.fingerprint is not None
        seen = type(stored.fingerprint)(1, 2, "bb")
        hits = [(hit.impact, project.motion(hit.id)) for hit in project.hits(stored.id)]
        project.store_clip(WIDE, seen, "{}", hits)
    (line,) = odd(quay)
    assert line.startswith("1 clip's file has changed since version 1 was delivered: S12_T2_A.mov")


def test_one_version_is_told_in_full(quay: Path) -> None:
    assert "nothing was handed over yet" in run_command("deliveries", "--project", quay).stdout
    export(quay)
    text = run_command("deliveries", "1", "--project", quay).stdout
    assert "night_24.edl: as written" in text and "approved by Ines" in text
    assert text.endswith("nothing has changed since\n")
    export(quay, "--force")
    assert (
        "a later version was delivered" in run_command("deliveries", "1", "--project", quay).stdout
    )
    result = run_command("deliveries", "3", "--project", quay)
    assert result.exit_code == 2 and "there is no version 3" in result.stderr


def test_a_project_that_may_not_be_written_is_exported_and_it_is_said(
    quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("impactcut.project.store.may_write", lambda path: False)
    result = export(quay)
    assert "version 1 is not kept" in result.stderr and (quay.parent / "lists").is_dir()


def test_a_clip_that_is_gone_is_named(quay: Path) -> None:
    """The media of this project are nowhere."""
    result = export(quay)
    assert result.exit_code == 0
    assert f"{WIDE.path} is not where it was: it stands in the lists as it was" in result.stderr


def _by(project: Project) -> Any:
    return project.acts()[0].by
