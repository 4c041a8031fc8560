"""Clips for `scan_cost.py`: an arm that strikes every two seconds, in each codec, some repeated.

python scripts/bench/scan_inputs.py FOLDER [--seconds 10] [--scene]
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from measuring import ROOT, asked
from numpy.typing import NDArray

from tests.helpers.footage.filmed_motion import arm
from tests.helpers.footage.media_files import Recipe, write_planes
from tests.helpers.footage.staged_clips import swings

RATE = 24
HIT_FRAMES = 48
"""From one strike to the next."""


def coded(codec: str, pix_fmt: str, **options: str) -> Recipe:
    """In some codec; ``b`` are its bits a second where it does not settle them itself."""
    depth = 10 if "10" in pix_fmt else 8
    return Recipe(codec, pix_fmt, depth, Fraction(RATE), options=options)


LONG_GOP = {"preset": "veryfast", "g": "48", "bf": "2"}
X265 = {"preset": "superfast", "x265-params": "keyint=48:log-level=none"}
CODINGS = {
    "prores422_1080.mov": (1920, coded("prores_ks", "yuv422p10le", profile="standard")),
    "dnxhr_sq_1080.mov": (1920, coded("dnxhd", "yuv422p", profile="dnxhr_sq")),
    "h264_50_1080.mp4": (1920, coded("libx264", "yuv420p", b="50M", **LONG_GOP)),
    "h264_10_1080.mp4": (1920, coded("libx264", "yuv420p", b="10M", **LONG_GOP)),
    "h264_2160.mp4": (3840, coded("libx264", "yuv420p10le", b="100M", **LONG_GOP)),
    "hevc_2160.mp4": (3840, coded("libx265", "yuv420p10le", b="100M", **X265)),
}
"""Width and coding of each clip."""
REPEATED = (
    ("prores422_1080.mov", 60),
    ("dnxhr_sq_1080.mov", 60),
    ("h264_10_1080.mp4", 60),
    ("h264_10_1080.mp4", 600),
)
"""Clips to repeat until they last so many seconds."""


def pictures(count: int, width: int) -> Iterator[NDArray[np.uint8]]:
    """An arm before a wall that pans, with grain; one picture in memory at a time."""
    rng = np.random.default_rng(0)
    grain = [rng.normal(0, 4, (width * 9 // 16, width)).astype(np.int16) for _ in range(5)]
    for number, place in enumerate(swings(count, HIT_FRAMES)):
        (picture,) = arm([place], 1.5, width, number)
        yield np.clip(picture + grain[number % 5], 0, 255).astype(np.uint8)


def write(path: Path, width: int, recipe: Recipe, count: int) -> None:
    """Write ``count`` frames; a clip that is there is left alone."""
    if not path.exists():
        part = path.with_stem(path.stem + ".part")
        write_planes(part, pictures(count, width), recipe).rename(path)


def repeat(short: Path, long: Path, times: int) -> None:
    """Write the packets of ``short`` over and over, without coding them again."""
    with av.open(str(long), "w") as out:
        stream, length = None, 0
        for turn in range(times):
            with av.open(str(short)) as container:
                source = container.streams.video[0]
                stream = stream or out.add_stream_from_template(source)
                length = source.duration or 0
                for packet in container.demux(source):
                    if packet.dts is not None and packet.pts is not None:
                        packet.pts += turn * length
                        packet.dts += turn * length
                        packet.stream = stream
                        out.mux(packet)


def film_scene(folder: Path) -> None:
    """Film the first fight of the samples at 1920 x 1080."""
    sys.path.insert(0, str(ROOT / "samples"))
    from warehouse.film import film_fight
    from warehouse.scenario import scenario

    film_fight(folder, replace(scenario()[0], width=1920, height=1080))


def main() -> None:
    """Write the clips."""
    options = asked(__doc__, "folder", seconds=10, scene=False)
    options.folder.mkdir(parents=True, exist_ok=True)
    for name, (width, recipe) in CODINGS.items():
        seconds = options.seconds if width < 3840 else options.seconds // 2
        write(options.folder / name, width, recipe, seconds * RATE)
    for name, seconds in REPEATED:
        short = options.folder / name
        long = short.with_stem(f"{short.stem}_{seconds}s")
        repeat(short, long, max(1, seconds // options.seconds))
    if options.scene:
        film_scene(options.folder)


if __name__ == "__main__":
    main()
