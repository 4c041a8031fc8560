"""An H.264 file of some pictures."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import av
import cv2
import numpy as np

from .film import Format
from .paint import Pixels


def write(path: Path, pictures: Iterable[Pixels], form: Format) -> int:
    """Write H.264; returns the number of frames."""
    base, number = 1 / form.rate, -1
    with av.open(str(path), "w") as container:
        # x264's macroblock tree gives other bytes from run to run, even on one thread
        options = {"crf": str(form.crf), "preset": "veryfast", "x264-params": "mbtree=0:threads=1"}
        stream = container.add_stream("libx264", rate=form.rate, options=options)
        stream.width, stream.height, stream.pix_fmt = form.width, form.height, "yuv420p"
        stream.codec_context.time_base = base
        for number, picture in enumerate(pictures):
            planes = np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2YUV_I420), np.uint8)
            frame = av.VideoFrame.from_ndarray(planes, format="yuv420p")
            frame.pts, frame.time_base = number, base
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return number + 1
