"""Scanning on a real cluster: a scheduler and workers that are processes on this machine."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import psutil
import pytest

from impactcut.errors import UnreadableMediaError, WorkerError
from impactcut.project import Project
from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip
from impactcut.workflow.scan.clips_to_measure import Analyse, Executor, Outcome, Work
from impactcut.workflow.scan.scanning import ScanOptions, ScanReport, scan
from impactcut.workflow.workers import cluster as clusters
from impactcut.workflow.workers import cluster_link
from impactcut.workflow.workers.cluster import DaskCluster
from impactcut.workflow.workers.cluster_worker import versions_here
from impactcut.workflow.workers.mapping import read_mounts
from tests.helpers.footage.staged_clips import (
    analyse_the_second_time,
    film,
    film_swings,
    measure,
    measure_badly,
)
from tests.helpers.running.commands import run_command
from tests.helpers.running.local_cluster import LOCAL, free_port, running, scheduler, workers
from tests.helpers.running.this_process import ThisProcess
from tests.helpers.running.watched_scans import Recorder, work_for

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="kills processes by signals")


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a scheduler; whether it has workers is for the others to say."""
    with scheduler(tmp_path_factory.mktemp("scheduler")) as address:
        yield address


@pytest.fixture(scope="module")
def cluster(empty: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A cluster of one worker."""
    with workers(empty, 1, tmp_path_factory.mktemp("workers")):
        yield empty


def outcome(executor: DaskCluster, task: Work, analyse: Analyse = measure) -> Outcome:
    (found,) = executor.measure([task], analyse, lambda *_: None)
    return found


def run(path: Path, folder: Path, executor: Executor, analyse: Analyse) -> tuple[ScanReport, Any]:
    recorder = Recorder()
    options = ScanOptions(AnalysisSettings(), executor)
    with Project(path, create=True) as project:
        return scan(project, (folder,), options, recorder, analyse), recorder.ends


def kept(project: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every byte that measuring put into a project, without the numbers given to rows."""
    queries = {
        "clips": "SELECT * FROM clips ORDER BY path",
        "hits": "SELECT path, hits.*, data, judge, trims, chosen, no_trim FROM hits "
        "JOIN clips ON clips.id = clip_id JOIN hit_motions ON hits.id = hit_motions.hit_id "
        "JOIN proposed_trims ON hits.id = proposed_trims.hit_id "
        "ORDER BY path, contact, onset, peak",
    }
    with closing(sqlite3.connect(project)) as connection:
        found = {name: connection.execute(text).fetchall() for name, text in queries.items()}
    found["clips"] = [row[1:] for row in found["clips"]]
    found["hits"] = [(row[0], *row[3:]) for row in found["hits"]]
    return found


def until(done: Callable[[], bool]) -> None:
    while not done():
        time.sleep(0.05)


def test_no_workers_are_told_of_calmly(empty: str, tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(clusters, "WORKERS_SECONDS", 1.0)
    told: list[str] = []
    with pytest.raises(WorkerError, match="has had no workers for 1 s; start some with 'dask"):
        outcome(DaskCluster(empty, tell=told.append), work_for(film(tmp_path / "a.mov", 10)))
    (text,) = told
    assert f"dask worker {empty}" in text and "waiting for them" in text


def test_quiet_waits_for_workers_in_silence(
    empty: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clusters, "WORKERS_SECONDS", 1.0)
    monkeypatch.chdir(tmp_path)
    film(tmp_path / "a.mov", 10)
    result = run_command("scan", "a.mov", "--cluster", empty, "--quiet")
    assert result.exit_code == 2
    (said,) = result.stderr.splitlines()
    assert "has had no workers for 1 s" in said


def test_killed_worker_changes_no_byte(empty: str, tmp_path: Path) -> None:
    """Two workers, one of which is killed in the middle of a clip."""
    clips = tmp_path / "quay"
    for number, name in enumerate(("S1_T1_A", "once-S1_T2_A", "S1_T3_A")):
        film_swings(clips / f"{name}.mov", 90, shift=7 * number)
    alone, _ = run(tmp_path / "alone.db", clips, ThisProcess(), analyse_clip)
    with workers(empty, 2, tmp_path) as processes:
        killer = threading.Thread(target=kill_worker, args=(clips / "once-S1_T2_A.pid",))
        killer.start()
        executor = DaskCluster(empty)
        report, ends = run(tmp_path / "night.db", clips, executor, analyse_the_second_time)
        killer.join()
        until(lambda: [process.poll() for process in processes].count(None) == 1)
    assert ends.count(("once-S1_T2_A.mov", "put off: LostProcessError")) == 1
    assert len(report.measured) == len(alone.measured) == 3 and report.refusals == ()
    here = kept(tmp_path / "alone.db")
    assert len(here["hits"]) > 5
    assert kept(tmp_path / "night.db") == here


def kill_worker(mark: Path) -> None:
    until(mark.exists)
    os.kill(int(mark.read_text()), signal.SIGKILL)


def test_crash_costs_no_worker_and_is_tried_three_times(cluster: str, tmp_path: Path) -> None:
    film(tmp_path / "quay/a.mov", frames=10)
    film(tmp_path / "quay/crash.mov", frames=10, seed=1)
    executor = DaskCluster(cluster)
    report, ends = run(tmp_path / "night.db", tmp_path / "quay", executor, measure_badly)
    assert sorted(ends, key=str) == [
        ("a.mov", None),
        ("crash.mov", "LostProcessError"),
        ("crash.mov", "put off: LostProcessError"),
        ("crash.mov", "put off: LostProcessError"),
    ]
    (refusal,) = report.refusals
    assert "set aside after 3 tries" in refusal.error and "SIGSEGV" in refusal.error


def test_workers_see_the_media_elsewhere(cluster: str, tmp_path: Path) -> None:
    task = work_for(film(tmp_path / "volumes/quay/a.mov", frames=10))
    shutil.copytree(tmp_path / "volumes", tmp_path / "mnt")
    (tmp_path / "volumes").rename(tmp_path / "away")
    (tmp_path / "volumes").mkdir()
    mounts = read_mounts([f"{tmp_path / 'volumes'}={tmp_path / 'mnt'}"])
    found = outcome(DaskCluster(cluster, mounts), task)
    assert found.analysis is not None
    assert found.analysis.clip.path == str(tmp_path / "volumes/quay/a.mov")


def test_file_that_workers_do_not_see_is_explained(cluster: str, tmp_path: Path) -> None:
    clip = film(tmp_path / "a.mov", frames=10)
    mounts = read_mounts([f"{tmp_path}=/mnt/nowhere"])
    error = outcome(DaskCluster(cluster, mounts), work_for(clip)).error
    assert isinstance(error, UnreadableMediaError)
    assert f"{clip}: the worker tcp://" in str(error)
    assert "cannot open it as /mnt/nowhere/a.mov (No such file or directory); say" in str(error)
    assert f"--map {tmp_path}=FOLDER_THERE" in str(error)


def test_other_file_under_the_same_name_is_not_taken(cluster: str, tmp_path: Path) -> None:
    task = work_for(film(tmp_path / "a.mov", frames=10))
    film(tmp_path / "mnt/a.mov", frames=10, seed=1)
    mounts = read_mounts([f"{tmp_path}={tmp_path / 'mnt'}"])
    error = outcome(DaskCluster(cluster, mounts), task).error
    assert f"has another file as {tmp_path / 'mnt/a.mov'}" in str(error)


def test_what_cannot_be_decoded_is_told_under_its_name_here(cluster: str, tmp_path: Path) -> None:
    clip = tmp_path / "a.mov"
    clip.write_text("no media")
    shutil.copytree(tmp_path, tmp_path / "mnt")
    mounts = read_mounts([f"{tmp_path}={tmp_path / 'mnt'}"])
    error = outcome(DaskCluster(cluster, mounts), work_for(clip)).error
    assert str(error).startswith(f"{clip}: is not a media file")


@pytest.mark.parametrize("checked_first", [True, False], ids=["before", "on the worker"])
def test_other_versions_are_refused_with_both(
    cluster: str, tmp_path: Path, monkeypatch: Any, checked_first: bool
) -> None:
    """A worker that comes later is not there to be asked before, so it looks for itself."""
    measurement = versions_here()["impactcut's measurement"]
    ours = versions_here() | {"impactcut's measurement": "1066"}
    monkeypatch.setattr(clusters, "versions_here", lambda: ours)
    if not checked_first:
        monkeypatch.setattr(clusters, "check_versions", lambda *_: None)
    wanted = rf"measurement is 1066 here, but {measurement} on the worker tcp://127\.0\.0\.1"
    with pytest.raises(WorkerError, match=wanted):
        outcome(DaskCluster(cluster), work_for(film(tmp_path / "a.mov", 10)))


def test_closing_ends_a_clip_in_the_middle_on_the_worker(cluster: str, tmp_path: Path) -> None:
    tasks = [work_for(film(tmp_path / name, 10)) for name in ("a.mov", "hang.mov")]
    with closing(DaskCluster(cluster).measure(tasks, measure_badly, lambda *_: None)) as outcomes:
        assert next(outcomes).work.path.name == "a.mov"
        until(lambda: any(tmp_path.glob("hang.mov.*.call")))
        (mark,) = tmp_path.glob("hang.mov.*.call")
        measuring = psutil.Process(int(mark.name.split("-")[-1].split(".")[0]))
    assert psutil.wait_procs([measuring], timeout=20)[1] == []


def test_interrupted_command_keeps_what_is_done(cluster: str, tmp_path: Path) -> None:
    for name in ("a.mov", "hang.mov"):
        film(tmp_path / name, frames=10)
    code = (
        "import signal, sys; signal.signal(signal.SIGINT, signal.default_int_handler); "
        "from impactcut.cli import main; from impactcut.workflow.scan import scanning; "
        "from tests.helpers.footage.staged_clips import measure_badly; "
        "scanning.analyse_clip = measure_badly; "
        f"main(['scan', '.', '--cluster', {cluster!r}, '--order', 'name'])"
    )
    scanning = subprocess.Popen(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[3])},
    )
    with scanning:
        assert scanning.stderr is not None
        assert scanning.stderr.readline() == "1 of 2: measured a.mov\n"
        until(lambda: any(tmp_path.glob("hang.mov.*.call")))
        scanning.send_signal(signal.SIGINT)
        _, said = scanning.communicate()
    assert scanning.returncode == 130 and "1 of 2 clips are measured and kept" in said
    assert "Traceback" not in said and "distributed" not in said


def test_scheduler_that_does_not_answer(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setattr(cluster_link, "CONNECT_SECONDS", 0.5)
    film(tmp_path / "a.mov", frames=10)
    address = f"tcp://127.0.0.1:{free_port()}"
    project = tmp_path / "night.db"
    result = run_command("scan", tmp_path, "--cluster", address, "--project", project)
    assert result.exit_code == 2
    assert f"{address}: the cluster's scheduler does not answer" in result.stderr
    assert "check the address, and that 'dask scheduler' runs there" in result.stderr


def test_scheduler_that_goes_away(tmp_path: Path) -> None:
    task = work_for(film(tmp_path / "hang.mov", frames=10))
    port = free_port()
    address = f"tcp://127.0.0.1:{port}"
    with (
        running("scheduler", *LOCAL, "--port", str(port), folder=tmp_path) as scheduling,
        workers(address, 1, tmp_path),
        closing(DaskCluster(address).measure([task], measure_badly, lambda *_: None)) as outcomes,
    ):
        ending = threading.Thread(target=kill_later, args=(scheduling, tmp_path))
        ending.start()
        with pytest.raises(WorkerError, match="does not answer"):
            next(outcomes)
        ending.join()


def kill_later(process: subprocess.Popen[bytes], folder: Path) -> None:
    until(lambda: any(folder.glob("hang.mov.*.call")))
    process.kill()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--cluster", "depot"], "is no address of a scheduler; say tcp://HOST:PORT"),
        (["--map", "/a=/b"], "it goes with --cluster"),
        (["--cluster", "tcp://depot:1", "--jobs", "2"], "leave --jobs out"),
        (["--cluster", "tcp://depot:1", "--map", "/a"], "say --map /Volumes/A=/mnt/a"),
    ],
)
def test_options_that_make_no_sense(tmp_path: Path, words: list[str], said: str) -> None:
    result = run_command("scan", tmp_path, *words, "--project", tmp_path / "night.db")
    assert result.exit_code == 2 and said in result.stderr
    assert not (tmp_path / "night.db").exists()


def test_without_dask_the_extra_is_named(tmp_path: Path, monkeypatch: Any) -> None:
    monkeypatch.setitem(sys.modules, "impactcut.workflow.workers.cluster", None)
    result = run_command("scan", tmp_path, "--cluster", "tcp://depot:1")
    assert result.exit_code == 2
    assert "python -m pip install 'distributed>=2024.5'" in result.stderr
