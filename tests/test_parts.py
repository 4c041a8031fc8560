"""Long clips in parts, joined: byte for byte what one pass gives, or not divided at all."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from concurrent.futures import Future
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from filmed_motion import arm
from impactcut.media.frames import read_frames
from impactcut.media.pieces import reachable, read_piece
from impactcut.media.spacing import survey
from impactcut.project.arrays import pack_motion, pack_track
from impactcut.workflow.analyse import AnalysisSettings, ClipAnalysis, analyse_clip
from impactcut.workflow.executor import OtherProcesses
from impactcut.workflow.parts import parts_of
from impactcut.workflow.splitting import Splitter
from impactcut.workflow.tasks import Report, Task
from media_files import LumaPlane, Recipe, write_planes
from staged_clips import film, measure, swings

SMALL = 96
KHZ = Fraction(1, 1000)
STRETCH, SHORT = 40, 4 * 40 + 41
"""Stretches are shorter here where that saves time, and then so many frames have four."""
LONG = 2 * 240 + 41
KINDS = {
    "long-gop.mp4": Recipe(options={"g": "120", "bf": "3"}),
    "open-gop.mkv": Recipe(options={"g": "50", "bf": "3", "x264-params": "open-gop=1"}),
    "stream.ts": Recipe(options={"g": "50", "bf": "2"}),
    "long-gop.avi": Recipe("mpeg4", options={"g": "100"}),
    "mpeg2.mxf": Recipe("mpeg2video", options={"g": "15", "bf": "2"}),
    "intra.mov": Recipe("prores_ks", "yuv422p10le", 10),
    "intra.avi": Recipe("mjpeg", "yuvj420p"),
}


def planes(frames: int) -> list[LumaPlane]:
    """An arm that strikes again and again, with stills and a cut around where parts meet."""
    found = arm(swings(frames), camera=0.3, width=SMALL)
    quarter = frames // 4
    for still in (*range(quarter - 4, quarter + 4), *range(2 * quarter - 20, 2 * quarter + 20, 2)):
        found[still] = found[still - 1]
    return [*found[: 3 * quarter], *(255 - plane for plane in found[3 * quarter :])]


@pytest.fixture(scope="module")
def clips(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder, short = tmp_path_factory.mktemp("clips"), planes(SHORT)
    return {name: write_planes(folder / name, short, recipe) for name, recipe in KINDS.items()}


@pytest.fixture
def short_stretches(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in ("media.measure", "workflow.parts", "workflow.splitting"):
        monkeypatch.setattr(f"impactcut.{module}.STRETCH", STRETCH)


def content(analysis: ClipAnalysis) -> tuple[object, bytes, list[tuple[object, bytes]]]:
    """Everything that the project stores of a clip."""
    hits = [(found.hit, pack_motion(found.motion)) for found in analysis.hits]
    return analysis.clip, pack_track(analysis.track), hits


class Here:
    """Does at once what is submitted; takes down what was done."""

    def __init__(self) -> None:
        self.done: list[str] = []

    def submit(
        self, task: Task, function: Callable[..., Any], arguments: tuple[Any, ...], report: Report
    ) -> Future[Any]:
        self.done.append(function.__name__)
        future: Future[Any] = Future()
        try:
            future.set_result(function(task.path, *arguments, report))
        except Exception as error:
            future.set_exception(error)
        return future


def divided(path: Path, frames: int = SHORT) -> tuple[ClipAnalysis, list[str], list[str]]:
    """A clip analysed in parts of a stretch each; what was done for it, and what was told."""
    told: list[str] = []
    here = Here()
    task = Task(path, AnalysisSettings(), frames=frames)
    future = Splitter(1, here.submit, told.append).begin(task, analyse_clip, lambda _: None)
    return future.result(), here.done, told


@pytest.mark.usefixtures("short_stretches")
@pytest.mark.parametrize("name", ["open-gop.mkv", "intra.mov"])
def test_four_parts_are_the_whole(clips: dict[str, Path], name: str) -> None:
    joined, done, told = divided(clips[name])
    assert done == ["plan_parts", *["analyse_part"] * 4] and told == []
    assert content(joined) == content(analyse_clip(clips[name], AnalysisSettings()))


def test_one_long_clip_keeps_two_processes_busy_and_is_the_whole(tmp_path: Path) -> None:
    """H.264 with B frames, few keyframes and sound, at stretches as they are."""
    recipe = Recipe(options={"g": "300", "bf": "3"}, sound=True)
    path = write_planes(tmp_path / "long.mp4", planes(LONG), recipe)
    counts: list[int] = []
    executor = OtherProcesses(2, stretches=1)
    task = Task(path, AnalysisSettings(), frames=LONG)
    (outcome,) = executor.measure([task], analyse_clip, lambda _, frames: counts.append(frames))
    whole = analyse_clip(path, AnalysisSettings())
    assert len(whole.hits) > 10 and whole.track.boundary.any() and whole.track.repeated.any()
    assert outcome.analysis is not None and content(outcome.analysis) == content(whole)
    assert counts and sorted(counts) == counts  # few: each part reports a few times a second


@pytest.mark.parametrize("name", KINDS)
def test_pieces_have_the_frames_of_one_pass(clips: dict[str, Path], name: str) -> None:
    path = clips[name]
    whole = [(frame.index, frame.luma.tobytes()) for frame in read_frames(path)]
    assert len(whole) == SHORT
    place = reachable(path, survey(path), 130)
    for start, stop in ((0, 90), (67, 131), (130, 130 + 7), (133, None)):
        piece = read_piece(path, place, start, stop, 480)
        assert [(frame.index, frame.luma.tobytes()) for frame in piece] == whole[start:stop]


@pytest.mark.usefixtures("short_stretches")
def test_uneven_frames_are_not_divided(tmp_path: Path) -> None:
    stamps = [40 * n + 25 * (n > 100) for n in range(SHORT)]
    path = write_planes(tmp_path / "a.mkv", planes(SHORT), stamps=stamps, tick=KHZ)
    _, done, told = divided(path)
    assert done == ["plan_parts", "analyse_clip"]
    assert told == [f"{path}: is measured in one piece, since its frames are not evenly spaced"]


@pytest.mark.usefixtures("short_stretches")
def test_damage_is_measured_in_one_piece(clips: dict[str, Path], tmp_path: Path) -> None:
    data = bytearray(clips["intra.avi"].read_bytes())
    middle = data.index(b"\xff\xd8", len(data) // 2)
    after = data.index(b"00dc", middle)
    data[middle:after] = bytes(after - middle)
    path = tmp_path / "a.avi"
    path.write_bytes(data)
    joined, done, (told,) = divided(path)
    assert done[-1] == "analyse_clip"
    assert "is not where its time stamp says" in told or "a stretch of it does not decode" in told
    assert joined.clip.warnings


@pytest.mark.usefixtures("short_stretches")
def test_pictures_that_depend_on_where_decoding_begins_are_found_out(tmp_path: Path) -> None:
    """An index (OpenDML AVI 1.02, ``idx1``: name, flags, place, size) that lies about keyframes."""
    path = tmp_path / "a.avi"
    write_planes(path, planes(SHORT), Recipe("msmpeg4", options={"g": "300"}))
    data = bytearray(path.read_bytes())
    for entry in range(data.index(b"idx1") + 8, len(data) - 15, 16):
        data[entry + 4] |= 0x10
    path.write_bytes(data)
    _, done, (told,) = divided(path)
    assert done == ["plan_parts", *["analyse_part"] * 4, "analyse_clip"]
    assert told.endswith("since its pictures depend on where decoding begins")


@pytest.mark.usefixtures("short_stretches")
def test_frames_of_all_parts_are_reported(clips: dict[str, Path]) -> None:
    counts: list[int] = []
    task = Task(clips["intra.avi"], AnalysisSettings(), frames=SHORT)
    Splitter(1, Here().submit, print).begin(task, analyse_clip, counts.append).result()
    seams = 3 * 81
    assert counts == list(range(1, SHORT + seams + 1))


def test_parts_begin_where_one_pass_has_full_stretches() -> None:
    for frames in (1, 2, 281, 520, 521, 522, 5000, 43_200):
        parts = parts_of(frames, 2)
        assert parts[0].start == 0 and parts[-1].stop is None
        assert all(one.stop == other.start for one, other in itertools.pairwise(parts))
        assert all(part.stop is None or 240 * part.stop + 41 <= frames for part in parts)
        lengths = [part.stop - part.start for part in parts if part.stop is not None]
        assert all(2 <= length <= 4 for length in lengths)
    assert len(parts_of(43_200, 10)) == 17 and len(parts_of(LONG, 1)) == 2


def test_stand_ins_and_short_clips_are_not_divided(tmp_path: Path) -> None:
    task = Task(film(tmp_path / "a.mov", frames=10), AnalysisSettings(), frames=LONG)
    for analyse, frames in ((measure, LONG), (analyse_clip, 479)):
        here = Here()
        Splitter(1, here.submit, print).begin(
            Task(task.path, task.settings, frames=frames), analyse, lambda _: None
        )
        assert here.done == [analyse.__name__]
