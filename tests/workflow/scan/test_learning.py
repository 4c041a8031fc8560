"""`impactcut learn` on projects whose finder is wrong in a way that its rows could tell."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from impactcut.core.detect.confidence import SURE
from impactcut.core.detect.contact import peaks
from impactcut.core.detect.trace import STEPS, Trace
from impactcut.core.trims.decision import Decision
from impactcut.errors import LearningError
from impactcut.project import Project, StoredHit
from impactcut.weights import weights
from impactcut.workflow.scan import learning
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.scan.learning import forget, judged_by, learn, taught
from impactcut.workflow.scan.scanning import ScanOptions, scan
from impactcut.workflow.scan.spotting import fitted_calibration
from impactcut.workflow.scan.stated import measure_the_same, settings_text
from tests.helpers.footage.staged_clips import film_swings
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import SEEN, make_clip, make_hit
from tests.helpers.running.commands import run_command
from tests.helpers.running.this_process import ThisProcess
from tests.helpers.running.watched_scans import Recorder

HIT = Decision("declined", None, "Mara", "2024-03-01T20:00:00Z")
NONE = Decision("not-a-hit", None, "Mara", "2024-03-01T20:00:00Z")
CONTACTS = (40, 90, 140, 190)


def trace(seed: int, told: float) -> tuple[Trace, dict[int, bool]]:
    """Four contacts of middling odds, of which those with a high third number are hits."""
    random = np.random.default_rng(seed)
    odds = random.normal(-6, 0.3, 240).astype(np.float32)
    steps = random.integers(-9, 10, (240, 8)).astype(np.int8)
    right = {}
    for contact in CONTACTS:
        odds[contact] = random.uniform(-0.8, 0.8)
        steps[contact, 2] = round(told * STEPS * random.choice([-0.9, 0.9]))
        right[contact] = bool(steps[contact, 2] > 0) if told else bool(random.random() < 0.5)
    size = np.full(8, 0.1, np.float32)
    return Trace(weights().digest, 1, odds, odds.astype(np.float16), steps, size), right


def fill(project: Project, told: float, clips: int = 10, answered: int = 10) -> None:
    """Clips with four finds each, all answered as they are in the first ``answered`` of them."""
    for number in range(clips):
        seen, right = trace(number, told)
        sure = fitted_calibration().confidence
        hits = (make_hit(at, confidence=round(sure(float(seen.odds[at])), 4)) for at in CONTACTS)
        clip, file = make_clip(f"/quay/S2_T{number}_B.mov"), replace(SEEN, digest=str(number))
        clip_id = keep_clip(project, clip, *hits, seen=file, trace=seen)
        if number < answered:
            for hit in project.hits(clip_id):
                project.decide(hit.id, HIT if right[hit.impact.contact] else NONE)


def confidences(project: Project) -> dict[int, float]:
    return {hit.id: hit.impact.confidence for hits in project.all_hits().values() for hit in hits}


def test_what_is_learnt_judges_clips_nobody_answered_and_is_forgotten_exactly(
    project: Project,
) -> None:
    fill(project, told=1.0, clips=16)
    before = confidences(project)
    learnt = learn(project)
    assert learnt.used and learnt.lesson.check.answers == 40
    assert learnt.lesson.check.passed > 40  # the other peaks of clips that were gone through
    assert taught(project) == learnt.lesson.correction
    right = wrong = 0
    for stored in project.clips()[10:]:
        number = int(stored.path.split("_T")[1].split("_")[0])
        if number < 10:
            continue
        for hit in project.hits(stored.id):
            listed = hit.impact.confidence >= SURE
            right += listed == trace(number, 1.0)[1][hit.impact.contact]
            wrong += listed != trace(number, 1.0)[1][hit.impact.contact]
    assert right >= 6 * wrong
    assert learnt.listed + learnt.unlisted > 0
    listed, unlisted = forget(project)
    assert (listed, unlisted) == (learnt.unlisted, learnt.listed)
    assert confidences(project) == before
    assert taught(project) is None


def test_what_does_not_help_is_not_used(project: Project) -> None:
    fill(project, told=0.0)
    before = confidences(project)
    learnt = learn(project)
    assert not learnt.used
    assert taught(project) is None
    assert confidences(project) == before
    result = run_command("learn", "--project", project.path)
    assert result.exit_code == 2
    assert "not used" in result.output


def test_two_machines_learn_the_same(tmp_path: Path) -> None:
    """The order in which clips came in is all that differs between their projects."""
    corrections = []
    for name, numbers in (("one", range(10)), ("two", reversed(range(10)))):
        with Project(tmp_path / f"{name}.db", create=True) as project:
            for number in numbers:
                seen, right = trace(number, 1.0)
                clip = make_clip(f"/quay/S2_T{number}_B.mov")
                clip_id = keep_clip(project, clip, *CONTACTS, trace=seen)
                for hit in project.hits(clip_id):
                    project.decide(hit.id, HIT if right[hit.impact.contact] else NONE)
            corrections.append(learn(project).lesson.correction)
    assert corrections[0].digest == corrections[1].digest


def test_too_few_answers_or_of_one_kind_teach_nothing(project: Project) -> None:
    with pytest.raises(LearningError, match="0 of 10 answers"):
        learn(project)
    fill(project, told=1.0, clips=3, answered=2)
    with pytest.raises(LearningError, match="8 of 10 answers"):
        learn(project)
    for hits in project.all_hits().values():
        for hit in hits:
            project.decide(hit.id, NONE)
    with pytest.raises(LearningError, match="all answers are about finds that are none"):
        learn(project)
    with pytest.raises(LearningError, match="nothing was learnt"):
        forget(project)


def test_answers_about_what_other_weights_saw_do_not_count(
    project: Project, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(project, told=1.0)
    assert learn(project).used
    assert "not in use" not in run_command("status", "--project", project.path).output
    other = replace(weights(), digest="others")
    monkeypatch.setattr(learning, "weights", lambda: other)
    monkeypatch.setattr("impactcut.workflow.reports.status.weights", lambda: other)
    assert taught(project) is None
    with pytest.raises(LearningError, match="until 'impactcut scan' has measured them again"):
        learn(project)
    shown = run_command("status", "--project", project.path).output
    assert "Learnt from 40 answers in 10 clips" in shown and "not in use" in shown


def test_a_scan_judges_by_it_and_says_what_the_trace_says(project: Project, tmp_path: Path) -> None:
    fill(project, told=1.0)
    lesson = learn(project).lesson
    numbers = (0.3, 0.1, tuple(np.linspace(-0.2, 0.2, 64).round(6).tolist()))
    long = replace(lesson, correction=type(lesson.correction)(weights().digest, *numbers))
    project.store_lesson(long, {})
    path = film_swings(tmp_path / "S1_T1_A.mov")
    scan(project, [path], ScanOptions(AnalysisSettings(), ThisProcess()), Recorder())
    stored = project.clip_at(str(path))
    assert stored is not None
    assert json.loads(stored.settings)["taught"] == long.correction.digest
    seen, hits = project.trace(stored.id, weights().digest), project.hits(stored.id)
    assert seen is not None and hits
    said = {hit.id: hit.impact.confidence for hit in hits}
    assert said == judged_by(seen, 24.0, hits, long.correction)
    assert said != judged_by(seen, 24.0, hits, None)
    forget(project)
    report = scan(project, [path], ScanOptions(AnalysisSettings(), ThisProcess()),
                  Recorder())  # fmt: skip
    assert len(report.plan.unchanged) == 1  # what was taught is nothing that is measured


@pytest.mark.parametrize("stride", [1, 2])
def test_a_find_is_judged_by_its_own_peak_whatever_lies_beside_it(stride: int) -> None:
    """A lesser peak on the flank of a greater one, as near as two contacts may be."""
    random = np.random.default_rng(7)
    odds = random.normal(-4, 2, 300).astype(np.float32)
    odds[100:106] = [6, 4, 2, 0, -1, 0.5]
    steps = np.zeros((300, 8), np.int8)
    seen = Trace("w", stride, odds, odds.astype(np.float16), steps, np.ones(8, np.float32))
    rate = 30.0 * stride
    found = peaks(odds, seen.frames, rate, -3.0)
    assert len(found) > 20
    hits = tuple(StoredHit(n, 1, make_hit(each.contact)) for n, each in enumerate(found))
    sure = fitted_calibration().confidence
    expected = {n: round(sure(each.odds), 4) for n, each in enumerate(found)}
    assert judged_by(seen, rate, hits, None) == expected


def test_what_was_taught_is_no_other_measurement(project: Project) -> None:
    fill(project, told=1.0)
    correction = learn(project).lesson.correction
    plain, other = AnalysisSettings(), AnalysisSettings(taught=correction)
    assert settings_text(plain) != settings_text(other)
    assert measure_the_same(settings_text(plain), other)
    assert measure_the_same(settings_text(other), plain)


def test_status_and_json_say_what_was_learnt(project: Project) -> None:
    fill(project, told=1.0)
    result = run_command("learn", "--json", "--project", project.path)
    said = json.loads(result.output)
    assert said["in_use"] and said["hits"] + said["none"] == 40
    status = json.loads(run_command("status", "--json", "--project", project.path).output)
    assert status["learnt"]["digest"] == said["digest"]
    assert run_command("learn", "--forget", "--project", project.path).exit_code == 0
    status = json.loads(run_command("status", "--json", "--project", project.path).output)
    assert status["learnt"] is None
