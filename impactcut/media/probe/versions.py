"""Versions of the libraries that measurements rest on, to the byte."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version

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
        "ONNX Runtime": _onnx_runtime(),
    }


def _onnx_runtime() -> str:
    try:
        return version("onnxruntime")
    except PackageNotFoundError:
        return "none"  # OpenCV stands in for it
