"""Versions of the libraries that measurements rest on, to the byte."""

from __future__ import annotations

from importlib.metadata import version

import av
import cv2
import numpy as np
import scipy


def library_versions() -> dict[str, str]:
    """Version of each library that decodes or computes, by the name people know it by."""
    codecs = ".".join(str(part) for part in av.library_versions["libavcodec"])
    return {
        "PyAV": av.__version__,
        "FFmpeg's libavcodec": codecs,
        "OpenCV": cv2.__version__,
        "NumPy": np.__version__,
        "SciPy": scipy.__version__,
        "scikit-image": version("scikit-image"),
    }
