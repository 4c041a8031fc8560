"""Clips that crash, hang or swell cost nobody but themselves; nothing is left running."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import psutil
import pytest

from impactcut.errors import LostProcessError, WorkerError
from impactcut.project import Project
from impactcut.workflow.files.find import find_media
from impactcut.workflow.files.refusals import MOST_TRIES
from impactcut.workflow.scan import one_take, planning
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.scan.clips_to_measure import (
    Outcome,
    Work,
    by_name,
    in_order_of,
    largest_first,
    smallest_first,
)
from impactcut.workflow.scan.planning import plan_scan
from impactcut.workflow.scan.scanning import ScanOptions, ScanReport, scan
from impactcut.workflow.workers import child_process, measuring_processes, this_machine
from impactcut.workflow.workers.this_machine import OtherProcesses
from tests.helpers.footage.staged_clips import count_badly, film, measure_badly, say_badly
from tests.helpers.running.watched_scans import Recorder, work_for


def tasks_for(folder: Path, *names: str) -> list[Work]:
    return [work_for(film(folder / name, frames=10, seed=n)) for n, name in enumerate(names)]


def outcomes(executor: OtherProcesses, tasks: list[Work]) -> dict[str, Outcome]:
    found = list(executor.measure(tasks, measure_badly, lambda *_: None))
    assert len(found) == len(tasks)
    return {outcome.work.path.name: outcome for outcome in found}


def calls(folder: Path, name: str) -> list[int]:
    """Numbers of the processes that were given a clip."""
    return [int(mark.name.split("-")[-1].split(".")[0]) for mark in folder.glob(f"{name}.*.call")]


def children() -> list[psutil.Process]:
    """Processes below this one, but for Python's own that watches over what processes share."""
    return [
        child
        for child in psutil.Process().children(recursive=True)
        if not any("resource_tracker" in word for word in child.cmdline())
    ]


def test_bad_clips_cost_nobody_but_themselves(tmp_path: Path) -> None:
    names = ("a.mov", "crash.mov", "b.mov", "hang.mov", "swell.mov", "c.mov", "d.mov")
    executor = OtherProcesses(2, patience=8, memory=500 << 20)
    found = outcomes(executor, tasks_for(tmp_path, *names))
    wrong = {name: str(each.error) for name, each in found.items() if each.error is not None}
    assert all(isinstance(found[name].error, LostProcessError) for name in wrong)
    assert wrong.keys() == {"crash.mov", "hang.mov", "swell.mov"}
    assert "crashed (SIGSEGV); the file may be damaged" in wrong["crash.mov"]
    assert "no frame of it was measured for 8 s" in wrong["hang.mov"]
    assert "takes more than 0.5 GiB of memory; allow more" in wrong["swell.mov"]
    assert all(str(tmp_path / name) in text for name, text in wrong.items())
    assert children() == []


def test_good_clips_share_a_process_and_none_goes_on_after_a_bad_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(measuring_processes, "MOST_CALLS", 2)
    names = ("a.mov", "b.mov", "c.mov", "crash.mov", "d.mov")
    outcomes(OtherProcesses(1), tasks_for(tmp_path, *names))
    (a,), (b,), (c,), (crash,), (d,) = (calls(tmp_path, name) for name in names)
    assert a == b != c == crash != d and os.getpid() not in (a, c, d)


def test_where_a_clip_crashed_is_there_for_who_asks(tmp_path: Path) -> None:
    found = outcomes(OtherProcesses(1), tasks_for(tmp_path, "crash.mov"))
    (note,) = found["crash.mov"].error.__notes__
    assert "Segmentation fault" in note and "measure_badly" in note


def run(project: Project, folder: Path, recorder: Recorder, retry: bool = False) -> ScanReport:
    executor = OtherProcesses(2, patience=20)
    options = ScanOptions(AnalysisSettings(), executor, by_name, retry=retry)
    return scan(project, (folder,), options, recorder, measure_badly)


def test_three_tries_in_all_then_set_aside_until_asked(tmp_path: Path) -> None:
    tasks_for(tmp_path, "a.mov", "crash.mov", "once-crash.mov")
    with Project(tmp_path / "night.db", create=True) as project:
        recorder = Recorder()
        report = run(project, tmp_path, recorder)
        put_off = "put off: LostProcessError"
        assert Counter(recorder.ends) == Counter(
            [
                ("a.mov", None),
                ("crash.mov", "LostProcessError"),
                ("crash.mov", put_off),
                ("crash.mov", put_off),
                ("once-crash.mov", None),
                ("once-crash.mov", put_off),
            ]
        )
        assert {stored.path: stored.tries for stored in project.clips()} == {
            str(tmp_path / "a.mov"): 0,
            str(tmp_path / "crash.mov"): MOST_TRIES,
            str(tmp_path / "once-crash.mov"): 0,
        }
        (refusal,) = report.refusals
        assert refusal.error.startswith("set aside after 3 tries") and "--retry" in refusal.remedy
        assert len(set(calls(tmp_path, "crash.mov"))) == MOST_TRIES
        again = run(project, tmp_path, Recorder())
        assert len(again.refusals) == 1 and len(again.plan.unchanged) == 2
        assert len(calls(tmp_path, "crash.mov")) == MOST_TRIES
        forced = Recorder()
        run(project, tmp_path, forced, retry=True)
        assert forced.ends == [("crash.mov", "LostProcessError")]


def test_file_that_crashes_whoever_opens_it_does_not_end_the_scan(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(planning, "count_frames", count_badly)
    monkeypatch.setattr(one_take, "say_take", say_badly)
    tasks_for(tmp_path, "a.mov", "crash.mov", "open.mov", "say.mov")
    with Project(tmp_path / "night.db", create=True) as project:
        recorder = Recorder()
        report = run(project, tmp_path, recorder)
    assert {Path(clip.path).name for clip in report.measured} == {"a.mov", "open.mov", "say.mov"}
    (refusal,) = report.refusals
    assert refusal.error.startswith("set aside after 3 tries") and "SIGSEGV" in refusal.error
    counted = {work.path.name: work.frames for work in recorder.plan.work}
    assert counted == {"a.mov": 10, "crash.mov": 0, "open.mov": 0, "say.mov": 10}
    assert children() == []


def test_closing_ends_a_clip_in_the_middle(tmp_path: Path) -> None:
    tasks = tasks_for(tmp_path, "a.mov", "hang.mov")
    with closing(OtherProcesses(2).measure(tasks, measure_badly, lambda *_: None)) as running:
        assert next(running).work.path.name == "a.mov"
        assert len(children()) == 2
    assert children() == []


def test_no_process_is_blamed_on_no_clip(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(measuring_processes, "_SCRIPT", "import sys; sys.exit('no room for more')")
    with pytest.raises(WorkerError, match="no room for more"):
        outcomes(OtherProcesses(1), tasks_for(tmp_path, "a.mov"))


@pytest.mark.parametrize("needed", ["TemporaryFile", "subprocess.Popen"])
def test_a_system_that_gives_no_process_is_blamed_on_no_clip(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, needed: str
) -> None:
    """Another OSError would be kept as a failed try of every clip, as a fault of the program."""

    def refuse(*_: object, **__: object) -> None:
        raise OSError(errno.EAGAIN, "Resource temporarily unavailable")

    tasks = tasks_for(tmp_path, "a.mov")
    monkeypatch.setattr(f"impactcut.workflow.workers.measuring_processes.{needed}", refuse)
    with pytest.raises(WorkerError, match=r"does not start .*Resource temporarily unavailable"):
        outcomes(OtherProcesses(1), tasks)


WAITING = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background jobs ignore it
sys.path.insert(0, {root!r})
from impactcut.cli import main
from impactcut.workflow.scan import scanning
from tests.helpers.footage.staged_clips import measure_badly
scanning.analyse_clip = measure_badly
main(["scan", ".", "--jobs", "2"])
"""


def scanning_until_a_clip_hangs(folder: Path) -> subprocess.Popen[str]:
    """`impactcut scan`, in the middle of a clip that stands still, another being done."""
    tasks_for(folder, "a.mov", "hang.mov")
    script = WAITING.format(root=str(Path(__file__).parents[3]))
    running = subprocess.Popen(
        [sys.executable, "-c", script],
        cwd=folder,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert running.stderr is not None
    assert running.stderr.readline() == "1 of 2: measured a.mov\n"
    while not calls(folder, "hang.mov"):
        time.sleep(0.05)
    return running


@pytest.mark.parametrize("how", ["interrupt", "kill"])
def test_nothing_is_left_running(tmp_path: Path, how: str) -> None:
    """Ctrl-C reaches the whole terminal; kill -9 only the one process."""
    with scanning_until_a_clip_hangs(tmp_path) as running:
        (measuring,) = (psutil.Process(number) for number in calls(tmp_path, "hang.mov"))
        if how == "interrupt":
            os.killpg(running.pid, signal.SIGINT)
            _, said = running.communicate()
            assert "1 of 2 clips are measured and kept" in said and running.returncode == 130
        else:
            running.kill()
            running.communicate()
        assert psutil.wait_procs([measuring], timeout=20)[1] == []
    with Project(tmp_path / "impactcut.db") as project:
        assert [Path(clip.path).name for clip in project.clips()] == ["a.mov"]


def test_one_clip_is_opened_counted_and_measured_by_one_process(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = []
    begin = measuring_processes._begin
    monkeypatch.setattr(
        measuring_processes, "_begin", lambda *given: begun.append(given) or begin(*given)
    )
    tasks_for(tmp_path, "a.mov")
    with Project(tmp_path / "night.db", create=True) as project:
        assert len(run(project, tmp_path, Recorder()).measured) == 1
    assert len(begun) == 1 and children() == []


NOT_MEASURING = ("av", "cv2", "matplotlib", "onnxruntime", "scipy")


@pytest.mark.parametrize(
    ("modules", "never"),
    [
        (["impactcut.workflow.scan.scanning", this_machine.__name__], NOT_MEASURING),
        (child_process.PRELOADED, ("matplotlib", "scipy")),
    ],
    ids=["keeping", "measuring"],
)
def test_nobody_loads_what_others_use(modules: Sequence[str], never: tuple[str, ...]) -> None:
    """Each takes a tenth of a second and more, much of what a scan of a short clip may take."""
    code = f"import sys, {', '.join(modules)}; print(*set({never!r}) & sys.modules.keys())"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.split() == []


def test_order_is_as_told(tmp_path: Path) -> None:
    frames = {"quay/a2.mov": 20, "quay/a10.mov": 5, "shed/b.mov": 10}
    for name, count in frames.items():
        film(tmp_path / name, frames=count)
    with Project(tmp_path / "night.db", create=True) as project:
        plan = plan_scan(project, find_media([tmp_path]).candidates, AnalysisSettings())
    given = in_order_of([tmp_path / "shed", tmp_path / "quay"])
    orders = {"name": by_name, "small": smallest_first, "large": largest_first, "given": given}
    found = {
        name: [work.path.stem for work in sorted(plan.work, key=order)]
        for name, order in orders.items()
    }
    assert found == {
        "name": ["a2", "a10", "b"],
        "small": ["a10", "b", "a2"],
        "large": ["a2", "b", "a10"],
        "given": ["b", "a2", "a10"],
    }
