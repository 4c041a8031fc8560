"""What the camera does around a hit, in a word."""

from __future__ import annotations

from typing import Final

import numpy as np

from impactcut.core.detect.hits import CameraWord
from impactcut.core.detect.window import window_of
from impactcut.core.motion.cells import MotionCells

PAN: Final = 0.06
SHAKE: Final = 0.0012
ZOOM: Final = 0.06
"""Camera speed (widths/s), shake (rms second difference, widths) and zoom (per second) from which
a camera counts as panning, handheld, zooming; engineering choices."""


def camera_word(cells: MotionCells, contact: int) -> CameraWord:
    """What the camera does around frame ``contact``."""
    window = window_of(cells, contact)
    if window.intervals == 0:
        return "locked"
    per_second = window.camera / window.seconds[:, None]
    if abs(float(np.median(per_second[:, 3]))) > ZOOM:
        return "zooming"
    drift = float(np.linalg.norm(np.median(per_second[:, :2], axis=0)))
    jitter = np.diff(window.camera[:, :2], n=2, axis=0)
    shake = float(np.sqrt((jitter**2).sum(axis=1).mean())) if len(jitter) else 0.0
    if drift > PAN:
        return "panning"
    return "handheld" if shake > SHAKE or drift > PAN / 4 else "locked"
