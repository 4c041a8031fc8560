"""From skeleton to something to look at: rounded, clothed parts, each a picture to be lit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .figure import Build, Joint
from .spec import Look
from .textures import Picture, cloth, face, jacket_front

MARGIN = 2
"""Empty pixels around a part's picture."""


@dataclass(frozen=True)
class Part:
    """A rounded length of body from one joint toward another.

    Parameters
    ----------
    start, end : Joint
    radii : tuple of float
        Half widths at both ends, metres.
    trims : tuple of float
        Metres by which the rounded ends' centres lie inside the joints (negative: beyond).
    texture : float32, shape (n, n, 3)
        Axis 0 along the part, axis 1 once around it.
    depth : float
        Thickness front to back as a share of the width.
    front : {"", "chest", "face"}
        What the middle of the texture faces; nothing for parts that look alike all around.
    nearer : float
        Metres by which the part is drawn as if nearer, to settle who covers whom.
    """

    start: Joint
    end: Joint
    radii: tuple[float, float]
    trims: tuple[float, float]
    texture: Picture
    depth: float = 1.0
    front: str = ""
    nearer: float = 0.0


@dataclass(frozen=True)
class Sprite:
    """A part at the size of the picture.

    Parameters
    ----------
    part : Part
    scale : float
        Pixels per metre.
    colour : float32, shape (h, w, 3)
        The side that faces the camera, unlit; for a part with a front, when the front does.
    cover : float32, shape (h, w)
        0 outside, 1 inside, between on the edge.
    normal : float32, shape (3, h, w)
        Across the part, along it, toward the camera.
    around, along : float32, shape (h, w)
        Texture pixel shown when the front faces the camera.
    """

    part: Part
    scale: float
    colour: Picture
    cover: Picture
    normal: Picture
    around: Picture
    along: Picture


def parts_of(look: Look, build: Build, seed: int) -> list[Part]:
    """All parts of one figure."""
    rng = np.random.default_rng(seed)
    girth = look.girth * look.height / 1.78
    jacket = cloth(rng, look.jacket, look.pattern)
    trousers = cloth(rng, look.trousers, "plain")
    boots = cloth(rng, (0.035, 0.03, 0.027), "plain")
    skin = cloth(rng, look.skin, "plain") * 0.35 + np.array(look.skin, np.float32) * 0.65
    front = jacket_front(jacket, (0.45, 0.43, 0.40))
    head = face(rng, look.skin, look.headwear)
    parts = [
        _part("PELVIS", "WAIST", 0.150, 0.140, (-0.02, 0.0), trousers, girth, 0.75, "chest"),
        _part("PELVIS", "NECK", 0.148, 0.172, (0.10, 0.15), front, girth, 0.68, "chest"),
        _part("SHOULDER_L", "SHOULDER_R", 0.074, 0.074, (0.03, 0.03), jacket, girth, nearer=-0.02),
        _part("NECK", "CHIN", 0.055, 0.052, (-0.02, -0.03), skin, girth),
        _part("CHIN", "CROWN", 0.072, 0.088, (0.062, 0.080), head, girth**0.5, 1.15, "face"),
    ]
    for side in "LR":
        parts += _arm(side, jacket, skin, girth, sum(build.arm[1:]))
        parts += _leg(side, trousers, boots, girth)
    return parts


def _arm(side: str, jacket: Picture, skin: Picture, girth: float, fore: float) -> list[Part]:
    shoulder, elbow, hand = (f"{name}_{side}" for name in ("SHOULDER", "ELBOW", "HAND"))
    return [
        _part(shoulder, elbow, 0.074, 0.056, (0.0, 0.0), jacket, girth, nearer=0.04),
        _part(elbow, hand, 0.056, 0.043, (0.0, 0.075), jacket, girth, nearer=0.05),
        _part(elbow, hand, 0.042, 0.050, (fore - 0.04, -0.01), skin, girth, nearer=0.045),
    ]


def _leg(side: str, trousers: Picture, boots: Picture, girth: float) -> list[Part]:
    hip, knee, ankle, toe = (f"{name}_{side}" for name in ("HIP", "KNEE", "ANKLE", "TOE"))
    return [
        _part(hip, knee, 0.100, 0.070, (0.0, 0.0), trousers, girth),
        _part(knee, ankle, 0.070, 0.054, (0.0, 0.02), trousers, girth),
        _part(ankle, toe, 0.054, 0.044, (-0.01, 0.02), boots, girth, nearer=-0.01),
    ]


def _part(
    start: str,
    end: str,
    first: float,
    second: float,
    trims: tuple[float, float],
    texture: Picture,
    girth: float,
    depth: float = 1.0,
    front: str = "",
    nearer: float = 0.0,
) -> Part:
    radii = (first * girth, second * girth)
    return Part(Joint[start], Joint[end], radii, trims, texture, depth, front, nearer)


def sprite(part: Part, length: float, scale: float) -> Sprite:
    """The part's picture for a distance of ``length`` metres between its joints."""
    body = max(length - sum(part.trims), 0.01) * scale
    first, second = (radius * scale for radius in part.radii)
    wide, high = 2 * max(first, second) + 2 * MARGIN, body + first + second + 2 * MARGIN
    y, x = np.mgrid[0 : int(np.ceil(high)), 0 : int(np.ceil(wide))].astype(np.float32) + 0.5
    x, y = x - np.float32(wide / 2), y - np.float32(first + MARGIN)
    share = np.clip(y / body, 0, 1)
    radius = first + (second - first) * share
    across, along = x / radius, (y - share * body) / radius
    out = np.sqrt(across**2 + along**2)
    cover = np.clip((1 - out) * radius + 0.5, 0, 1)
    inside = np.maximum(out, 1.0)
    across, along = across / inside, along / inside
    toward = np.sqrt(np.clip(1 - across**2 - along**2, 0, 1))
    texels = part.texture.shape[0]
    around = (np.arcsin(np.clip(across, -1, 1)) / (2 * np.pi) + 0.5) * (texels - 1)
    rows = np.clip((y + first) / (body + first + second), 0, 1) * (texels - 1)
    colour = part.texture[rows.astype(int), around.astype(int)]
    return Sprite(
        part,
        scale,
        colour.astype(np.float32),
        cover.astype(np.float32),
        np.stack([across, along, toward]).astype(np.float32),
        around.astype(np.float32),
        rows.astype(np.float32),
    )
