"""`impactcut recut` against lists worked out by hand, and as independent readers see them.

The lists in ``golden/`` are of the quay fight at 24 frames a second; their places were added up on
paper from the trims of `quay_project`, not taken from the program.
"""

from __future__ import annotations

import io
import re
from pathlib import Path

import opentimelineio as otio
import pycmx
import pytest
from click.testing import Result

from tests.helpers.projects.quay_project import make_quay_project
from tests.helpers.running.commands import run_command

GOLDEN = Path(__file__).parent / "golden"
CUT = GOLDEN / "quay_cut.edl"
WAYS = {
    "ripple": [],
    "whole_sound": ["--whole-sound"],
    "hold_tail": ["--hold", "tail"],
    "hold_head": ["--hold", "head"],
}


def run_recut(folder: Path, *options: str, source: Path = CUT) -> Result:
    project = folder / "night.db"
    if not project.exists():
        make_quay_project(project)
    command = ("recut", source, folder / "new.edl", "--rate", "24")
    return run_command(*command, "--project", project, *options)


def refused(result: Result) -> list[str]:
    lines = result.stderr.splitlines()
    return [line for line in lines if line.startswith("impactcut: left out")]


@pytest.mark.parametrize("way", WAYS)
def test_the_new_list_is_the_one_worked_out_by_hand(tmp_path: Path, way: str) -> None:
    result = run_recut(tmp_path, *WAYS[way])
    assert result.exit_code == 1
    assert (tmp_path / "new.edl").read_bytes() == (GOLDEN / f"quay_cut_{way}.edl").read_bytes()
    assert [line.split(": ", 2)[1:] for line in refused(result)] == [
        ["left out hit S12T2A.1 in S12_T2_A.mov, event 6", "it does not run at its own speed (M2)"],
        [
            "left out sounds of event 6",
            "it does not run at its own speed, so where its hits lie is not known; spot them by "
            "eye",
        ],
    ]


@pytest.mark.parametrize("way", ["ripple", "hold_head"])
def test_the_change_list_is_the_one_worked_out_by_hand(tmp_path: Path, way: str) -> None:
    run_recut(tmp_path, *WAYS[way])
    found = (tmp_path / "new_changes.csv").read_bytes()
    assert found == (GOLDEN / f"quay_cut_{way}_changes.csv").read_bytes()


def test_the_spotting_list_is_the_one_worked_out_by_hand(tmp_path: Path) -> None:
    run_recut(tmp_path)
    found = (tmp_path / "new_spotting.csv").read_bytes()
    assert found == (GOLDEN / "quay_cut_ripple_spotting.csv").read_bytes()


@pytest.mark.parametrize("way", WAYS)
def test_pycmx_reads_the_new_list(tmp_path: Path, way: str) -> None:
    run_recut(tmp_path, *WAYS[way])
    edits = pycmx.parse_cmx3600(io.StringIO((tmp_path / "new.edl").read_text("ascii")))
    events = list(edits.events)
    assert [event.number for event in events] == list(range(1, len(events) + 1))
    starts = [edit.record_in for event in events for edit in event.edits]
    assert starts == sorted(starts)
    moving = [edit for event in events for edit in event.edits if edit.record_out == "01:00:10:00"]
    assert bool(moving) == way.startswith("hold")


def test_opentimelineio_sees_every_picture_frame_but_the_trimmed_ones(tmp_path: Path) -> None:
    run_recut(tmp_path)

    def shown(path: Path) -> list[tuple[str, int]]:
        text = path.read_text("ascii").split("M2")[0].rsplit("\n", 2)[0] + "\n"
        tracks = otio.adapters.read_from_string(text, "cmx_3600", rate=24).tracks
        (picture,) = [track for track in tracks if track.kind == otio.schema.TrackKind.Video]
        return [
            (clip.metadata["cmx_3600"]["reel"], clip.source_range.start_time.to_frames() + frame)
            for clip in picture.find_clips()
            for frame in range(clip.source_range.duration.to_frames())
        ]

    # 01:02:11:22-23, 02:00:02:02 and 01:02:16:16-18 at 24 frames a second.
    trimmed = {("A004C011", 89_566 + n) for n in range(2)}
    trimmed |= {("B002C005", 172_850)} | {("A004C011", 89_680 + n) for n in range(3)}
    old = [frame for frame in shown(CUT) if frame not in trimmed]
    assert shown(tmp_path / "new.edl") == old
    assert len(shown(CUT)) - len(old) == 6


def test_the_next_shot_pays_where_it_can(tmp_path: Path) -> None:
    result = run_recut(tmp_path, "--hold", "next")
    text = (tmp_path / "new.edl").read_text("ascii")
    # Event 2 begins two frames earlier and two frames sooner in its clip, as does its sound.
    assert "B002C005 V     C        02:00:00:22 02:00:03:00 01:00:02:22 01:00:05:00" in text
    assert "A004C011 AA    C        01:02:13:22 01:02:16:00 01:00:02:22 01:00:05:00" in text
    told = "\n".join(refused(result))
    lengthened = "event 2: event 4, which would be lengthened, uses A1"
    assert f"hit S12T3B.1 in S12_T3_B.mov, {lengthened}" in told
    assert "hit S12T2A.2 in S12_T2_A.mov, event 4: no event follows event 4 at its out" in told


def test_sound_left_whole_is_reported_with_its_verdict(tmp_path: Path) -> None:
    told = run_recut(tmp_path, "--whole-sound").stderr
    # ITU-R BT.1359-1: sound 83 and 125 ms late is not detectable, the limit being 125.
    assert (
        "sound of event 1 (A1 A2) is 2 frames late from 01:00:00:22 to 01:00:02:22: in sync" in told
    )
    assert (
        "sound of event 4 (A1 A2) is 3 frames late from 01:00:05:13 to 01:00:07:18: in sync" in told
    )
    assert "sound of other sources in events 3, 5" in told


def test_a_dry_run_shows_the_changes_and_writes_nothing(tmp_path: Path) -> None:
    result = run_recut(tmp_path, "--dry-run")
    assert result.exit_code == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["night.db"]
    lines = result.stdout.splitlines()
    assert len(lines) == 7
    assert re.sub(" +", " ", lines[0]) == (
        "01:00:00:22 -> 01:00:00:22 remove inside 2 frames V A1 A2 event 1 A004C011 "
        "S12_T2_A.mov (hit S12T2A.1, approved by Ines)"
    )


def test_nothing_is_replaced_unasked(tmp_path: Path) -> None:
    assert run_recut(tmp_path).exit_code == 1
    (tmp_path / "new.edl").write_text("mine")
    result = run_recut(tmp_path)
    assert result.exit_code == 2 and "already there" in result.stderr
    assert (tmp_path / "new.edl").read_text() == "mine"
    run_recut(tmp_path, "--force")
    golden = (GOLDEN / "quay_cut_ripple.edl").read_bytes()
    assert (tmp_path / "new.edl").read_bytes() == golden


def test_the_list_itself_is_never_written_over(tmp_path: Path) -> None:
    mine = tmp_path / "new.edl"
    mine.write_bytes(CUT.read_bytes())
    result = run_recut(tmp_path, "--force", source=mine)
    assert result.exit_code == 2 and "is the list to be recut" in result.stderr
    assert mine.read_bytes() == CUT.read_bytes()


def test_the_same_project_gives_the_same_bytes(tmp_path: Path) -> None:
    folders = [tmp_path / "one", tmp_path / "two"]
    for folder in folders:
        folder.mkdir()
        run_recut(folder, "--hold", "tail")
    first, second = (
        {path.name: path.read_bytes() for path in folder.iterdir() if path.suffix != ".db"}
        for folder in folders
    )
    assert first == second and len(first) == 3


def test_a_list_that_is_recut_already_has_nothing_to_go(tmp_path: Path) -> None:
    result = run_recut(tmp_path, source=GOLDEN / "quay_cut_ripple.edl")
    assert result.exit_code == 2
    assert "no trim could be made; nothing was written" in result.stderr
    assert not (tmp_path / "new.edl").exists()
