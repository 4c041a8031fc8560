"""Where workers see the media."""

from __future__ import annotations

from pathlib import Path

import pytest

from impactcut.errors import MappingError
from impactcut.workflow.workers.mapping import read_mounts, seen_there


def test_innermost_folder_counts(tmp_path: Path) -> None:
    (tmp_path / "A/cards").mkdir(parents=True)
    (tmp_path / "A=B").mkdir()
    texts = [f"{tmp_path}/A=/mnt/a", f"{tmp_path}/A/cards=/fast/", f"{tmp_path}/A=B=/mnt/b"]
    mounts = read_mounts(texts)
    seen = {name: seen_there(tmp_path / name, mounts) for name in ("A/x", "A/cards/y/z", "A=B/x")}
    assert seen == {"A/x": "/mnt/a/x", "A/cards/y/z": "/fast/y/z", "A=B/x": "/mnt/b/x"}
    assert seen_there(tmp_path / "Ab/x", mounts) == str(tmp_path / "Ab/x")


@pytest.mark.parametrize(
    ("there", "seen"),
    [("D:\\media", "D:\\media\\q\\x.mov"), ("\\\\depot\\a", "\\\\depot\\a\\q\\x.mov")],
)
def test_workers_may_run_windows(tmp_path: Path, there: str, seen: str) -> None:
    assert seen_there(tmp_path / "q/x.mov", read_mounts([f"{tmp_path}={there}"])) == seen


def test_folder_behind_a_link_is_the_same_folder(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to("real", target_is_directory=True)
    mounts = read_mounts([f"{tmp_path}/link=/mnt/a"])
    assert seen_there(tmp_path / "real/x.mov", mounts) == "/mnt/a/x.mov"


@pytest.mark.parametrize("text", ["", "/mnt", "=/mnt/a", "{here}=", "{here}=mnt/a", "{here}/mnt/a"])
def test_what_maps_nothing_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(MappingError, match=r"--map .*: names no folder here and absolute folder"):
        read_mounts([text.format(here=tmp_path)])


def test_folder_that_is_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(MappingError, match=r"gone is no folder here \(No such file"):
        read_mounts([f"{tmp_path}/gone=/mnt/a"])
    (tmp_path / "x.mov").touch()
    with pytest.raises(MappingError, match="is a file; name the folder"):
        read_mounts([f"{tmp_path}/x.mov=/mnt/a"])


def test_two_places_for_one_folder_are_refused(tmp_path: Path) -> None:
    same = f"{tmp_path}=/mnt/a"
    assert len(read_mounts([same, same])) == 1
    with pytest.raises(MappingError, match="is mapped to /mnt/a already; map each folder once"):
        read_mounts([same, f"{tmp_path}=/mnt/b"])
