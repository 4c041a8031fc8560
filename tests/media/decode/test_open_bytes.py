"""Reading a file's bytes: whatever the system says comes out as an error that names the file."""

from __future__ import annotations

from pathlib import Path

import pytest

from impactcut.errors import UnreadableMediaError
from impactcut.media.decode.open import open_bytes
from impactcut.media.probe.tmcd import timecode_track_rate

NOT_MAPPED = Path("/proc/self/mem")
"""Opens on Linux, and cannot be read at its start."""


def test_a_timecode_track_of_a_file_that_is_gone_is_a_media_error(tmp_path: Path) -> None:
    gone = tmp_path / "quay_3.mov"
    with pytest.raises(UnreadableMediaError, match=r"quay_3\.mov: no such file; check the name"):
        timecode_track_rate(gone)


@pytest.mark.skipif(not NOT_MAPPED.exists(), reason="needs Linux's /proc")
def test_a_read_that_fails_part_of_the_way_is_a_media_error() -> None:
    with (
        pytest.raises(UnreadableMediaError, match=r"cannot be read .*; check the disk"),
        open_bytes(NOT_MAPPED) as file,
    ):
        file.read(1)
