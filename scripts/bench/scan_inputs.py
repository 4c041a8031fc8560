"""Clips for `scan_cost.py`: two discs, a hit every two seconds, in each codec, some of them longer.

python scripts/bench/scan_inputs.py FOLDER [--seconds 10] [--scene]
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import av
import cv2
import numpy as np
from measuring import ROOT, asked
from numpy.typing import NDArray
from skimage import data

sys.path.insert(0, str(ROOT / "samples"))

from warehouse.timing import minimum_jerk

RATE = 24
HIT_SECONDS = 2.0
RADIUS, REACH, PUSH = 0.07, 0.2, 0.12
"""Of the discs, of the strike up to the contact, and of the push, widths."""
SWING = 0.5
"""Seconds that the strike would take if nothing stopped it."""


@dataclass(frozen=True)
class Coding:
    """How a clip is coded; ``megabits`` a second where the codec does not settle it."""

    codec: str
    pix_fmt: str
    width: int
    height: int
    megabits: int = 0
    options: dict[str, str] = field(default_factory=dict)


LONG_GOP = {"preset": "veryfast", "g": "48", "bf": "2"}
CODINGS = {
    "prores422_1080.mov": Coding(
        "prores_ks", "yuv422p10le", 1920, 1080, options={"profile": "standard"}
    ),
    "dnxhr_sq_1080.mov": Coding(
        "dnxhd", "yuv422p", 1920, 1080, options={"profile": "dnxhr_sq"}
    ),
    "h264_50_1080.mp4": Coding("libx264", "yuv420p", 1920, 1080, 50, LONG_GOP),
    "h264_10_1080.mp4": Coding("libx264", "yuv420p", 1920, 1080, 10, LONG_GOP),
    "h264_2160.mp4": Coding("libx264", "yuv420p10le", 3840, 2160, 100, LONG_GOP),
    "hevc_2160.mp4": Coding(
        "libx265",
        "yuv420p10le",
        3840,
        2160,
        100,
        {"preset": "superfast", "x265-params": "keyint=48:log-level=none"},
    ),
}  # fmt: skip
REPEATED = (
    ("prores422_1080.mov", 60),
    ("dnxhr_sq_1080.mov", 60),
    ("h264_10_1080.mp4", 60),
    ("h264_10_1080.mp4", 600),
)
"""Clips to repeat until they last so many seconds."""


def pictures(count: int, width: int, height: int) -> Iterator[NDArray[np.uint8]]:
    """A wall under a swaying camera, two discs, a hit every two seconds, and grain; BGR."""
    rng = np.random.default_rng(0)
    side = width * 5 // 4
    wall = cv2.resize(data.gravel(), (side, side), interpolation=cv2.INTER_CUBIC).astype(np.int16)
    grain = [rng.normal(0, 4, (height, width)).astype(np.int16) for _ in range(5)]
    for k in range(count):
        x = int(width * 0.1 * (1 + np.sin(k / 20)))
        y = int(height * 0.1 * (1 + np.cos(k / 27)))
        grey = np.clip(wall[y : y + height, x : x + width] + grain[k % 5], 0, 255)
        picture = cv2.cvtColor(grey.astype(np.uint8), cv2.COLOR_GRAY2BGR)
        for place, tone in zip(discs(k / RATE), ((40, 50, 90), (190, 220, 210)), strict=True):
            centre = (int(width * place), height // 2)
            cv2.circle(picture, centre, int(RADIUS * width), tone, -1, cv2.LINE_AA)
            cv2.circle(picture, centre, int(RADIUS * width / 3), (120, 140, 150), -1, cv2.LINE_AA)
        yield picture


def discs(seconds: float) -> tuple[float, float]:
    """Middles of the striker and of the one it strikes at a moment, widths.

    The striker comes as an arm does (minimum jerk, Flash & Hogan 1985), stops dead at its fastest,
    and goes back; the other is pushed and comes back.
    """
    since = seconds % HIT_SECONDS - 1.0
    swung = 2 * REACH * minimum_jerk(np.array(0.5 + min(since, 0.0) / SWING))
    back = minimum_jerk(np.array((since - 0.1) / 0.8))
    pushed = PUSH * (1 - np.exp(-max(since, 0.0) / 0.1))
    struck = 0.25 + REACH + 2 * RADIUS
    return 0.25 + swung * (1 - back), struck + pushed * (1 - back)


def write(path: Path, coding: Coding, count: int) -> None:
    """Write ``count`` frames; a clip that is there is left alone."""
    if path.exists():
        return
    part = path.with_stem(path.stem + ".part")
    with av.open(str(part), "w") as container:
        stream = container.add_stream(coding.codec, rate=RATE, options=coding.options)
        stream.width, stream.height, stream.pix_fmt = coding.width, coding.height, coding.pix_fmt
        if coding.megabits:
            stream.bit_rate = coding.megabits * 1_000_000
        for picture in pictures(count, coding.width, coding.height):
            frame = av.VideoFrame.from_ndarray(picture, format="bgr24")
            container.mux(stream.encode(frame.reformat(format=coding.pix_fmt)))
        container.mux(stream.encode(None))
    part.rename(path)


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
    from warehouse.film import film_fight
    from warehouse.scenario import scenario

    film_fight(folder, replace(scenario()[0], width=1920, height=1080))


def main() -> None:
    """Write the clips."""
    options = asked(__doc__, "folder", seconds=10, scene=False)
    options.folder.mkdir(parents=True, exist_ok=True)
    for name, coding in CODINGS.items():
        seconds = options.seconds if coding.width < 3840 else options.seconds // 2
        write(options.folder / name, coding, seconds * RATE)
    for name, seconds in REPEATED:
        short = options.folder / name
        long = short.with_stem(f"{short.stem}_{seconds}s")
        repeat(short, long, max(1, seconds // options.seconds))
    if options.scene:
        film_scene(options.folder)


if __name__ == "__main__":
    main()
