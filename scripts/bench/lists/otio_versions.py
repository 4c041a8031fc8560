"""Timelines of the oldest OpenTimelineIO that is supported, and of the one installed, exchanged.

    python -m scripts.bench.lists.otio_versions [--timelines 300]

Installs the oldest (the lower bound in pyproject.toml) into a folder of its own. What the program
writes with the one, exports of every rate and random timelines recut in each way, is opened by the
other and compared frame by frame, with markers and metadata; then the tests of timelines are run
with the oldest. Fails at the first difference.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any
from xml.etree import ElementTree

import opentimelineio as otio

from impactcut.lists.edl.write import SoundLines
from impactcut.lists.otio.write import render_otio
from scripts.bench.measuring import ROOT, asked
from tests.helpers.lists.independent_readers import night_cut
from tests.helpers.lists.list_clips import ALL_TIMEBASES, make_entry
from tests.helpers.lists.timeline_trials import WAYS, random_trial, run_timeline
from tests.helpers.lists.timelines import frames_of

TESTS = (
    "tests/lists/otio", "tests/workflow/export/test_timeline_bundle.py",
    "tests/cli/test_cli_recut.py",
)  # fmt: skip

UNREADABLE = (
    "tests/lists/otio/test_otio_list.py::test_a_timeline_shows_the_frames_of_the_edl[47.952]"
)
"""Its EDL, not its timeline: 0.17, which reads it for the test, knows no timecode at that rate."""


def main() -> None:
    """Install, write, read, test."""
    options = asked(__doc__, timelines=300, write="", read="")
    if options.write:
        write(Path(options.write), options.timelines)
    elif options.read:
        read(Path(options.read))
    else:
        exchange(options.timelines)


def exchange(count: int) -> None:
    """Both ways, and the tests."""
    with TemporaryDirectory() as folder:
        oldest = Path(folder) / "oldest"
        command = [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--target", oldest]
        subprocess.run([*command, f"opentimelineio=={lower_bound()}"], check=True)
        for first, second in ((None, oldest), (oldest, None)):
            place = Path(folder) / ("new" if first is None else "old")
            place.mkdir()
            run(first, __file__, "--write", place, "--timelines", count)
            run(second, __file__, "--read", place)
        test(oldest)


def lower_bound() -> str:
    """The oldest version that the project says it works with."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    (wanted,) = project["optional-dependencies"]["otio"]
    found = re.fullmatch(r"opentimelineio>=([\d.]+)", wanted)
    assert found is not None, wanted
    return f"{found[1]}.0" if found[1].count(".") == 1 else found[1]


def run(package: Path | None, *arguments: object) -> None:
    """Run Python with the OpenTimelineIO of a folder, or the one installed."""
    paths = [str(package)] if package is not None else []
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([*paths, str(ROOT)])}
    subprocess.run([sys.executable, *map(str, arguments)], check=True, env=environment, cwd=ROOT)


def test(package: Path) -> None:
    """Run the tests of timelines; 0.17 may abort as Python ends, when all of them have been run."""
    report = package.with_name("tests.xml")
    options = ("-q", "-n0", "-p", "no:cacheprovider", f"--junitxml={report}")
    with suppress(subprocess.CalledProcessError):
        run(package, "-m", "pytest", *options, *TESTS, "--deselect", UNREADABLE)
    (suite,) = ElementTree.parse(report).getroot()
    if int(suite.get("failures", 1)) + int(suite.get("errors", 1)):
        raise SystemExit("tests fail with the oldest version")


def write(folder: Path, count: int) -> None:
    """Write timelines, and beside each what this version sees in it."""
    texts = dict(written(count))
    for name, text in texts.items():
        (folder / f"{name}.otio").write_text(text, "utf-8")
        seen = json.dumps(told(text))
        (folder / f"{name}.json").write_text(seen, "utf-8")
    print(f"OpenTimelineIO {otio.__version__} wrote {len(texts)} timelines")


def written(count: int) -> Iterator[tuple[str, str]]:
    """Exports, and recuts of random timelines, by name."""
    for timebase in ALL_TIMEBASES:
        cut = night_cut(timebase)
        hits = [make_entry(clip, at, 2 * at, 2.0) for at, clip in enumerate(cut.clips, 1)]
        yield f"export {timebase}".replace("/", "-"), render_otio(cut, hits, "", SoundLines())
    for way in WAYS:
        for seed in range(count):
            new, _ = run_timeline(random_trial(Random(f"{way} {seed}"), way))
            yield f"{way} {seed}", new.to_json_string()


def read(folder: Path) -> None:
    """Open timelines of another version and compare what is seen."""
    paths = sorted(folder.glob("*.otio"))
    for path in paths:
        seen = json.loads(json.dumps(told(path.read_text("utf-8"))))
        if seen != json.loads(path.with_suffix(".json").read_text("utf-8")):
            raise SystemExit(
                f"{path.name}: OpenTimelineIO {otio.__version__} sees another timeline"
            )
    print(f"OpenTimelineIO {otio.__version__} sees the same in {len(paths)} timelines")


def told(text: str) -> list[Any]:
    """All frames of a timeline, and its markers, metadata and media."""
    timeline = otio.adapters.read_from_string(text, "otio_json")
    clips = [
        (
            clip.name,
            [(m.name, str(m.marked_range), m.color, plain(m.metadata)) for m in clip.markers],
            plain(clip.metadata),
            clip.media_reference.target_url,
            str(clip.media_reference.available_range),
        )
        for clip in timeline.find_clips()
    ]
    start = str(timeline.global_start_time)
    return [timeline.name, start, plain(timeline.metadata), frames_of(timeline.tracks), clips]


def plain(metadata: Any) -> Any:
    """Metadata without the package's own kinds of mappings and lists."""
    return json.loads(otio.core.serialize_json_to_string(metadata))


if __name__ == "__main__":
    main()
