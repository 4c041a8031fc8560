"""`impactcut status`: the place to look when something is odd."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from commands import run_command
from impactcut.core.frames import FrameRange
from impactcut.project import Project
from project_values import SEEN, make_clip, make_hit, make_motion, make_track
from quay_project import approve
from staged_clips import film


def status(*options: str) -> str:
    result = run_command("status", *options)
    assert result.exit_code == 0, result.output
    return result.stdout


def test_what_is_odd_is_named_with_its_remedy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    rate = Fraction(24)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        hits = [
            (make_hit(40, peak_speed=0.2), make_motion(40, rate)),
            (make_hit(90, reaction=95), make_motion(90, rate)),
        ]
        clip = make_clip("/quay/S1_T1_A.mov", rate=rate, section="1", warnings=("is odd",))
        project.store_clip(clip, SEEN, "{}", make_track(240, rate), hits)
        for number in range(6):
            bare = make_clip(f"/quay/C{number}.mov", rate=rate, section="", warnings=())
            project.store_clip(bare, SEEN, "{}", make_track(240, rate), [])
        project.mark_beat(2, 1)
        found = [(make_hit(40, peak_speed=0.2), make_motion(40, rate))]
        project.store_clip(clip, SEEN, "{}", make_track(240, rate), found)
        approve(project, 1, FrameRange(39, 41))
    told = status()
    assert "clip is not where it was: 7: /quay/C0.mov, /quay/C1.mov" in told and "2 more" in told
    assert "clip: is odd: S1_T1_A.mov\n" in told
    assert "clip without a hit: 6: C0.mov" in told and "--confidence 0.3" in told
    assert "clip of no known section: 6: C0.mov" in told and "'impactcut shots'" in told
    assert "hit put into a beat by hand: 2; it is found no more" in told
    odd = json.loads(status("--json"))["odd"]
    assert {each["what"]: each["names"] for each in odd}["clip: is odd"] == ["S1_T1_A.mov"]


def test_weak_and_late_hits_are_counted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    path = film(tmp_path / "S1_T1_A.mov")
    rate = Fraction(24)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        clip = make_clip(path, rate=rate, frames=80, section="1", warnings=())
        fine = [(make_hit(40), make_motion(40, rate))]
        project.store_clip(clip, SEEN, "{}", make_track(80, rate), fine)
        assert status().endswith("nothing odd\n")
        odd = [*fine, (make_hit(60, reaction=65, peak_speed=0.2), make_motion(60, rate))]
        project.store_clip(clip, SEEN, "{}", make_track(80, rate), odd)
    told = status()
    assert "hit that reads weak: 2; 'impactcut hits --weak'" in told
    assert "hit with a late reaction: 2; 'impactcut hits --late'" in told
    assert "nothing odd" not in told
