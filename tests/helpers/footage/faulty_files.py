"""A corpus of media files that lie: tiny clips of many kinds, damaged at random but repeatably."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from pathlib import Path

import numpy as np

from tests.helpers.footage.media_files import (
    Recipe,
    numbered,
    write_clip,
    write_planes,
    write_sound,
    write_two_sizes,
)

Random = np.random.Generator
Mutation = Callable[[bytes, Random], bytes]
SIZE = (64, 36)
_EXTREMES = (0, 1, 0x7F, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFE, 0xFFFFFFFF)


@dataclass(frozen=True)
class Faulty:
    """A damaged file: what it was, and what was done to it."""

    name: str
    content: bytes


def sources(folder: Path) -> dict[str, bytes]:
    """One tiny clip of each kind, by file name."""
    folder.mkdir(parents=True, exist_ok=True)
    small = {"frames": 12, "size": SIZE}
    clips = [
        write_clip(folder / "h264.mp4", **small),
        write_clip(folder / "timecode.mov", Recipe(tags={"timecode": "01:00:00:00"}), **small),
        write_clip(folder / "sound.mov", Recipe("mpeg4", sound=True), **small),
        write_clip(folder / "prores.mov", Recipe("prores_ks", "yuv422p10le", 10), **small),
        write_clip(folder / "h264.mkv", **small),
        write_clip(folder / "lossless.mkv", Recipe("ffv1", "gray"), **small),
        write_clip(folder / "jpeg.avi", Recipe("mjpeg", "yuvj420p"), **small),
        write_clip(folder / "mpeg2.mpg", Recipe("mpeg2video"), **small),
        write_clip(folder / "h264.ts", **small),
        write_clip(folder / "mpeg2.mxf", Recipe("mpeg2video"), **small),
        write_clip(folder / "h263.flv", Recipe("flv"), **small),
        write_clip(folder / "wmv2.wmv", Recipe("wmv2"), **small),
    ]
    return {clip.name: clip.read_bytes() for clip in clips}


def mutated(kinds: dict[str, bytes], number: int, seed: int) -> Iterator[Faulty]:
    """Damaged copies, kind after kind and damage after damage."""
    names, damages = sorted(kinds), sorted(MUTATIONS)
    for index in range(number):
        random = np.random.default_rng((seed, index))
        source = names[index % len(names)]
        damage = damages[index // len(names) % len(damages)]
        content = MUTATIONS[damage](kinds[source], random)
        yield Faulty(f"{index:04}_{damage}_{source}", content)


def odd_files(folder: Path) -> None:
    """Files that are whole, or cut, and still not what a clip is expected to be."""
    folder.mkdir(parents=True, exist_ok=True)
    whole = write_clip(folder / "whole.mov", frames=16, size=SIZE)
    odd_pictures(folder)
    odd_times(folder)
    odd_names(folder, whole.read_bytes())
    (folder / "empty.mov").write_bytes(b"")
    (folder / "text.mov").write_text("Night 2, quay: take 4 is the good one.\n" * 40)
    (folder / "wrong suffix.avi").write_bytes(whole.read_bytes())
    (folder / "playlist.mov").write_text("ffconcat version 1.0\nfile whole.mov\n")
    (folder / "cut.mov").write_bytes(whole.read_bytes()[:-300])
    write_sound(folder / "sound.mp4")
    write_sound(folder / "cover.mp4", cover=True)
    tags = {"comment": "quay " * 200_000}
    write_clip(folder / "talkative.mkv", Recipe(tags=tags), frames=16, size=SIZE)
    (folder / "loop.mov").symlink_to(folder / "loop.mov")
    (folder / "round").symlink_to(folder, target_is_directory=True)


def odd_pictures(folder: Path) -> None:
    """Too small, too wide, too few, and of changing size."""
    tiny = Recipe("ffv1", "gray")
    write_clip(folder / "one pixel.mkv", tiny, frames=16, size=(1, 1))
    write_clip(folder / "wide.avi", Recipe("mjpeg", "yuvj420p"), frames=16, size=(16000, 16))
    write_clip(folder / "one frame.mov", frames=1, size=SIZE)
    write_two_sizes(folder / "two sizes.avi", [SIZE, (48, 64)])


def odd_times(folder: Path) -> None:
    """Time stamps that jump, run backwards or lie below zero, and ten hours claimed."""
    planes = [numbered(n, SIZE) for n in range(16)]
    tick = Fraction(1, 1000)
    ahead = [40 * n + (3_600_000 if n > 7 else 0) for n in range(16)]
    write_planes(folder / "jumps.mkv", planes, stamps=ahead, tick=tick)
    below = [n - 5 for n in range(16)]
    write_planes(folder / "below zero.mp4", planes, stamps=below, tick=Fraction(1, 25))
    stream = write_clip(folder / "back.ts", frames=16, size=SIZE).read_bytes()
    (folder / "back.ts").write_bytes(stream + stream)
    jpegs = write_clip(folder / "ten hours.avi", Recipe("mjpeg", "yuvj420p"), frames=25, size=SIZE)
    jpegs.write_bytes(_claiming(jpegs.read_bytes(), 10 * 3600 * 25))


def _claiming(avi: bytes, frames: int) -> bytes:
    """An AVI whose headers (``dwTotalFrames``, ``dwLength``) count ``frames``."""
    changed = bytearray(avi)
    for chunk, place in ((b"avih", 16), (b"strh", 32)):
        start = changed.index(chunk) + 8 + place
        changed[start : start + 4] = frames.to_bytes(4, "little")
    return bytes(changed)


ODD_NAMES = (
    "-rf.mov",
    "two\nlines.mov",
    "\"quoted\" 'twice'.mov",
    "$(touch here) `and` ; there & %s.mov",
    "\x1b[31mred.mov",
    "\N{COLLISION SYMBOL} hit.mov",
    "e\N{COMBINING ACUTE ACCENT}pée.mov",
    "http:__quay.mov",
    "q" * 251 + ".mov",
)


def odd_names(folder: Path, content: bytes) -> None:
    """Sound clips under names that could be taken for something else."""
    for number, name in enumerate(ODD_NAMES):
        (folder / name).write_bytes(content + bytes([number]))


def _cut(data: bytes, random: Random) -> bytes:
    return data[: random.integers(0, len(data))]


def _cut_early(data: bytes, random: Random) -> bytes:
    return data[: random.integers(0, min(len(data), 64))]


def _beheaded(data: bytes, random: Random) -> bytes:
    return data[random.integers(1, len(data)) :]


def _flipped(bits: int, data: bytes, random: Random) -> bytes:
    changed = bytearray(data)
    for place in random.integers(0, 8 * len(data), bits):
        changed[place // 8] ^= 1 << int(place % 8)
    return bytes(changed)


def _head_flipped(data: bytes, random: Random) -> bytes:
    head = min(len(data), 600)
    return _flipped(6, data[:head], random) + data[head:]


def _tail_flipped(data: bytes, random: Random) -> bytes:
    tail = min(len(data), 1200)
    return data[:-tail] + _flipped(6, data[-tail:], random)


def _blanked(data: bytes, random: Random) -> bytes:
    start, stop = sorted(random.integers(0, len(data) + 1, 2))
    return data[:start] + bytes(stop - start) + data[stop:]


def _hole(data: bytes, random: Random) -> bytes:
    start, stop = sorted(random.integers(0, len(data) + 1, 2))
    return data[:start] + data[stop:]


def _noise_inside(data: bytes, random: Random) -> bytes:
    place = random.integers(0, len(data))
    return data[:place] + random.bytes(int(random.integers(1, 2000))) + data[place:]


def _doubled(data: bytes, random: Random) -> bytes:
    start, stop = sorted(random.integers(0, len(data) + 1, 2))
    return data[:stop] + data[start:]


def _extreme_numbers(data: bytes, random: Random) -> bytes:
    changed = bytearray(data)
    for place in random.integers(0, max(1, len(data) - 4), 3):
        number = _EXTREMES[random.integers(len(_EXTREMES))]
        changed[place : place + 4] = number.to_bytes(4, "big")
    return bytes(changed)


def _extreme_head(data: bytes, random: Random) -> bytes:
    head = min(len(data), 300)
    return _extreme_numbers(data[:head], random) + data[head:]


def _extreme_tail(data: bytes, random: Random) -> bytes:
    tail = min(len(data), 900)
    return data[:-tail] + _extreme_numbers(data[-tail:], random)


MUTATIONS: dict[str, Mutation] = {
    "cut": _cut,
    "cut-early": _cut_early,
    "beheaded": _beheaded,
    "one-bit": partial(_flipped, 1),
    "some-bits": partial(_flipped, 20),
    "many-bits": partial(_flipped, 400),
    "head-bits": _head_flipped,
    "tail-bits": _tail_flipped,
    "blanked": _blanked,
    "hole": _hole,
    "noise-inside": _noise_inside,
    "doubled": _doubled,
    "extremes": _extreme_numbers,
    "extreme-head": _extreme_head,
    "extreme-tail": _extreme_tail,
}
