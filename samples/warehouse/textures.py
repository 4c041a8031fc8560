"""Surfaces made of noise: brick, planks, paving, concrete, crates, cloth, faces.

Every texture is a linear colour picture, float32, shape (n, n, 3), that tiles.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.float32]
Colour = tuple[float, float, float]
SIZE = 512


def cloud(rng: np.random.Generator, size: int = SIZE, first: int = 4, fade: float = 0.6) -> Picture:
    """Tiling noise of several octaves, mean 0, standard deviation 1."""
    total = np.zeros((size, size), np.float32)
    cells, weight = first, 1.0
    while cells <= size:
        grid = rng.normal(0, 1, (cells, cells)).astype(np.float32)
        tiled = np.pad(grid, 2, mode="wrap")
        scale = size / cells
        large = cv2.resize(tiled, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
        edge = round(2 * scale)
        total += weight * large[edge : edge + size, edge : edge + size]
        cells, weight = cells * 2, weight * fade
    return np.asarray((total - total.mean()) / total.std(), np.float32)


def tinted(value: Picture, colour: Colour) -> Picture:
    """A grey picture times a colour."""
    return np.asarray(value[..., None] * np.array(colour, np.float32), np.float32)


def _blocks(
    rng: np.random.Generator, rows: int, columns: int, joint: float, spread: float
) -> tuple[Picture, Picture]:
    """Courses of blocks with staggered joints: brightness of each block, and 1 on the joints."""
    y, x = np.mgrid[0:SIZE, 0:SIZE].astype(np.float32) / SIZE
    row = np.floor(y * rows).astype(int)
    along = x * columns + 0.5 * (row % 2)
    column = np.floor(along).astype(int) % columns
    shade = 1 + spread * rng.normal(0, 1, (rows, columns)).astype(np.float32)
    edge_y = np.abs((y * rows) % 1 - 0.5) * SIZE / rows
    edge_x = np.abs(along % 1 - 0.5) * SIZE / columns
    inside = np.minimum(SIZE / rows / 2 - edge_y, SIZE / columns / 2 - edge_x)
    return shade[row, column], np.clip(1 - inside / joint, 0, 1)


def brick(rng: np.random.Generator) -> Picture:
    """Old brick, 2 m to a tile."""
    shade, joint = _blocks(rng, 24, 8, 3.0, 0.22)
    grime = 1 + 0.16 * cloud(rng) + 0.10 * cloud(rng, first=64)
    colour = tinted(shade * (1 - joint), (0.34, 0.17, 0.12)) + tinted(joint, (0.20, 0.18, 0.17))
    return np.asarray(np.clip(colour * grime[..., None], 0.01, 1), np.float32)


def planks(
    rng: np.random.Generator, boards: int = 10, colour: Colour = (0.30, 0.21, 0.13)
) -> Picture:
    """Upright boards with grain."""
    shade, joint = _blocks(rng, 1, boards, 2.5, 0.18)
    grain = cv2.resize(cloud(rng, first=32)[:64], (SIZE, SIZE), interpolation=cv2.INTER_CUBIC)
    value = shade * (1 + 0.20 * grain + 0.10 * cloud(rng)) * (1 - 0.8 * joint)
    return tinted(np.clip(value, 0.05, 2), colour)


def paving(rng: np.random.Generator) -> Picture:
    """Setts of a quay, worn."""
    shade, joint = _blocks(rng, 14, 10, 5.0, 0.20)
    value = shade * (1 + 0.18 * cloud(rng) + 0.10 * cloud(rng, first=64)) * (1 - 0.65 * joint)
    return tinted(np.clip(value, 0.04, 2), (0.20, 0.20, 0.21))


def concrete(rng: np.random.Generator) -> Picture:
    """A stained floor."""
    value = 1 + 0.20 * cloud(rng, first=3) + 0.12 * cloud(rng, first=48)
    return tinted(np.clip(value, 0.2, 2), (0.23, 0.22, 0.20))


def crate(rng: np.random.Generator) -> Picture:
    """One side of a wooden crate: boards, a frame, a brace across."""
    face = planks(rng, 6, (0.42, 0.29, 0.16))
    y, x = np.mgrid[0:SIZE, 0:SIZE].astype(np.float32) / SIZE
    border = np.minimum(np.minimum(x, 1 - x), np.minimum(y, 1 - y))
    brace = np.abs(x - y) / 1.41
    raised = (border < 0.11) | (brace < 0.055)
    edge = (np.abs(border - 0.11) < 0.008) | (np.abs(brace - 0.055) < 0.008)
    lath = cv2.rotate(planks(rng, 5, (0.50, 0.36, 0.21)), cv2.ROTATE_90_CLOCKWISE)
    face = np.where(raised[..., None], lath, face)
    return np.asarray(np.where(edge[..., None], face * 0.3, face), np.float32)


def metal(rng: np.random.Generator) -> Picture:
    """Ribbed, painted sheet with rust."""
    x = np.arange(SIZE, dtype=np.float32) / SIZE
    ribs = 1 + 0.35 * np.sin(2 * np.pi * 12 * x)
    rust = np.clip(cloud(rng) - 0.6, 0, 1)[..., None]
    paint = tinted(np.tile(ribs, (SIZE, 1)).astype(np.float32), (0.08, 0.15, 0.17))
    return np.asarray(
        paint * (1 - rust) + rust * np.array((0.25, 0.11, 0.05), np.float32), np.float32
    )


def water(rng: np.random.Generator) -> Picture:
    """Dark water with ripples."""
    ripple = cv2.resize(cloud(rng, first=16)[:128], (SIZE, SIZE), interpolation=cv2.INTER_CUBIC)
    return tinted(np.clip(0.5 + 0.25 * ripple, 0.05, 2).astype(np.float32), (0.030, 0.045, 0.060))


def cloth(rng: np.random.Generator, colour: Colour, pattern: str) -> Picture:
    """Cloth around a limb: axis 0 along it, axis 1 once around; folds, weave and a pattern."""
    size = 256
    y, x = np.mgrid[0:size, 0:size].astype(np.float32) / size
    folds = cv2.resize(cloud(rng, size, first=8)[:, :64], (size, size))
    value = 1 + 0.16 * folds + 0.14 * cloud(rng, size, first=16) + 0.10 * cloud(rng, size, first=64)
    if pattern == "stripes":
        value *= np.where((y * 7) % 1 < 0.5, 1.0, 2.6)
    elif pattern == "checks":
        value *= np.where((y * 6) % 1 < 0.45, 1.0, 1.8) * np.where((x * 12) % 1 < 0.45, 1.0, 1.6)
    elif pattern == "patches":
        value *= np.where(cloud(rng, size, first=6) > 0.7, 1.9, 1.0)
    return tinted(np.clip(value, 0.1, 4).astype(np.float32), colour)


def jacket_front(texture: Picture, colour: Colour) -> Picture:
    """A trunk's cloth with an opening down the front (the middle of axis 1) and pockets."""
    size = texture.shape[0]
    y, x = np.mgrid[0:size, 0:size].astype(np.float32) / size
    opening = np.abs(x - 0.5) < 0.035
    seam = np.abs(np.abs(x - 0.5) - 0.045) < 0.008
    pocket = (np.abs(np.abs(x - 0.5) - 0.13) < 0.05) & (np.abs(y - 0.30) < 0.012)
    shirt = np.array(colour, np.float32)
    front = np.where(opening[..., None], shirt, texture)
    return np.asarray(np.where((seam | pocket)[..., None], front * 0.45, front), np.float32)


def face(rng: np.random.Generator, skin: Colour, headwear: str) -> Picture:
    """A head unrolled: chin at the top row, crown at the last, face in the middle of axis 1."""
    size = 256
    y, x = np.mgrid[0:size, 0:size].astype(np.float32) / size
    aside = np.abs(x - 0.5)
    picture = tinted(1 + 0.06 * cloud(rng, size), skin)
    hair = np.array((0.05, 0.035, 0.025), np.float32) if headwear != "bald" else None
    if hair is not None:
        hairy = (y > 0.70 - 0.05 * np.cos(aside * 12)) | ((aside > 0.27) & (y > 0.30))
        hairy |= (aside > 0.20) & (y > 0.55)
        picture[hairy] = hair * (1 + 0.2 * cloud(rng, size)[hairy, None])
    for height, half, offset, thick, shade in (
        (0.53, 0.030, 0.065, 0.018, 0.25),  # eyes
        (0.60, 0.045, 0.065, 0.012, 0.35),  # brows
        (0.24, 0.055, 0.0, 0.012, 0.45),  # mouth
    ):
        mark = (np.abs(aside - offset) < half) & (np.abs(y - height) < thick)
        picture[mark] *= shade
    picture[(aside < 0.016) & (np.abs(y - 0.42) < 0.10)] *= 1.25
    ear = ((aside - 0.26) / 0.028) ** 2 + ((y - 0.46) / 0.10) ** 2 < 1
    picture[ear] = np.array(skin) * 1.1
    if headwear == "cap":
        picture[y > 0.63] = (0.06, 0.07, 0.09)
        picture[(y > 0.63) & (y < 0.70)] = (0.09, 0.10, 0.12)
    return np.asarray(picture, np.float32)
