"""Reading frames from the middle of a clip: they are those of reading it all."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from impactcut.media.decode.frames import Loss, read_frames
from tests.helpers.footage.media_files import (
    PRORES,
    SHORT_GOP,
    Recipe,
    number_in,
    numbered,
    wiped,
    write_clip,
    write_planes,
)

STARTS = {
    "bframes.mp4": SHORT_GOP,
    "bframes.mkv": SHORT_GOP,
    "open.mp4": Recipe(options={"x264-params": "keyint=12:open-gop=1:bframes=3:scenecut=0"}),
    "refresh.mp4": Recipe(options={"x264-params": "intra-refresh=1:keyint=12:scenecut=0"}),
    "hevc.mp4": Recipe(
        "libx265", options={"x265-params": "keyint=12:open-gop=1:log-level=none"}
    ),
    "b.avi": Recipe("mpeg4", options={"g": "12", "bf": "2"}),
    "m.ts": SHORT_GOP,
    "m.mxf": Recipe("mpeg2video", options={"g": "12", "bf": "2"}),
    "p.mov": PRORES,
    "raw.avi": Recipe("rawvideo", "yuv420p"),
    "film.mkv": Recipe(rate=Fraction(24000, 1001), options={"g": "12"}),
}  # fmt: skip


@pytest.mark.parametrize("name", STARTS)
def test_start_anywhere_gives_the_same_frames(tmp_path: Path, name: str) -> None:
    path = write_clip(tmp_path / name, STARTS[name], frames=60)
    whole = list(read_frames(path, width=80))
    assert [number_in(frame.luma) for frame in whole] == list(range(60))
    for start in (1, 11, 12, 13, 23, 24, 37, 58, 59):
        some = list(read_frames(path, width=80, start=start))
        assert [frame.index for frame in some] == list(range(start, 60))
        assert [frame.stamp for frame in some] == [frame.stamp for frame in whole[start:]]
        assert all(np.array_equal(a.luma, b.luma) for a, b in zip(some, whole[start:], strict=True))


def test_start_in_an_uneven_clip(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    stamps = np.cumsum(rng.integers(20, 90, 60)).tolist()
    planes = [numbered(k) for k in range(60)]
    path = write_planes(
        tmp_path / "a.mp4", planes, SHORT_GOP, stamps=stamps, tick=Fraction(1, 1000)
    )
    for start in (5, 13, 40, 59):
        assert number_in(next(read_frames(path, width=80, start=start)).luma) == start


def test_start_behind_the_end(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mp4")
    assert list(read_frames(path, start=12)) == []
    assert list(read_frames(path, start=500)) == []


def test_jump_does_not_decode_what_lies_before(tmp_path: Path) -> None:
    # The pictures before the keyframe of frame 48 are wiped out; only a jump can pass them.
    path = write_clip(tmp_path / "a.mov", PRORES, frames=60)
    wiped(path, 1, 48)
    lost: list[Loss] = []
    frames = list(read_frames(path, width=80, start=48, on_loss=lost.append))
    assert [number_in(frame.luma) for frame in frames] == list(range(48, 60))
    assert lost == []


def test_jump_steps_back_from_a_keyframe_shown_too_late(tmp_path: Path) -> None:
    # In open GOPs pictures shown before a keyframe are stored behind it, and need the one before.
    # Everything in front of the third keyframe is wiped out, so decoding from the start fails.
    coding = "keyint=12:min-keyint=12:open-gop=1:bframes=4:b-adapt=0:scenecut=0:log-level=none"
    recipe = Recipe("libx265", options={"x265-params": coding})
    path = write_clip(tmp_path / "a.mp4", recipe, frames=100)
    with av.open(str(path)) as container:
        packets = [p for p in container.demux(video=0) if p.pts is not None]
    keys = [at for at, packet in enumerate(packets) if packet.is_keyframe]
    order = sorted(packet.pts for packet in packets)
    leading = packets[keys[6] + 1]
    assert leading.pts < packets[keys[6]].pts
    start = order.index(leading.pts)
    wiped(path, 1, keys[2])
    assert number_in(next(read_frames(path, width=80, start=start)).luma) == start


def test_clip_that_starts_between_keyframes(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.ts", SHORT_GOP, frames=60)
    data = path.read_bytes()
    path.write_bytes(data[len(data) // 188 // 10 * 188 :])
    whole = list(read_frames(path, width=80))
    assert number_in(whole[0].luma) > 0
    for start in (1, 20):
        assert next(read_frames(path, width=80, start=start)).stamp == whole[start].stamp
