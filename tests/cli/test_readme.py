"""The README's day of work, run line by line on a stand-in for the demo.

The clips have the names, rates, lengths and start timecodes of the demo's, and hits are "found"
where it stages them; the pictures are noise, so that nothing takes long.
"""

from __future__ import annotations

import json
import re
import shlex
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import opentimelineio as otio
import pytest

from impactcut.core.detect.hits import FoundHit
from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.timebase import Timebase
from impactcut.workflow.scan import scanning
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis
from tests.helpers.footage.staged_clips import film, measure
from tests.helpers.projects.project_values import make_hit, make_motion
from tests.helpers.running.commands import run_command
from tests.helpers.running.this_process import ThisProcess
from warehouse.scenario import scenario
from warehouse.spec import FightSpec

SESSION = re.compile(r"^## A day's work$.*?^```sh$(.*?)^```$", re.M | re.S)
CUT = """TITLE: NIGHT
FCM: NON-DROP FRAME
001  A003C004 V     C        01:02:10:00 01:02:14:00 01:00:00:00 01:00:04:00
"""
ANSWERS = {
    "schema": 1, "kind": "impactcut answers", "project": "impactcut",
    "made": "2026-11-28T20:00:00Z", "answers": [],
}  # fmt: skip


def file_of(spec: FightSpec) -> str:
    return f"S{spec.section}_T{spec.take}_{spec.angle}_{spec.reel}.mov"


def staged(path: Path, settings: AnalysisSettings, report: Callable | None = None) -> ClipAnalysis:
    """A clip of the demo with the hits that it stages."""
    spec = next(spec for spec in scenario() if file_of(spec) == path.name)
    clip = measure(path, settings, report).clip
    start = Timebase(spec.rate).frame(spec.start_timecode)
    clip = replace(clip, rate=spec.rate, reel=spec.reel, reel_source="file", source_start=start)
    contacts = [round(beat.at * spec.rate) for beat in spec.beats if beat.is_hit]
    found = (FoundHit(make_hit(at), calm(make_motion(at, spec.rate))) for at in contacts)
    return ClipAnalysis(clip, tuple(found))


def calm(motion: HitMotion) -> HitMotion:
    """The same with a limb so slow that a trim of it shows to nobody."""
    limb, *rest = motion.channels
    slow = replace(limb, displacement=limb.displacement * np.float32(0.2))
    return replace(motion, channels=(slow, *rest))


@pytest.fixture
def demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(scanning, "analyse_clip", staged)
    monkeypatch.setattr(
        "impactcut.review.serve.serve", lambda _, reception, __: reception.socket.close()
    )
    executors = sys.modules["impactcut.cli.options.executors"]
    monkeypatch.setattr(executors, "local_executor", lambda *limits: ThisProcess())
    for number, spec in enumerate(scenario()):
        film(Path("samples/footage", file_of(spec)), spec.frames, round(spec.rate), number)
    Path("cut.edl").write_text(CUT)
    timeline = otio.adapters.read_from_string(CUT, "cmx_3600", rate=24)
    otio.adapters.write_to_file(timeline, "cut.otio")
    Path("answers.json").write_text(json.dumps(ANSWERS))


def test_a_days_work_runs_on_the_demo(demo: None) -> None:
    text = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    session = SESSION.search(text)
    assert session is not None
    lines = [line for line in session[1].splitlines() if line]
    assert len(lines) > 20
    for line in lines:
        name, *words = shlex.split(line, comments=True)
        assert name == "impactcut"
        result = run_command(*words)
        if "say --yes where nobody can be asked" in result.output:
            result = run_command(*words, "--yes")
        assert result.exit_code == 0, f"{line}\n{result.output}"
    changes = next(Path().glob("new_changes.csv")).read_text()
    assert "S1T1A.1" in changes and "S1T1A.2" in changes
