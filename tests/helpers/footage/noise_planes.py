"""Planes for the spotter that show nothing."""

from __future__ import annotations

import cv2
import numpy as np

from impactcut.core.detect.planes import COLUMNS, PLANES, ROWS, GreyArray


def some_planes(count: int, seed: int = 0) -> GreyArray:
    """Planes of noise that drifts, so that frames have something to do with their neighbours."""
    rng = np.random.default_rng(seed)
    noise = rng.normal(0, 40, (count + 4, PLANES, ROWS // 8, COLUMNS // 8)).astype(np.float32)
    slow = np.stack([noise[k : k + count] for k in range(4)]).mean(0)
    large = [
        [cv2.resize(plane, (COLUMNS, ROWS), interpolation=cv2.INTER_CUBIC) for plane in frame]
        for frame in slow
    ]
    planes = np.array(large, np.float32) + np.array([110, 20, 128, 128]).reshape(1, -1, 1, 1)
    return planes.clip(0, 255).astype(np.uint8)
