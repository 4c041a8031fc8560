"""Counters in the picture: told where they count every frame, and marked by hand elsewhere.

Timecode is counted by OpenTimelineIO, written in OpenCV's letters, and coded by x264 as a working
copy would be.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from opentimelineio.opentime import RationalTime

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.propose import propose
from impactcut.core.trims.reasons import COUNTER
from impactcut.core.trims.vetoes import vetoes
from impactcut.media.decode.frames import read_frames
from impactcut.media.measure.counters import shows_counter
from impactcut.project import Project
from impactcut.workflow.hits.listing import find_hit
from tests.helpers.footage.filmed_motion import Grey, film, laid, stones
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip
from tests.helpers.projects.staged_motion import CLIP_FRAMES, CONTACT, Staging, staged
from tests.helpers.running.commands import run_command

WIDTH, HEIGHT = 480, 270


def written(picture: Grey, text: str, height: int, ground: bool = True) -> Grey:
    """``text`` in digits of so many pixels at the foot of a picture, on a black ground or none."""
    scale, thickness = height / 22, max(1, round(height / 10))
    (wide, high), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, scale, thickness)
    left, foot = (WIDTH - wide) // 2, HEIGHT - 14
    picture = picture.copy()
    if ground:
        cv2.rectangle(picture, (left - 4, foot - high - 4), (left + wide + 4, foot + 6), 0, -1)
    cv2.putText(
        picture, text, (left, foot), cv2.FONT_HERSHEY_SIMPLEX, scale, 255, thickness, cv2.LINE_AA
    )
    return picture


@cache
def wall(frames: int, step: float = 1.5) -> tuple[Grey, ...]:
    """A picture that moves all the while, with grain."""
    random = np.random.default_rng(5)
    grain = 3 * random.standard_normal((frames, HEIGHT, WIDTH), np.float32)
    pictures = (laid(stones(), number * step, WIDTH) + grain[number] for number in range(frames))
    return tuple(np.clip(picture, 0, 255).astype(np.uint8) for picture in pictures)


def found(tmp_path: Path, pictures: Sequence[Grey], rate: int) -> bool:
    path = tmp_path / "copy.mp4"
    film(path, pictures, rate, "veryfast")
    return shows_counter([frame.luma for frame in read_frames(path)], Fraction(rate))


@pytest.mark.parametrize(("rate", "height"), [(24, 9), (25, 14), (30, 9)])
def test_burnt_in_timecode_is_told(tmp_path: Path, rate: int, height: int) -> None:
    start = (62 * 60 + 9) * rate + 15
    labels = [RationalTime(start + n, rate).to_timecode() for n in range(2 * rate)]
    pictures = [written(p, text, height) for p, text in zip(wall(2 * rate), labels, strict=True)]
    assert found(tmp_path, pictures, rate)


def test_white_digits_without_a_ground_are_told(tmp_path: Path) -> None:
    labels = [RationalTime(90_000 + n, 24).to_timecode() for n in range(48)]
    dim = [(0.7 * picture).astype(np.uint8) for picture in wall(48)]
    pictures = [written(p, text, 14, False) for p, text in zip(dim, labels, strict=True)]
    assert found(tmp_path, pictures, 24)


def test_a_scan_tells_of_burnt_in_timecode(tmp_path: Path) -> None:
    labels = [RationalTime(90_000 + n, 24).to_timecode() for n in range(48)]
    pictures = [written(p, text, 12) for p, text in zip(wall(48), labels, strict=True)]
    film(tmp_path / "copy.mp4", pictures, 24, "veryfast")
    film(tmp_path / "clean.mp4", wall(48), 24, "veryfast")
    path = tmp_path / "impactcut.db"
    scanned = run_command("scan", str(tmp_path), "--jobs", "1", "--project", str(path))
    assert scanned.exit_code == 0
    assert "1 clip with a clock or timecode in the picture" in scanned.stdout
    with Project(path) as project:
        shown = {stored.clip.name: stored.clip.clock for stored in project.clips() if stored.clip}
    assert shown == {"copy.mp4": True, "clean.mp4": False}


def test_a_frame_counter_is_told(tmp_path: Path) -> None:
    pictures = [written(picture, f"{n:06d}", 12) for n, picture in enumerate(wall(40))]
    assert found(tmp_path, pictures, 24)


def lamp(period: float) -> list[Grey]:
    """A lamp in the picture that flickers with a period of so many frames."""
    pictures = [picture.copy() for picture in wall(72, 0.0)]
    for number, picture in enumerate(pictures):
        light = 128 + 100 * np.sin(2 * np.pi * number / period)
        cv2.circle(picture, (400, 60), 10, int(light), -1)
    return pictures


def test_nothing_else_is_told(tmp_path: Path) -> None:
    # 100 Hz light at 24 frames a second comes round every 6 frames, 120 Hz at 25 every 5.
    films: list[Sequence[Grey]] = [wall(72), lamp(6), lamp(5), lamp(2), lamp(24)]
    films.append([written(p, f"23:41:{n // 24:02d}", 14) for n, p in enumerate(wall(72))])
    films.append([laid(stones(), 30.0 * (number % 10), WIDTH) for number in range(72)])
    for number, pictures in enumerate(films):
        assert not found(tmp_path, pictures, 24), number
    short = [written(picture, f"{n:06d}", 14) for n, picture in enumerate(wall(15))]
    assert not found(tmp_path, short, 24)


def test_no_trim_where_a_clock_would_jump() -> None:
    hit, motion = staged(Staging())
    free = propose(hit, motion, CLIP_FRAMES)
    barred = propose(hit, motion, CLIP_FRAMES, clock=True)
    assert free.proposed is not None
    assert barred.proposed is None
    assert all("clock" in " ".join(trim.vetoes) for trim in barred.trims)
    assert "impactcut mark" in (barred.no_trim or "")
    assert [trim.visibility for trim in barred.trims] == [t.visibility for t in free.trims]
    trims = [FrameRange(CONTACT, CONTACT + 2)]
    ((reason,),) = vetoes(hit, motion, trims, CLIP_FRAMES, (), clock=True)
    assert "by 2 frames" in reason


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    path = tmp_path / "impactcut.db"
    with Project(path, create=True) as project:
        for name, clock in (("S1_T1_A.mov", False), ("S1_T2_A.mov", True)):
            clip = make_clip(tmp_path / name, clock=clock)
            keep_clip(project, clip, 100)
    return path


def proposes(path: Path, hit: int) -> bool:
    with Project(path) as project:
        return find_hit(project, hit).proposal.proposed is not None


def marked(path: Path, *words: str) -> str:
    result = run_command("mark", *words, "--project", str(path))
    assert result.exit_code == 0, result.output
    return result.stdout


def test_marks_are_kept_and_taken_back(quay: Path) -> None:
    assert (proposes(quay, 1), proposes(quay, 2)) == (True, True), "a counter that is found bars"
    assert "1 clip marked, 1 with" in marked(quay, "S1_T1_A.mov", "--clock")
    assert "1 clip marked, 1 with" in marked(quay, "S1_T2_A.mov", "--clock")
    assert (proposes(quay, 1), proposes(quay, 2)) == (False, False)
    assert "1 clip marked, 0 with" in marked(quay, "S1_T2_A.mov", "--no-clock")
    assert (proposes(quay, 1), proposes(quay, 2)) == (False, True)
    with Project(quay) as project:
        clip = make_clip(quay.parent / "S1_T1_A.mov")
        keep_clip(project, clip, 100)
    assert not proposes(quay, 1), "a scan takes no mark away"
    marked(quay, str(quay.parent), "--forget")
    assert (proposes(quay, 1), proposes(quay, 2)) == (True, True)


def test_lists_warn_of_a_counter_that_was_found(quay: Path, tmp_path: Path) -> None:
    project = ("--project", str(quay))

    def told() -> str:
        folder = tmp_path / "lists"
        written = ("export", str(folder), "--only", "csv,changes", "--proposed", "--force")
        assert run_command(*written, *project).exit_code == 0
        shown = [run_command(*words, *project).stdout for words in (("hits",), ("trims", "2"))]
        return "\n".join((*shown, *(file.read_text() for file in sorted(folder.glob("*.csv")))))

    warned = told()
    assert warned.count("; counter jumps") == 1
    assert warned.count(f"Warning: {COUNTER}") == 1 and warned.count(f"; {COUNTER}") == 2
    marked(quay, "S1_T2_A.mov", "--no-clock")
    assert "counter" not in told()


def test_status_names_clips_with_a_clock(quay: Path) -> None:
    shown = run_command("status", "--project", str(quay)).stdout
    assert "1 clip has a clock or timecode in the picture: S1_T2_A.mov" in shown
    assert "impactcut mark CLIP --no-clock" in shown


def test_a_mark_needs_an_answer_and_clips_of_the_project(quay: Path) -> None:
    assert run_command("mark", "S1_T1_A.mov", "--project", str(quay)).exit_code == 2
    gone = run_command("mark", "S9.mov", "--clock", "--project", str(quay))
    assert gone.exit_code == 2
    assert "S9.mov" in gone.stderr
    both = run_command("mark", "S9.mov", "S1_T1_A.mov", "--clock", "--project", str(quay))
    assert both.exit_code == 1
