"""The same trim read in many places says the same: frames, gain, who sees it, sync, speed."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest

from impactcut.core.sound.sync import sync_shift
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.reasons import shows, verdict_words
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.project import Project
from impactcut.review.views import detail_dict
from impactcut.workflow.hits.listing import find_hit
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip
from tests.helpers.running.commands import run_command

WHY = "uncertain: the picture changes more than what moves explains"
SURE = Trim(98, 3, 1.234, 0.4, "clean", (), {"strike": 0.4}, ("hidden in the hit",))
DOUBTED = replace(SURE, confident=False, reasons=("hidden in the hit", f"{WHY}: 2.4 times as much"))
CUT = """TITLE: NIGHT
FCM: NON-DROP FRAME
001  B003     V     C        01:00:00:00 01:00:10:00 01:00:00:00 01:00:10:00
* FROM CLIP NAME: S2_T3_B.mov
002  B003     A     C        01:00:00:00 01:00:10:00 01:00:00:00 01:00:10:00
* FROM CLIP NAME: S2_T3_B.mov
"""


@pytest.fixture(params=[SURE, DOUBTED])
def trim(request: pytest.FixtureRequest) -> Trim:
    made: Trim = request.param
    return made


@pytest.fixture
def project(project: Project, trim: Trim) -> Project:
    """One hit, 24 frames a second, and three frames approved."""
    (hit,) = project.hits(keep_clip(project, make_clip(rate=Fraction(24)), 100))
    project.store_proposals([(hit, Proposal((trim,), trim, None))])
    project.decide(
        hit.id, Decision("approved", FrameRange(98, 101), "Ines", "2024-03-01T20:00:00Z")
    )
    return project


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_one_trim_says_the_same_everywhere(
    project: Project, trim: Trim, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("impactcut.cli.telling.bar.propose_missing", lambda *_: None)
    Path("cut.edl").write_text(CUT)
    asked = ("--project", project.path)
    words = verdict_words(trim)
    listed = run_command("hits", *asked).stdout
    assert "1.23x" in listed and shows(trim) in listed
    assert shows(trim) in run_command("trims", 1, *asked).stdout
    compared = run_command("compare", "--csv", "beats.csv", *asked).stdout
    assert shows(trim) in compared
    run_command("export", "lists", "--only", "csv,spotting,marks,otio", *asked)
    (row,) = rows(Path("lists/night_24.csv"))
    assert (row["verdict"], row["speed_gain"], row["frames"]) == (words, "1.234", "3")
    (beat,) = rows(Path("beats.csv"))
    assert (beat["verdict"], beat["gain"], beat["trim_frames"]) == (words, "1.234", "3")
    (splice,) = (
        each for each in rows(Path("lists/night_24_marks.csv")) if "splice" in each["kind"]
    )
    assert words in splice["note"]
    shown = detail_dict(find_hit(project, 1), project.motion(1))["trims"][0]
    assert (shown["shows"], shown["gain"]) == (shows(trim), 1.234)
    timeline = otio.adapters.read_from_file("lists/night_24.otio")
    assert words in json.dumps(timeline.to_json_string())


def test_sync_is_one_word_everywhere(
    project: Project, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three frames at 24 are 125 ms: beyond the 90 ms of ITU-R BT.1359-1 where sound is early, and
    within the 125 ms where it is late."""
    monkeypatch.chdir(tmp_path)
    expected = "unacceptable if early, in sync if late"
    assert sync_shift(3, Fraction(24)).words == expected
    entry = find_hit(project, 1)
    page = detail_dict(entry, project.motion(1))
    assert page["trims"][0]["sync"] == {"ms": 125, "words": expected}
    asked = ("--project", project.path)
    run_command("export", "lists", "--only", "csv,spotting", *asked)
    (row,) = rows(Path("lists/night_24.csv"))
    assert (row["sync_early"], row["sync_late"]) == ("unacceptable", "in sync")
    spotted = rows(Path("lists/night_24_spotting.csv"))
    (splice,) = (each for each in spotted if each["kind"] == "trim")
    assert (splice["offset_sync"], splice["after_sync"]) == (expected, "in sync, late")
    Path("cut.edl").write_text(CUT)
    told = run_command("recut", "cut.edl", "new.edl", "--rate", 24, "--whole-sound", *asked)
    assert "3 frames late" in told.stderr and ": in sync by ITU-R BT.1359-1" in told.stderr


def test_a_hit_has_one_speed(
    project: Project, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    asked = ("--project", project.path)
    hit = json.loads(run_command("hits", "--json", *asked).stdout)["clips"][0]["hits"][0]
    compared = json.loads(run_command("compare", "--json", *asked).stdout)
    (shown,) = compared["beats"][0]["showings"]
    run_command("compare", "--csv", "beats.csv", *asked)
    (beat,) = rows(Path("beats.csv"))
    run_command("export", "lists", "--only", "spotting", *asked)
    spotted = rows(Path("lists/night_24_spotting.csv"))
    speeds = {each["speed"] for each in spotted if each["kind"] == "hit"}
    assert hit["peak_speed"] == shown["speed"] == float(beat["speed"]) == 2.5
    assert speeds == {"2.500"}
    assert shown["speed_trimmed"] == pytest.approx(2.5 * 1.234)
    assert f"{2.5:.2f}" in run_command("hits", *asked).stdout


def test_what_is_uncertain_is_never_said_to_show_to_nobody() -> None:
    assert shows(DOUBTED) == WHY and verdict_words(DOUBTED) == WHY
    seen = replace(DOUBTED, verdict="attentive")
    assert shows(seen) == f"{WHY}; as measured, to attentive viewers"
    assert shows(replace(DOUBTED, reasons=())) == "uncertain: look at it"
    assert verdict_words(SURE) == "shows to nobody"
