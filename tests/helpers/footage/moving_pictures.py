"""Pictures that move by known amounts, for the flow and camera tests."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage import data

Grey = NDArray[np.uint8]


def texture(width: int = 320, height: int = 180) -> Grey:
    """A wall of stones with blotches, larger than asked for so that it can be moved about."""
    wall = cv2.GaussianBlur(data.gravel(), (0, 0), 1.5)
    return np.ascontiguousarray(wall[:height, :width])


def moved(
    picture: Grey, right: float = 0, down: float = 0, turn: float = 0, zoom: float = 1
) -> Grey:
    """``picture`` moved (pixels), turned (radians, clockwise on the screen) and zoomed."""
    height, width = picture.shape
    cos, sin = zoom * math.cos(turn), zoom * math.sin(turn)
    centre = np.array([width / 2, height / 2]) - 0.5
    matrix = np.array([[cos, -sin, 0.0], [sin, cos, 0.0]])
    matrix[:, 2] = centre - matrix[:, :2] @ centre + [right, down]
    return cv2.warpAffine(
        picture, matrix, (width, height), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT
    )
