"""`impactcut status`: the place to look when something is odd."""

from __future__ import annotations

import json
import shutil
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from impactcut.core.time.frames import FrameRange
from impactcut.project import Project
from impactcut.workflow.files.fingerprint import fingerprint
from impactcut.workflow.files.refusals import MOST_TRIES
from tests.helpers.footage.staged_clips import film
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import SEEN, make_clip, make_hit
from tests.helpers.projects.quay_project import approve
from tests.helpers.running.commands import run_command


def status(*options: str) -> str:
    result = run_command("status", *options)
    assert result.exit_code == 0, result.output
    return result.stdout


def keep_named(project: Project, name: str, **known: Any) -> None:
    """A clip of 120 frames with a hit."""
    rate = Fraction(24)
    clip = make_clip(f"/quay/{name}", rate=rate, frames=120, section="1", **known)
    keep_clip(project, clip, 40)


def test_what_is_odd_is_named_with_its_remedy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    rate = Fraction(24)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        clip = make_clip("/quay/S1_T1_A.mov", rate=rate, section="1", warnings=("is odd",))
        weak = make_hit(40, peak_speed=0.2)
        keep_clip(project, clip, weak, make_hit(90, reaction=95))
        for number in range(6):
            bare = make_clip(f"/quay/C{number}.mov", rate=rate, section="", warnings=())
            keep_clip(project, bare)
        project.mark_beat(2, 1)
        keep_clip(project, clip, weak)
        approve(project, 1, FrameRange(39, 41))
    told = status()
    assert (
        "7 clips are not where they were: /quay/C0.mov, /quay/C1.mov" in told
        and " and 2 more; " in told
    )
    assert "\n1 clip: is odd: S1_T1_A.mov\n" in told
    assert "6 clips have no hit: C0.mov" in told and "--confidence 0.3" in told
    assert "6 clips have no known section: C0.mov" in told and "'impactcut shots'" in told
    assert "1 hit was put into a beat by hand and is no longer found, or less surely: 2; " in told
    odd = json.loads(status("--json"))["odd"]
    assert {each["what"]: each["names"] for each in odd}["clip: is odd"] == ["S1_T1_A.mov"]


def test_weak_and_late_hits_are_counted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    path = film(tmp_path / "S1_T1_A.mov")
    rate = Fraction(24)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        clip = make_clip(path, rate=rate, frames=80, section="1", warnings=())
        keep_clip(project, clip, 40, seen=fingerprint(path))
        assert status().endswith("nothing odd\n")
        odd = make_hit(60, reaction=65, peak_speed=0.2)
        keep_clip(project, clip, 40, odd, seen=fingerprint(path))
    told = status()
    assert "1 hit reads weak: S1T3B.2; 'impactcut hits --weak'" in told
    assert "1 hit has a late reaction: S1T3B.2; 'impactcut hits --late'" in told
    assert "nothing odd" not in told


def test_what_became_of_files_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    names = ("S1_T1_A.mov", "S1_T2_A.mov", "S1_T3_A.mov", "copy.mov")
    rate = Fraction(24)
    for seed, name in enumerate(names[:3]):
        film(tmp_path / name, frames=10, seed=seed)
    shutil.copy(names[2], names[3])
    with Project(tmp_path / "impactcut.db", create=True) as project:
        for name in names:
            clip = make_clip(tmp_path / name, rate=rate, section="1", warnings=())
            seen = fingerprint(tmp_path / name)
            keep_clip(project, clip, 40, seen=seen)
        approve(project, 1, FrameRange(39, 41))
        film(tmp_path / names[0], frames=10, seed=7)
        (tmp_path / names[1]).unlink()
        told = status()
        assert f"clip has changed since it was measured: {tmp_path / names[0]}; 'impactcut" in told
        early = run_command("export", "early", "--only", "csv").stderr
        assert f"{tmp_path / names[0]} has changed since it was measured: it stands in" in early
        assert f"clip is not where it was: {tmp_path / names[1]}; connect its disk" in told
        assert f"another: {tmp_path / names[2]} (as {tmp_path / names[3]}); lists hold" in told
        assert "before its file changed" not in told
        clip = make_clip(tmp_path / names[0], rate=rate, section="1", warnings=())
        seen = fingerprint(tmp_path / names[0])
        keep_clip(project, clip, 41, seen=seen)
        approved_before = "1 hit was decided on before its file changed: S1T3B-2.1; look again"
        assert approved_before in status() and "since it was measured" not in status()
        exported = run_command("export", "lists", "--only", "csv")
        goes = "hit S1T3B-2.1 in S1_T1_A.mov goes out as it was approved before the file"
        assert goes in exported.stderr
        approve(project, 1, FrameRange(39, 41))
        assert "before its file changed" not in status()
        assert "goes out as" not in run_command("export", "again", "--only", "csv").stderr


def test_clips_that_no_list_tells_apart_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A conform finds pictures by reel and timecode alone (CMX3600 form; common practice)."""
    monkeypatch.chdir(tmp_path)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        for name, reel, source, start in (
            ("S1_T1_A.mov", "A001", "file", 86_400),
            ("S1_T2_A.mov", "a001", "user", 86_500),
            ("S1_T3_A.mov", "A001", "file", 86_620),
            ("S1_T4_A.mov", "A001", "name", 86_400),
            ("S1_T5_A.mov", "A002", "file", 86_400),
        ):
            keep_named(project, name, reel=reel, reel_source=source, source_start=start)
        approve(project, 1, FrameRange(39, 41))
    told = "1 clip states the reel and timecode of another, so no list tells them apart: "
    assert f"{told}S1_T2_A.mov (as S1_T1_A.mov); put reel or start right in a shot log" in status()
    exported = run_command("export", "lists", "--only", "edl", "--who", "Anna")
    assert exported.stderr.count("so no list tells them apart") == 1
    assert "S1_T2_A.mov states the reel and timecode of S1_T1_A.mov (a001, " in exported.stderr


def test_a_proxy_that_lost_reel_and_name_is_asked_about(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        for name, source, start, told in (
            ("A004C002.mov", "file", 86_400, "file"),
            ("A004C002_proxy.mov", "name", 86_400, "file"),
            ("A004C003.mov", "name", 90_000, "file"),
            ("B004C002.mov", "file", 95_000, "file"),
            ("C004C002.mov", "file", 95_000, "file"),
            ("x.mov", "name", 0, "assumed"),
            ("y.mov", "name", 0, "assumed"),
        ):
            keep_named(
                project, name, reel=name[:8], reel_source=source, source_start=start,
                timecode_source=told,
            )  # fmt: skip
    assert (
        "1 clip has the timecode and length of another, and one of the two has no reel: "
        "A004C002_proxy.mov (as A004C002.mov); if they are an original and its proxy, 'impactcut "
    ) in status()


def test_what_is_set_aside_is_named_with_its_remedy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        for count in range(MOST_TRIES):
            project.store_failure("/quay/a.mov", SEEN, "{}", "crashed", "copy it again")
            expected = f"failed ({count + 1} tries): /quay/a.mov: crashed; copy it again\n"
            assert (expected in status()) == (0 < count < MOST_TRIES - 1)
    told = status()
    assert "failed: /quay/a.mov: set aside after 3 tries: crashed; copy it again; " in told
    assert "'impactcut scan --retry' tries once more" in told
    assert "file that failed is no longer there: /quay/a.mov; 'impactcut scan' of" in told
    (failed,) = json.loads(status("--json"))["failed"]
    assert "--retry" in failed["remedy"] and failed["tries"] == MOST_TRIES
