"""Timelines in one file with their media, as OpenTimelineIO's core package opens them."""

from __future__ import annotations

import zipfile
from dataclasses import replace
from pathlib import Path

import opentimelineio as otio
import pytest
from click.testing import Result

from impactcut.core.programme.assemble import assemble
from impactcut.errors import ListMismatchError
from impactcut.lists.otio.write import render_otio
from impactcut.workflow.export.timeline_bundle import bundle_writer
from tests.helpers.lists.list_clips import make_clip, make_removal
from tests.helpers.projects.quay_project import CLOSE, WIDE, make_quay_project
from tests.helpers.running.commands import run_command


def export(project: Path, folder: Path) -> Result:
    return run_command(
        "export", folder, "--project", project, "--only", "otioz,marks", "--title", "Q"
    )


def test_a_bundle_holds_the_timeline_and_all_media(tmp_path: Path) -> None:
    clips = []
    for clip in (WIDE, CLOSE):
        path = tmp_path / clip.name
        path.write_bytes(clip.name.encode() * 1000)
        clips.append(replace(clip, path=str(path)))
    make_quay_project(tmp_path / "night.db", *clips)
    result = export(tmp_path / "night.db", tmp_path / "out")
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "Q_24.otioz", "Q_24_marks.csv"
    ]  # fmt: skip
    timeline = otio.adapters.read_from_file(str(tmp_path / "out" / "Q_24.otioz"))
    assert [track.name for track in timeline.tracks] == ["V1", "A1", "A2"]
    assert timeline.duration().to_frames() == WIDE.frames + CLOSE.frames - 6
    (tmp_path / "opened").mkdir()
    otio.adapters.otioz.read_from_file(
        str(tmp_path / "out" / "Q_24.otioz"), extract_to_directory=str(tmp_path / "opened")
    )
    for clip in clips:
        (copy,) = (tmp_path / "opened").rglob(clip.name)
        assert copy.read_bytes() == Path(clip.path).read_bytes()


def test_media_that_is_not_there_is_named(tmp_path: Path) -> None:
    make_quay_project(tmp_path / "night.db")
    result = export(tmp_path / "night.db", tmp_path / "out")
    assert result.exit_code == 1
    assert "/quay/S12_T2_A.mov is not there" in result.stderr
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["Q_24_marks.csv"]


def test_a_bundle_that_lacks_a_file_is_not_handed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "A.mov"
    path.write_bytes(b"x" * 100)
    clip = make_clip("A.mov", folder=str(tmp_path), frames=50)
    cut = assemble("Q", [clip], [make_removal(clip, 20, 2)], record_start=0)
    target = tmp_path / "q.otioz"
    bundle_writer(render_otio(cut), cut)(target)
    assert zipfile.is_zipfile(target)

    def without_media(timeline: object, file: str, adapter: str) -> None:
        with zipfile.ZipFile(target) as whole, zipfile.ZipFile(file, "w") as part:
            for name in whole.namelist():
                if not name.endswith(".mov"):
                    part.writestr(name, whole.read(name))

    monkeypatch.setattr(otio.adapters, "write_to_file", without_media)
    with pytest.raises(ListMismatchError, match="with its media"):
        bundle_writer(render_otio(cut), cut)(tmp_path / "r.otioz")
    assert not list(tmp_path.glob("r.otioz*"))
