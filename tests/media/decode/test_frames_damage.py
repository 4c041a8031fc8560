"""Reading frames of damaged and failing files: what can be shown is, and what is lost is told."""

import os
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import av
import pytest

from impactcut.errors import NotMediaError, UnreadableMediaError
from impactcut.media.decode.frames import Loss, read_frames
from impactcut.media.decode.open import open_video
from impactcut.media.decode.packets import Undecoded, decoded, use_threads
from tests.helpers.footage.media_files import (
    DNXHR,
    PRORES,
    SHORT_GOP,
    Recipe,
    number_in,
    wiped,
    write_clip,
)


def test_damage_in_the_middle_is_passed_over_and_told(tmp_path: Path) -> None:
    path = wiped(write_clip(tmp_path / "a.mov", PRORES, frames=30), 10, 13)
    lost: list[Loss] = []
    frames = list(read_frames(path, width=80, on_loss=lost.append))
    assert [number_in(frame.luma) for frame in frames] == [*range(10), *range(13, 30)]
    assert [frame.index for frame in frames] == list(range(27))
    assert len(lost) == 3
    assert all(0 <= loss.before <= 10 and loss.reason for loss in lost)


def test_damaged_clip_is_counted_in_order_once_its_frames_are_known(tmp_path: Path) -> None:
    path = wiped(write_clip(tmp_path / "a.mov", PRORES, frames=30), 10, 13)
    whole = list(read_frames(path, width=80))
    known = list(read_frames(path, width=80, start=20, frames=27))
    assert [number_in(f.luma) for f in known] == [number_in(f.luma) for f in whole[20:]]


@pytest.mark.parametrize(
    ("name", "recipe"),
    [
        ("a.mp4", Recipe(options={"g": "12"}, container={"movflags": "faststart"})),
        ("a.mkv", SHORT_GOP),
        ("a.avi", Recipe("mjpeg", "yuvj420p")),
        ("a.ts", SHORT_GOP),
        ("a.mxf", DNXHR),
    ],
)
def test_truncated_file_yields_what_is_left(tmp_path: Path, name: str, recipe: Recipe) -> None:
    path = write_clip(tmp_path / name, recipe, frames=60)
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 6 // 10])
    numbers = [number_in(frame.luma) for frame in read_frames(path, width=80)]
    # In decoding order a B-frame comes after a later picture, so the last few may have gaps.
    assert numbers[:-4] == list(range(len(numbers) - 4))
    assert numbers == sorted(numbers)
    assert 15 <= len(numbers) < 60


def test_truncated_file_is_the_same_on_any_number_of_cores(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    recipe = Recipe(options={"g": "12"}, container={"movflags": "faststart"})
    path = write_clip(tmp_path / "a.mp4", recipe, frames=60)
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 6 // 10])
    stamps = []
    for cores in (1, 2, 4):
        monkeypatch.setattr(os, "cpu_count", lambda cores=cores: cores)
        stamps.append([frame.stamp for frame in read_frames(path, width=80)])
    assert stamps[0] == stamps[1] == stamps[2]


def test_disk_that_fails_part_of_the_way(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mp4")
    with open_video(path) as (container, stream):

        def packets() -> Iterator[av.Packet]:
            yield from islice(container.demux(stream), 5)
            raise av.error.OSError(5, "Input/output error")

        with pytest.raises(UnreadableMediaError, match=r"a\.mp4: cannot be read \(Input/output"):
            list(decoded(path, stream, packets()))


def test_fault_between_packets_loses_no_frame_before_it(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mp4", Recipe(options={"bf": "0"}), frames=20)
    with open_video(path) as (container, stream):
        use_threads(stream)

        def packets() -> Iterator[av.Packet]:
            yield from islice(container.demux(stream), 9)
            raise av.error.InvalidDataError(1094995529, "Invalid data")

        items = list(decoded(path, stream, packets()))
    assert sum(isinstance(item, av.VideoFrame) for item in items) == 9
    assert Undecoded("Invalid data") in items


def test_nothing_decodes(tmp_path: Path) -> None:
    path = wiped(write_clip(tmp_path / "a.mov", PRORES), 0, 12)
    with pytest.raises(NotMediaError, match="no frame of it decodes"):
        list(read_frames(path))
