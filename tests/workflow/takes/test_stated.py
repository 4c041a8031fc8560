"""Reels, start timecodes and rates stated for many clips at once, and put right by restating."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import Result

from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import parse_timebase
from impactcut.errors import RateError
from impactcut.project import Project
from impactcut.workflow.takes.shots import runs_at
from tests.helpers.footage.staged_clips import film
from tests.helpers.projects.project_values import make_clip
from tests.helpers.running.commands import run_command
from tests.helpers.running.watched_scans import counts, run


@pytest.fixture
def scanned(project: Project, footage: Path) -> Project:
    """Two takes at 24 frames a second, without timecode."""
    run(project, footage)
    return project


def log(project: Project, *lines: str) -> Result:
    path = project.path.parent / "log.csv"
    path.write_text("\n".join(lines), "utf-8")
    return run_command("shots", "--log", path, "--apply", "--project", project.path)


def clips(project: Project) -> list[Clip]:
    return [stored.clip for stored in project.clips() if stored.clip is not None]


def test_reel_and_start_count_at_once(scanned: Project) -> None:
    assert all("has no timecode" in clip.warnings[0] for clip in clips(scanned))
    result = log(
        scanned, "clip,reel,start",
        "S1_T1_A_x.mov,A004C011,01:02:10:05", "S1_T2_B_x.mov,B002C005,01:02:10:05",
    )  # fmt: skip
    assert "2 changed" in result.stdout
    first, second = clips(scanned)
    assert (first.reel, first.reel_source, first.source_label(0)) == (
        "A004C011", "user", "01:02:10:05",
    )  # fmt: skip
    assert (first.timecode_source, first.warnings, second.reel) == ("user", (), "B002C005")
    log(scanned, "clip,start", "S1_T1_A_x.mov,01:02:11:00")
    assert clips(scanned)[0].source_label(0) == "01:02:11:00", "stated again, the later word counts"
    log(scanned, "clip,start,reel", "S1_T1_A_x.mov,file,file")
    first = clips(scanned)[0]
    assert (first.timecode_source, first.reel_source) == ("assumed", "name")
    assert "has no timecode" in first.warnings[0]


def test_a_rate_is_measured_at_by_the_next_scan(scanned: Project, footage: Path) -> None:
    result = log(scanned, "clip,rate", "S1_T1_A_x.mov,25", "S1_T2_B_x.mov,23.976")
    assert "2 of another rate, which 'impactcut scan' measures again" in result.stdout
    status = run_command("status", "--project", scanned.path).stdout
    assert "2 clips are stated to run at other rates than they were measured at" in status
    assert counts(run(scanned, footage)) == (2, 0, 0)
    assert [clip.rate for clip in clips(scanned)] == [25, Fraction(24000, 1001)]
    assert counts(run(scanned, footage)) == (0, 2, 0)
    log(scanned, "clip,rate", "S1_T1_A_x.mov,file")
    assert counts(run(scanned, footage)) == (1, 1, 0)
    assert clips(scanned)[0].rate == 24


def test_the_rate_that_a_clip_has_measures_nothing_again(scanned: Project, footage: Path) -> None:
    result = log(scanned, "clip,rate", "S1_T1_A_x.mov,24", "S1_T2_B_x.mov,24/1")
    assert "of another rate" not in result.stdout
    assert "stated to run" not in run_command("status", "--project", scanned.path).stdout
    assert counts(run(scanned, footage)) == (0, 2, 0)
    assert counts(run(scanned, footage, rate="24.0")) == (0, 2, 0)
    log(scanned, "clip,rate", "S1_T1_A_x.mov,25")
    assert counts(run(scanned, footage)) == (1, 1, 0)


def test_a_rate_that_the_file_leaves_open_is_measured_at() -> None:
    """A clip of variable rate loses its warning when the rate is stated, be it the same."""
    plain = make_clip(rate=Fraction(24))
    asks = replace(plain, warnings=("frames are not evenly spaced: state it with --rate",))
    assert runs_at(plain, "24") and not runs_at(asks, "24")
    drop = make_clip(rate=Fraction(30000, 1001), drop_frame=True)
    assert runs_at(drop, "29.97df") and not runs_at(drop, "29.97")


def test_the_later_word_of_log_and_scan_counts(scanned: Project, footage: Path) -> None:
    log(scanned, "clip,rate", "S1_T1_A_x.mov,25")
    run(scanned, footage)
    one = next(footage.glob("S1_T1*"))
    assert counts(run(scanned, one, rate="30")) == (1, 0, 0)
    assert counts(run(scanned, footage)) == (0, 2, 0), "the scan's word stays"
    log(scanned, "clip,rate", "S1_T1_A_x.mov,25")
    assert counts(run(scanned, footage)) == (1, 1, 0)
    assert clips(scanned)[0].rate == 25


@pytest.mark.parametrize(
    ("lines", "wrong"),
    [
        (("clip,rate", "S1_T1_A_x.mov,2397.6"), "line 2: no camera runs at 2397.6"),
        (("clip,rate", "S1_T1_A_x.mov,slow"), "line 2: 'slow' is not a frame rate"),
        (("clip,start", "S1_T1_A_x.mov,1:2"), "line 2: start is '1:2'"),
        (("clip,start", "S1_T1_A_x.mov,01:00:00:24"), "01:00:00:24 does not exist at 24"),
        (("clip,start", "S1_T1_A_x.mov,01:00:00;10"), "drop-frame timecode exists at 29.97"),
        (("clip,start,rate", "S1_T1_A_x.mov,01:00:00:26,25"), "does not exist at 25"),
    ],
)
def test_what_cannot_be_is_refused_by_line(
    scanned: Project, lines: tuple[str, ...], wrong: str
) -> None:
    before = clips(scanned)
    result = log(scanned, *lines)
    assert result.exit_code == 2 and wrong in result.stderr
    assert clips(scanned) == before


def test_a_start_that_another_rate_has_not_is_named_and_breaks_nothing(
    scanned: Project, footage: Path
) -> None:
    log(scanned, "clip,start,rate", "S1_T1_A_x.mov,01:00:00:24,25")
    (first, _) = clips(scanned)
    assert any("the start that was stated is not taken" in each for each in first.warnings)
    run(scanned, footage)
    assert clips(scanned)[0].source_label(0) == "01:00:00:24"


def test_drop_frame_is_stated_by_its_mark(project: Project, tmp_path: Path) -> None:
    film(tmp_path / "cards/S1_T1_A.mov")
    run(project, tmp_path, rate="29.97")
    log(project, "clip,start", "S1_T1_A.mov,01:00:00;02")
    (clip,) = clips(project)
    assert clip.drop_frame and clip.source_label(0) == "01:00:00;02"


@pytest.mark.parametrize("rate", ["0.5", "2400", "23.5001", "24000/1000.5", "1001", "2397.6"])
def test_rates_of_no_camera_are_refused_at_once(footage: Path, rate: str) -> None:
    new = footage.parent / "new.db"
    result = run_command("scan", footage, "--rate", rate, "--project", new)
    assert result.exit_code == 2 and not new.exists(), result.output
    assert "no camera runs at" in result.stderr or "is not a frame rate" in result.stderr
    with pytest.raises(RateError):
        parse_timebase(rate)


@pytest.mark.parametrize("rate", ["1", "12.5", "18", "22", "23.98", "47.952", "300", "29.97df"])
def test_rates_of_cameras_are_taken(rate: str) -> None:
    """Undercranked, quickened, of phones and of high-speed cameras; common practice, no source."""
    assert parse_timebase(rate).rate > 0
