"""A session for viewers: its films, and what their sheets say, through the commands."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import av
import numpy as np
import pytest

from impactcut.core.viewer.forced_choice import Jump, fit_calibration
from impactcut.core.viewer.judge import Judge
from impactcut.core.viewer.session import FRAMES, draw_jumps, places
from impactcut.media.render import jump_films
from impactcut.media.render.jump_films import PAUSE, SIZE, patch_before_wall
from impactcut.project import Project
from impactcut.workflow.viewers import session
from tests.helpers.projects.simulated_viewers import answered
from tests.helpers.running.commands import run_command

VIEW = Judge()


def test_the_patch_goes_where_the_jump_says() -> None:
    jump = Jump(4.0, 6.0, 12.0, 24)
    steady, jumped = (places(jump, each, 12, VIEW) * VIEW.degrees for each in (False, True))
    assert np.diff(steady) == pytest.approx(6.0 / 24)
    off = (jumped - steady) * 60
    assert off[:12] == pytest.approx(0) and off[12:] == pytest.approx(12.0)
    still = patch_before_wall(0.0, 4.0, VIEW).astype(int)
    changed = np.abs(patch_before_wall(0.25, 4.0, VIEW).astype(int) - still) > 0
    columns = np.flatnonzero(changed.any(0))
    side = round(2.0 / VIEW.degrees * SIZE[0])
    assert columns.min() == pytest.approx(SIZE[0] / 2 - side / 2, abs=2)
    assert columns.max() == pytest.approx(SIZE[0] * 0.75 + side / 2, abs=2)


def test_a_session_from_films_to_the_project(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jump_films, "SIZE", (320, 180))
    folder = tmp_path / "session"
    made = run_command("calibrate", "make", folder, "--pairs", 2)
    assert made.exit_code == 0 and "2 pairs" in made.output
    assert sorted(path.name for path in folder.iterdir()) == [
        "key.json", "pair_001.mp4", "pair_002.mp4", "sheet.csv",
    ]  # fmt: skip
    assert (folder / "sheet.csv").read_text().split() == ["pair,answer", "pair_001.mp4,",
                                                          "pair_002.mp4,"]  # fmt: skip
    with av.open(str(folder / "pair_001.mp4")) as film:
        assert sum(1 for _ in film.decode(video=0)) == 2 * FRAMES + PAUSE
    key = json.loads((folder / "key.json").read_text())
    jumps = draw_jumps(300, 2, VIEW)
    key["pairs"] = [
        {"pair": f"p{n}", "jumps_in": 1 + n % 2, **vars(each)} for n, each in enumerate(jumps)
    ]
    (folder / "key.json").write_text(json.dumps(key))
    found = answered(jumps, 2.2, 0.25, 1.5, 1)
    with (folder / "sheet.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["pair", "answer"])
        for number, right in enumerate(found):
            writer.writerow([f"p{number}", 1 + (number % 2 if right else (number + 1) % 2)])
    database = tmp_path / "night.db"
    Project(database, create=True).close()
    given = ("calibrate", "fit", folder / "key.json", folder / "sheet.csv", "--project", database)
    assert "not kept" in run_command(*given, "--try").output
    with Project(database) as project:
        assert project.calibration() is None
    assert run_command(*given).exit_code == 0
    with Project(database) as project:
        kept = project.calibration()
    expected = fit_calibration(jumps, found, VIEW)
    assert kept is not None
    assert replace(kept, when="") == expected
    assert datetime.strptime(kept.when, "%Y-%m-%dT%H:%M:%SZ"), "as decisions are written"
    assert run_command("calibrate", "forget", "--project", database).exit_code == 0
    with Project(database) as project:
        assert project.calibration() is None
    (folder / "sheet.csv").write_text("pair,answer\np1,left\n")
    wrong = run_command("calibrate", "fit", folder / "key.json", folder / "sheet.csv")
    assert wrong.exit_code == 2 and "sheet.csv: line 2: answer 'left'" in wrong.output


def test_a_session_is_not_written_over_and_other_sheets_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(session, "film_pair", lambda path, **_: path.write_bytes(b"film"))
    folder = tmp_path / "session"
    assert run_command("calibrate", "make", folder, "--pairs", 1).exit_code == 0
    again = run_command("calibrate", "make", folder, "--pairs", 1)
    assert again.exit_code == 2 and "already there" in again.output
    sheet = tmp_path / "anna.csv"
    for text, said in (
        ("pair,answer\npair_007.mp4,1\n", "no pair 'pair_007.mp4' in the key"),
        ("film;answer\n", "the first row must be pair,answer"),
        ("pair,answer\npair_001.mp4,1\n", "too few"),
        ("pair;answer\npair_001.mp4;1\n", "too few"),
    ):
        sheet.write_text(text)
        told = run_command("calibrate", "fit", folder / "key.json", sheet)
        assert told.exit_code == 2 and said in told.output and "anna.csv" in told.output
    told = run_command("calibrate", "fit", sheet, sheet)
    assert told.exit_code == 2 and "not the key of a session" in told.output
    for key, answers in ((folder / "key.json", "tom.csv"), ("keys.json", sheet)):
        told = run_command("calibrate", "fit", key, answers)
        assert told.exit_code == 2
        assert "cannot be read (No such file or directory); check its name" in told.output
        assert "Errno" not in told.output
