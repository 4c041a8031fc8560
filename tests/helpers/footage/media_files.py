"""Small clips for tests, written with PyAV.

Every picture carries its own number as eight bright or dark blocks along its top edge, so that a
test can read off which frame it was given without trusting any count.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import chain, count
from pathlib import Path

import av
import numpy as np
from av.stream import Disposition
from numpy.typing import NDArray

LumaPlane = NDArray[np.integer]
DARK, BRIGHT = 40, 210


@dataclass(frozen=True)
class Recipe:
    """How a test clip is written; ``depth`` is the bits of a luma sample of ``pix_fmt``."""

    codec: str = "libx264"
    pix_fmt: str = "yuv420p"
    depth: int = 8
    rate: Fraction = Fraction(25)
    tags: dict[str, str] = field(default_factory=dict)
    stream_tags: dict[str, str] = field(default_factory=dict)
    options: dict[str, str] = field(default_factory=dict)
    container: dict[str, str] = field(default_factory=dict)
    rotation: int | None = None
    aspect: Fraction | None = None
    sound: bool = False
    full_range: bool = False


PRORES = Recipe("prores_ks", "yuv422p10le", 10)
DNXHR = Recipe("dnxhd", "yuv422p", options={"profile": "dnxhr_lb"})
SHORT_GOP = Recipe(options={"g": "12"})


def numbered(number: int, size: tuple[int, int] = (320, 180)) -> NDArray[np.uint8]:
    """Limited-range luma of frame ``number`` (0..255): its blocks over a ramp that moves."""
    width, height = size
    x, y = np.meshgrid(np.arange(width), np.arange(height))
    luma = 60 + (x + 3 * y + 5 * number) % 320 * 0.4
    for bit in range(8):
        left, right = bit * width // 8, (bit + 1) * width // 8
        luma[: height // 4, left:right] = BRIGHT if number >> bit & 1 else DARK
    return luma.astype(np.uint8)


def luma_of(frame: av.VideoFrame) -> NDArray[np.uint8]:
    """The luma of a frame of 8-bit planes as it is stored, shape (height, width)."""
    plane = frame.planes[0]
    stored = np.frombuffer(plane, np.uint8).reshape(plane.height, plane.line_size)
    return stored[:, : plane.width]


def number_in(luma: NDArray[np.uint8]) -> int:
    """Number that the blocks of an upright picture show, at any size."""
    height, width = luma.shape
    row = luma[height // 8]
    bits = [row[(2 * bit + 1) * width // 16] > (DARK + BRIGHT) // 2 for bit in range(8)]
    return sum(1 << bit for bit in range(8) if bits[bit])


def write_clip(
    path: Path, recipe: Recipe = Recipe(), *, frames: int = 12, size: tuple[int, int] = (320, 180)
) -> Path:
    """A clip of numbered frames."""
    return write_planes(path, [numbered(n, size) for n in range(frames)], recipe)


def write_planes(
    path: Path,
    planes: Iterable[LumaPlane],
    recipe: Recipe = Recipe(),
    *,
    stamps: Sequence[int] | None = None,
    tick: Fraction | None = None,
) -> Path:
    """A clip with 8-bit luma ``planes``, shown at ``stamps`` (in ticks) or evenly."""
    some = iter(planes)
    first = next(some)
    numbers = count() if stamps is None else stamps
    with av.open(str(path), "w", options=recipe.container) as container:
        container.metadata.update(recipe.tags)
        stream = container.add_stream(recipe.codec, rate=recipe.rate, options=recipe.options)
        stream.height, stream.width = first.shape
        stream.pix_fmt = recipe.pix_fmt
        stream.metadata.update(recipe.stream_tags)
        if recipe.aspect is not None:
            stream.codec_context.sample_aspect_ratio = recipe.aspect
        if recipe.rotation is not None:
            stream.set_display_rotation(recipe.rotation)
        if recipe.full_range:
            stream.color_range = 2
        stream.codec_context.time_base = tick or 1 / recipe.rate
        sound = container.add_stream("pcm_s16le", rate=48000) if recipe.sound else None
        for stamp, plane in zip(numbers, chain([first], some), strict=stamps is not None):
            frame = grey_frame(plane, recipe)
            frame.pts, frame.time_base = stamp, tick or 1 / recipe.rate
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
        if sound is not None:
            container.mux([*sound.encode(_silence()), *sound.encode(None)])
    return path


def grey_frame(plane: LumaPlane, recipe: Recipe) -> av.VideoFrame:
    """A frame with 8-bit luma ``plane`` in ``recipe``'s layout, without colour."""
    height, width = plane.shape
    frame = av.VideoFrame(width, height, recipe.pix_fmt)
    if len(frame.planes) == 1 and not recipe.pix_fmt.startswith("gray"):
        rgb = np.repeat(plane.astype(np.uint8)[:, :, None], 3, axis=2)
        return av.VideoFrame.from_ndarray(rgb, format="rgb24").reformat(format=recipe.pix_fmt)
    kind = np.uint8 if recipe.depth == 8 else np.uint16
    for at, stored in enumerate(frame.planes):
        samples = np.full(stored.buffer_size // kind().itemsize, 1 << (recipe.depth - 1), kind)
        if at == 0:
            rows = samples.reshape(-1, stored.line_size // kind().itemsize)
            rows[:height, :width] = plane.astype(kind) << (recipe.depth - 8)
        stored.update(samples.tobytes())
    if recipe.full_range:
        frame.color_range = 2
    return frame


def wiped(path: Path, first: int, stop: int) -> Path:
    """The clip with its packets from ``first`` up to ``stop`` made zeros."""
    with av.open(str(path)) as container:
        packets = [(p.pos, p.size) for p in container.demux(video=0) if p.pos is not None]
    data = bytearray(path.read_bytes())
    for position, size in packets[first:stop]:
        data[position : position + size] = bytes(size)
    path.write_bytes(data)
    return path


def write_sound(path: Path, *, cover: bool = False) -> Path:
    """A tenth of a second of silence, with a cover picture if asked for."""
    with av.open(str(path), "w", format="mp4") as container:
        sound = container.add_stream("aac", rate=48000)
        if cover:
            picture = container.add_stream("png", rate=1)
            picture.width, picture.height, picture.pix_fmt = 64, 64, "rgb24"
            picture.disposition = Disposition.attached_pic
        silence = av.AudioFrame.from_ndarray(np.zeros((1, 4800), np.float32), "fltp", "mono")
        silence.sample_rate = 48000
        container.mux([*sound.encode(silence), *sound.encode(None)])
        if cover:
            frame = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), "rgb24")
            frame.pts = 0
            container.mux([*picture.encode(frame), *picture.encode(None)])
    return path


def write_two_sizes(path: Path, sizes: Iterable[tuple[int, int]], frames_each: int = 4) -> Path:
    """One Motion-JPEG stream whose pictures change size part of the way."""
    tick, number = Fraction(1, 25), 0
    sizes = list(sizes)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mjpeg", rate=25)
        (stream.width, stream.height), stream.pix_fmt = sizes[0], "yuvj420p"
        for width, height in sizes:
            encoder = av.CodecContext.create("mjpeg", "w")
            encoder.width, encoder.height, encoder.pix_fmt = width, height, "yuvj420p"
            encoder.time_base = tick
            for _ in range(frames_each):
                frame = grey_frame(numbered(number, (width, height)), Recipe(pix_fmt="yuvj420p"))
                frame.pts, frame.time_base = number, tick
                for packet in encoder.encode(frame):
                    packet.stream = stream
                    container.mux(packet)
                number += 1
    return path


def count_pairs(path: Path) -> Path:
    """Let the timecode track of a written MOV count one timecode frame for two pictures.

    Doubles the frame duration and halves the frames a second in the track's sample description
    (QuickTime File Format, "Timecode sample description").
    """
    data = bytearray(path.read_bytes())
    at = data.index(b"tmcd" + bytes(6) + (1).to_bytes(2))
    duration = int.from_bytes(data[at + 24 : at + 28])
    data[at + 24 : at + 28] = (2 * duration).to_bytes(4)
    data[at + 28] //= 2
    path.write_bytes(data)
    return path


def _silence() -> av.AudioFrame:
    frame = av.AudioFrame.from_ndarray(np.zeros((1, 4800), np.int16), "s16", "mono")
    frame.sample_rate = 48000
    return frame
