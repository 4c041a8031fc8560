"""A file of a clip's pictures, with timecode and reel."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import av

from .film import Frame
from .spec import FightSpec

REPEATABLE = "mbtree=0"
"""With macroblock-tree rate control the encoder's bytes vary from run to run (measured)."""


def encode(path: Path, spec: FightSpec, pictures: Iterable[Frame]) -> None:
    """Write H.264 in a QuickTime file with a timecode track that carries the reel."""
    base = Fraction(1) / spec.rate
    with av.open(str(path), "w", format="mov") as container:
        container.metadata["timecode"] = spec.start_timecode
        options = {"crf": "20", "preset": "veryfast", "threads": "1", "x264-params": REPEATABLE}
        stream = container.add_stream("libx264", rate=spec.rate, options=options)
        stream.width, stream.height, stream.pix_fmt = spec.width, spec.height, "yuv420p"
        stream.metadata["reel_name"] = spec.reel
        stream.time_base = stream.codec_context.time_base = base
        for number, picture in enumerate(pictures):
            frame = av.VideoFrame.from_ndarray(picture, format="bgr24")
            frame.pts, frame.time_base = number, base
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
