"""Which files a scan takes up, and how it tells that one is unchanged."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from impactcut.core.takes.names import natural_order
from impactcut.errors import UnreadableMediaError
from impactcut.workflow.files.find import find_media
from impactcut.workflow.files.fingerprint import PART_BYTES, fingerprint, untouched


def touch(folder: Path, *names: str) -> None:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")


def names(folder: Path, *paths: Path) -> list[str]:
    found = find_media(paths or (folder,))
    assert found.refusals == ()
    return [str(each.path.relative_to(folder)) for each in found.candidates]


def test_folders_are_searched_at_any_depth_in_natural_order(tmp_path: Path) -> None:
    touch(tmp_path, "S2_T10_A.mov", "S2_T2_A.MOV", "deep/er/still/x.mxf", "a.mp4", "unnamed")
    expected = ["a.mp4", "deep/er/still/x.mxf", "S2_T2_A.MOV", "S2_T10_A.mov", "unnamed"]
    assert names(tmp_path) == expected


def test_obvious_other_files_are_passed_over(tmp_path: Path) -> None:
    touch(tmp_path, "notes.txt", ".hidden.mov", "._a.mov", ".cache/b.mov", "impactcut.db", "x.WAV")
    assert names(tmp_path) == []


def test_a_file_that_is_named_is_taken_whatever_its_name(tmp_path: Path) -> None:
    touch(tmp_path, "clip.txt")
    (candidate,) = find_media([tmp_path / "clip.txt"]).candidates
    assert candidate.expected


def test_links_that_lead_round_are_safe_and_nothing_counts_twice(tmp_path: Path) -> None:
    touch(tmp_path, "day/a.mov")
    (tmp_path / "day/again").symlink_to(tmp_path / "day", target_is_directory=True)
    (tmp_path / "day/up").symlink_to(tmp_path, target_is_directory=True)
    (tmp_path / "day/same.mov").symlink_to(tmp_path / "day/a.mov")
    (tmp_path / "day/itself").symlink_to(tmp_path / "day/itself")
    assert names(tmp_path) == ["day/a.mov"]
    assert names(tmp_path, tmp_path / "day", tmp_path / "day/a.mov") == ["day/a.mov"]


def test_what_is_not_there_is_refused_by_name(tmp_path: Path) -> None:
    touch(tmp_path, "a.mov")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    found = find_media([tmp_path / "gone.mov", tmp_path / "a.mov", tmp_path / "loop"])
    assert len(found.candidates) == 1
    assert [refusal.name for refusal in found.refusals] == [
        str(tmp_path / "gone.mov"),
        str(tmp_path / "loop"),
    ]
    assert all(refusal.remedy for refusal in found.refusals)


def test_footage_out_of_reach_is_refused_by_name(tmp_path: Path) -> None:
    touch(tmp_path, "a.mov")
    (tmp_path / "b.mov").symlink_to(tmp_path / "unplugged/b.mov")
    (tmp_path / "day 2").symlink_to(tmp_path / "unplugged/day 2")
    (tmp_path / "c.mov").symlink_to(tmp_path / "c.mov")
    (tmp_path / "notes.txt").symlink_to(tmp_path / "unplugged/notes.txt")
    found = find_media([tmp_path])
    assert [each.path.name for each in found.candidates] == ["a.mov"]
    refused = {Path(each.name).name: each for each in found.refusals}
    assert sorted(refused) == ["b.mov", "c.mov", "day 2"]
    assert "not there" in refused["b.mov"].error and "disk" in refused["day 2"].remedy
    assert refused["c.mov"].remedy


def test_the_frames_of_a_shot_as_single_pictures_are_named_once(tmp_path: Path) -> None:
    touch(tmp_path, *(f"day/shot_{n:04}.dpx" for n in range(86, 186)))
    touch(tmp_path, *(f"day/plate.{n}.PNG" for n in range(1, 30)), "day/a.mov", "day/7.png")
    touch(tmp_path, *(f"gaps/{n}.png" for n in range(0, 90, 3)))
    touch(tmp_path, *(f"photos/{n:04}.jpg" for n in range(60)), *(f"few/{n}.png" for n in range(9)))
    found = find_media([tmp_path, tmp_path / "day"])
    assert [each.path.name for each in found.candidates] == ["a.mov"] and not found.refusals
    shot, plate = sorted(found.notes)
    assert shot.startswith(f"{tmp_path / 'day'}: 100 single pictures shot_*.dpx were not read")
    assert "29 single pictures plate.*.PNG" in plate and "make a film" in plate


def test_name_that_is_no_text_is_refused(tmp_path: Path) -> None:
    raw = os.fsencode(tmp_path) + b"/sc\xe9ne.mov"
    try:
        Path(os.fsdecode(raw)).write_bytes(b"x")
    except OSError:
        pytest.skip("this file system takes no such name")
    (refusal,) = find_media([tmp_path]).refusals
    assert refusal.name.endswith("sc\\xe9ne.mov") and refusal.remedy == "rename it"


def test_natural_order_takes_numbers_as_numbers() -> None:
    shots = ["S10_T1", "s2_T10", "S2_T9", "S1"]
    assert sorted(shots, key=natural_order) == ["S1", "S2_T9", "s2_T10", "S10_T1"]


@pytest.mark.parametrize("size", [1, PART_BYTES, 3 * PART_BYTES + 7])
def test_a_change_at_either_end_or_in_the_middle_is_seen(tmp_path: Path, size: int) -> None:
    path = tmp_path / "a.mov"
    content = bytearray(size)
    path.write_bytes(content)
    before = fingerprint(path)
    assert fingerprint(path) == before
    for place in {0, size // 2, size - 1}:
        content[place] = 1
        path.write_bytes(content)
        assert fingerprint(path).digest != before.digest
        content[place] = 0
    path.write_bytes(bytes(size + 1))
    assert fingerprint(path).digest != before.digest


def test_untouched_goes_by_size_and_time(tmp_path: Path) -> None:
    path = tmp_path / "a.mov"
    path.write_bytes(b"12345")
    known = fingerprint(path)
    assert untouched(path, known)
    os.utime(path, ns=(0, known.mtime_ns + 1))
    assert not untouched(path, known)
    assert fingerprint(path).digest == known.digest
    path.unlink()
    assert not untouched(path, known)
    with pytest.raises(UnreadableMediaError, match=r"a\.mov: cannot be read"):
        fingerprint(path)
