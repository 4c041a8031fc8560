"""Files that lie: every one is measured or explained, and none stops the program."""

from __future__ import annotations

import json
import socket
import threading
from itertools import islice
from pathlib import Path
from typing import Any

import av
import pytest

from impactcut.errors import MediaError, NotMediaError
from impactcut.media.decode.frames import read_frames
from impactcut.media.probe.container import probe
from impactcut.project import Project
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis, analyse_clip
from impactcut.workflow.scan.scanning import ScanOptions, ScanReport, scan
from tests.helpers.footage.faulty_files import ODD_NAMES, mutated, odd_files, sources
from tests.helpers.footage.media_files import write_clip
from tests.helpers.footage.staged_clips import Report
from tests.helpers.running.processes import run_python
from tests.helpers.running.this_process import ThisProcess
from tests.helpers.running.watched_scans import Recorder

MUTATED = 1000
SEED = 20
READ_ALL = """
import json, sys
from pathlib import Path
from tests.workflow.scan.test_faults import read_mutated
read_mutated(Path(sys.argv[1]))
"""
MEASURED = {
    "whole.mov",
    "wrong suffix.avi",
    "talkative.mkv",
    "one pixel.mkv",
    "wide.avi",
    "two sizes.avi",
    "jumps.mkv",
    "below zero.mp4",
    "back.ts",
    "ten hours.avi",
    *ODD_NAMES,
}
EXPLAINED = {
    "empty.mov": "is empty; copy it again",
    "text.mov": "is not a media file that can be decoded",
    "playlist.mov": "is a list of media files; name the clips themselves",
    "cut.mov": "no frame of it decodes; copy it again",
    "sound.mp4": "has no picture",
    "cover.mp4": "has sound and a cover picture",
    "one frame.mov": "fewer than two frames",
    "locked.mov": "Permission denied",
    "loop.mov": "Too many levels of symbolic links; check its permissions and where it leads",
    "vanishes.mov": "no such file",
}


def read_mutated(folder: Path) -> None:
    """Probe every damaged file and read its first frames; print a line of JSON for each."""
    for faulty in mutated(sources(folder), MUTATED, SEED):
        path = folder / faulty.name
        path.write_bytes(faulty.content)
        print(json.dumps([faulty.name, _said_of(path)]), flush=True)
        path.unlink()


def _said_of(path: Path) -> str | None:
    try:
        probe(path)
        for _ in islice(read_frames(path, width=64), 24):
            pass
    except MediaError as error:
        return str(error)
    return None


def test_every_damaged_file_is_read_or_explained(tmp_path: Path) -> None:
    """In a process of its own, so that a decoder that crashes fails the test and no more."""
    said = dict(json.loads(line) for line in run_python(READ_ALL, tmp_path).splitlines())
    assert len(said) == MUTATED
    refused = {name: text for name, text in said.items() if text is not None}
    assert MUTATED / 4 < len(refused) < MUTATED
    for name, text in refused.items():
        assert text.startswith(f"{tmp_path / name}: ") and "; " in text


def test_ffmpeg_says_nothing_to_python() -> None:
    """PyAV's log callback can lock up with a decoder that is closed while it complains:

    https://github.com/PyAV-Org/PyAV/issues/751. At any level but None it is there.
    """
    assert av.logging.get_level() is None


def measure_while_files_vanish(
    path: Path, settings: AnalysisSettings, report: Report = None
) -> ClipAnalysis:
    if path.name == "vanishes.mov":
        path.unlink()
    return analyse_clip(path, settings, report)


@pytest.fixture(scope="module")
def scanned(tmp_path_factory: pytest.TempPathFactory) -> tuple[ScanReport, Path]:
    """One scan over everything odd, and where it lies."""
    base = tmp_path_factory.mktemp("odd")
    folder = base / "cards"
    odd_files(folder)
    for name in ("locked.mov", "vanishes.mov"):
        write_clip(folder / name, frames=16)
    real = Path.open

    def guarded(path: Path, *rest: Any, **named: Any) -> Any:
        if path.name == "locked.mov":
            raise PermissionError(13, "Permission denied")
        return real(path, *rest, **named)

    options = ScanOptions(AnalysisSettings(), ThisProcess())
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Path, "open", guarded)
        with Project(base / "night.db", create=True) as project:
            report = scan(project, [folder], options, Recorder(), measure_while_files_vanish)
    return report, folder


def test_odd_clips_are_measured(scanned: tuple[ScanReport, Path]) -> None:
    report, _ = scanned
    assert {stored.clip.name for stored in report.measured if stored.clip} == MEASURED


def test_what_is_no_clip_is_explained(scanned: tuple[ScanReport, Path]) -> None:
    report, folder = scanned
    said = {Path(each.name).name: f"{each.error}; {each.remedy}" for each in report.refusals}
    assert said.keys() == EXPLAINED.keys()
    for name, text in EXPLAINED.items():
        assert text in said[name], name
    assert all(each.remedy and each.name.startswith(str(folder)) for each in report.refusals)


def test_ten_hours_that_are_not_there_are_not_counted(scanned: tuple[ScanReport, Path]) -> None:
    report, _ = scanned
    (clip,) = (each.clip for each in report.measured if each.path.endswith("ten hours.avi"))
    assert clip is not None and clip.frames == 25


def test_nothing_is_written_beside_the_media(scanned: tuple[ScanReport, Path]) -> None:
    _, folder = scanned
    before = folder.parent / "again"
    odd_files(before)
    expected = {each.name for each in before.iterdir()} | {"locked.mov"}
    assert {each.name for each in folder.iterdir()} == expected


@pytest.mark.parametrize(
    "text",
    [
        "#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\n{address}\n#EXT-X-ENDLIST\n",
        "ffconcat version 1.0\nfile '{address}'\n",
        "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\n"
        "m=video 9 RTP/AVP 96\na=rtpmap:96 H264/90000\n",
    ],
)
def test_no_address_in_a_file_is_followed(tmp_path: Path, text: str) -> None:
    called = threading.Event()
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.5)
        threading.Thread(target=_accept, args=(server, called)).start()
        path = tmp_path / "quay.mov"
        path.write_text(text.format(address=f"http://127.0.0.1:{server.getsockname()[1]}/a.ts"))
        with pytest.raises(NotMediaError, match=r"quay\.mov: "):
            probe(path)
        assert not called.wait(0.6)


def _accept(server: socket.socket, called: threading.Event) -> None:
    try:
        server.accept()[0].close()
    except OSError:
        return
    called.set()
