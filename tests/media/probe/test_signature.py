"""Which files may hold moving pictures, by their first bytes; FFmpeg writes the files."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from impactcut.media.probe.signature import may_hold_pictures
from tests.helpers.footage.faulty_files import SIZE
from tests.helpers.footage.media_files import Recipe, write_clip

KINDS = {
    "a.mov": Recipe(),
    "a.mp4": Recipe(),
    "a.mkv": Recipe(),
    "a.webm": Recipe("libvpx"),
    "a.avi": Recipe("mjpeg", "yuvj420p"),
    "a.mxf": Recipe("mpeg2video"),
    "a.ts": Recipe(),
    "a.mts": Recipe(),
    "a.mpg": Recipe("mpeg2video"),
    "a.wmv": Recipe("wmv2"),
    "a.flv": Recipe("flv"),
}


@pytest.mark.parametrize("name", KINDS)
def test_files_that_ffmpeg_writes_are_known(tmp_path: Path, name: str) -> None:
    if KINDS[name].codec not in av.codecs_available:
        pytest.skip(f"no coder for {KINDS[name].codec} here")
    path = write_clip(tmp_path / name, KINDS[name], frames=4, size=SIZE)
    assert may_hold_pictures(path)


def test_transport_stream_may_begin_in_a_packet(tmp_path: Path) -> None:
    whole = write_clip(tmp_path / "a.ts", frames=4, size=SIZE).read_bytes()
    (tmp_path / "take 4").write_bytes(whole[100:])
    assert may_hold_pictures(tmp_path / "take 4")


def test_other_files_are_not(tmp_path: Path) -> None:
    random = np.random.default_rng(1)
    contents = {
        "empty": b"",
        "text": b"Night 2, quay: take 4 is the good one.\n" * 40,
        "database": b"SQLite format 3\0" + random.bytes(2000),
        "picture.png": b"\x89PNG\r\n\x1a\n" + random.bytes(2000),
        "picture.jpg": b"\xff\xd8\xff\xe0" + random.bytes(2000),
        "picture.heic": b"\0\0\0\x18ftypheic" + random.bytes(2000),
        "sound.m4a": b"\0\0\0\x1cftypM4A " + random.bytes(2000),
        "sound.wav": b"RIFF\0\0\0\0WAVE" + random.bytes(2000),
        "letters": bytes(random.integers(65, 70, 2000).astype(np.uint8)) + b"G" * 3,
    }
    for name, content in contents.items():
        (tmp_path / name).write_bytes(content)
    names = [*contents, "gone"]
    assert [name for name in names if may_hold_pictures(tmp_path / name)] == []
