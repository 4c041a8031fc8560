"""A run of pictures as packets of VP9, each built on the one before: a third of single pictures.

VP9 is decoded by every browser that has WebCodecs, and its encoder comes with PyAV.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

import av
import numpy as np
from av.video.codeccontext import VideoCodecContext
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace, VideoReformatter

from impactcut.errors import OutputError
from impactcut.media.render.pictures import Picture

CODEC: Final = "vp09.00.40.08"
"""Profile 0, level 4, 8 bits, as WebCodecs names it; colours are those of ITU-R BT.709."""
_ENCODER: Final = "libvpx-vp9"
_THREADS: Final = 2
_OPTIONS: Final = {
    "b": "0", "deadline": "realtime", "cpu-used": "7", "lag-in-frames": "0", "row-mt": "1",
}  # fmt: skip


def encode_film(pictures: Sequence[Picture], coarseness: int) -> tuple[bytes, ...]:
    """One packet for each picture; all of them are needed for the last.

    Parameters
    ----------
    pictures : sequence of Picture
        Of one size.
    coarseness : int
        0..63, the encoder's ``crf``.

    Raises
    ------
    OutputError
        If this installation of PyAV has no VP9 encoder.
    """
    if _ENCODER not in av.codecs_available:
        raise OutputError(
            "this installation of PyAV cannot encode VP9; install PyAV from its binary wheels"
        )
    height, width = pictures[0].pixels.shape[:2]
    encoder = _encoder(width // 2 * 2, height // 2 * 2, coarseness)
    scaler = VideoReformatter()
    packets = []
    for number, picture in enumerate(pictures):
        pixels = np.ascontiguousarray(picture.pixels[: encoder.height, : encoder.width])
        frame = scaler.reformat(
            VideoFrame.from_ndarray(pixels, format="bgr24"),
            format="yuv420p",
            dst_colorspace=Colorspace.ITU709,
            dst_color_range=ColorRange.MPEG,
        )
        frame.pts = number
        packets += encoder.encode(frame)
    return tuple(bytes(packet) for packet in [*packets, *encoder.encode(None)])


def _encoder(width: int, height: int, coarseness: int) -> VideoCodecContext:
    encoder = av.CodecContext.create(_ENCODER, "w")
    assert isinstance(encoder, VideoCodecContext)
    encoder.width, encoder.height, encoder.pix_fmt = width, height, "yuv420p"
    encoder.time_base, encoder.thread_count = Fraction(1, 25), _THREADS
    encoder.options = {"crf": str(coarseness), **_OPTIONS}
    return encoder
