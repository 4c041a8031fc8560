"""Grey figures of people, drawn limb by limb, far ones first: clothes with folds, skin, hair."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]
Rng = np.random.Generator

TOP, SLEEVE, TROUSERS, SHIN, SKIN, HAIR, SHOE = range(7)
LIMBS: Final = tuple(
    (f"{side}_{start}", f"{side}_{end}", thick, thin, surface)
    for side in "lr"
    for start, end, thick, thin, surface in (
        ("hip", "knee", 0.085, 0.060, TROUSERS),
        ("knee", "ankle", 0.060, 0.042, SHIN),
        ("ankle", "toe", 0.045, 0.036, SHOE),
        ("shoulder", "elbow", 0.058, 0.045, TOP),
        ("elbow", "hand", 0.045, 0.033, SLEEVE),
        ("hand", "hand", 0.050, 0.050, SKIN),
    )
)
"""From joint to joint: radius at either end, metres, by eye; surface."""
TRUNK: Final = (("shoulder", 0.075), ("hip", 0.100))
"""Joints on both sides that span the trunk, and their radii, metres."""
HEAD: Final = ((0.02, 0.085), (0.13, 0.095))
"""Heights of two balls over the head's joint, and their radii, metres."""
ROUND: Final = np.linspace(-np.pi / 2, np.pi / 2, 7)
SHIFT: Final = 4
"""Binary places of a pixel that shapes are drawn with."""
EDGE, LIT, HIGHER = 0.55, 0.74, 0.13
"""Tone of a part's edge; share of its radius that is lit; how far up that lies, in radii."""


@dataclass(frozen=True, eq=False)
class Figure:
    """What somebody looks like.

    Parameters
    ----------
    greys : float64, shape (7,)
        Of top, sleeves, trousers, shins, skin, hair, shoes.
    girth : float
        1 is usual.
    folds : float64, shape (parts, folds, 4)
        On each part: where along and across it (shares), radius (share of the part's), tone.
    """

    greys: Floats
    girth: float
    folds: Floats


def some_figure(rng: Rng) -> Figure:
    """Somebody at random."""
    top, trousers, hair, shoe = (float(rng.uniform(low, 230)) for low in (20, 15, 10, 10))
    skin = float(rng.uniform(80, 215))
    sleeve = skin if rng.random() < 0.4 else top
    shin = skin if rng.random() < 0.12 else trousers
    greys = np.array([top, sleeve, trousers, shin, skin, hair, shoe])
    count, contrast = int(rng.integers(0, 6)), float(rng.uniform(0.05, 0.45))
    shape = (len(LIMBS) + 1, count)
    folds = np.stack(
        [
            rng.uniform(0.05, 0.95, shape),
            rng.uniform(-0.6, 0.6, shape),
            rng.uniform(0.12, 0.45, shape),
            np.clip(1 + rng.normal(0, contrast, shape), 0.2, 1.6),
        ],
        axis=-1,
    )
    return Figure(greys, float(rng.uniform(0.75, 1.15)), folds)


def draw(
    canvas: Pixels, figure: Figure, joints: Floats, k: Callable[[str], int], camera: Any, turn: Any
) -> None:
    """Draw somebody (joints, 3) onto a picture.

    Parameters
    ----------
    canvas : uint8, shape (h, w)
        Changed.
    figure : Figure
    joints : float64, shape (joints, 3)
        Metres.
    k : function
        Row of a joint.
    camera : stage.Camera
    turn : float64, shape (3, 3)
        Of the camera.
    """
    spots, far = camera.project(joints, turn)
    size = camera.f / np.maximum(far, 0.2) * figure.girth
    starts, ends = ([k(limb[end]) for limb in LIMBS] for end in (0, 1))
    radii = np.array([limb[2:4] for limb in LIMBS])
    first, last = spots[starts], spots[ends]
    wide = np.stack([radii[:, 0] * size[starts], radii[:, 1] * size[ends]], 1)
    edge, lit = (_tubes(first, last, wide * share) for share in (1.0, LIT))
    lit[..., 1] -= (HIGHER * wide.mean(axis=1))[:, None]
    depth = (far[starts] + far[ends]) / 2
    painters: list[tuple[float, Callable[[], None]]] = [
        (-float(depth[part]), lambda part=part: _paint_limb(part)) for part in range(len(LIMBS))
    ]

    def _paint_limb(part: int) -> None:
        grey = float(figure.greys[LIMBS[part][4]])
        _fill(canvas, edge[part], grey * EDGE)
        _fill(canvas, lit[part], grey)
        ends = first[part], last[part]
        _fold(canvas, figure.folds[part], ends, float(wide[part].mean()), grey)

    def _paint_trunk() -> None:
        corners = [(k(f"{side}_{name}"), thick) for side in "lr" for name, thick in TRUNK]
        balls = [(spots[row], thick * size[row]) for row, thick in corners]
        thick = float(np.mean([radius for _, radius in balls]))
        grey = float(figure.greys[TOP])
        _fill(canvas, _hull(balls, 1.0), grey * EDGE)
        _fill(canvas, _hull(balls, LIT) - (0, HIGHER * thick), grey)
        middles = [(balls[at][0] + balls[at + 2][0]) / 2 for at in (0, 1)]
        _fold(canvas, figure.folds[-1], (middles[0], middles[1]), 1.4 * thick, grey)

    def _paint_head() -> None:
        row = k("head")
        above = np.array([[0, high, 0] for high, _ in HEAD])
        middles = camera.project(joints[row] + above, turn)[0]
        scale = float(size[row]) / figure.girth
        balls = [(spot, radius * scale) for spot, (_, radius) in zip(middles, HEAD, strict=True)]
        neck = [(spots[k("neck")], 0.055 * scale), (middles[0], 0.05 * scale)]
        skin, hair = float(figure.greys[SKIN]), float(figure.greys[HAIR])
        _fill(canvas, _hull(neck, 1.0), skin * EDGE)
        _fill(canvas, _hull(balls, 1.0), hair)
        _fill(canvas, _hull([balls[0], (middles.mean(axis=0), 0.07 * scale)], 0.8), skin)

    painters.append((-float((far[k("chest")] + far[k("hips")]) / 2), _paint_trunk))
    painters.append((-float(far[k("head")]), _paint_head))
    for _, paint in sorted(painters, key=lambda one: one[0]):
        paint()


def _tubes(first: Floats, last: Floats, wide: Floats) -> Floats:
    """Outlines of limbs with round ends, float64 (limbs, points, 2)."""
    way = last - first
    angle = np.arctan2(way[:, 1], way[:, 0])[:, None]
    out = np.stack([np.cos(angle + ROUND), np.sin(angle + ROUND)], axis=-1)
    near = first[:, None] - out * wide[:, :1, None]
    return np.concatenate([near, last[:, None] + out * wide[:, 1:, None]], axis=1)


def _hull(balls: list[tuple[Floats, float]], share: float) -> Floats:
    """The outline around some balls."""
    angle = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    rim = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    points = np.concatenate([spot + rim * radius * share for spot, radius in balls])
    hull = cv2.convexHull(points.astype(np.float32))
    return np.asarray(hull[:, 0], np.float64)


def _fill(canvas: Pixels, outline: Floats, grey: float) -> None:
    points = np.round(outline * (1 << SHIFT)).astype(np.int32)
    cv2.fillConvexPoly(canvas, points, min(grey, 255.0), cv2.LINE_AA, SHIFT)


def _fold(
    canvas: Pixels, folds: Floats, ends: tuple[Floats, Floats], wide: float, grey: float
) -> None:
    way = ends[1] - ends[0]
    across = np.array([-way[1], way[0]]) / max(float(np.linalg.norm(way)), 1e-6)
    for along, aside, radius, tone in folds:
        size = radius * wide
        if size < 0.6:
            continue
        spot = ends[0] + way * along + across * aside * wide
        x, y = (round(float(axis) * (1 << SHIFT)) for axis in spot)
        radius_shifted = round(float(size) * (1 << SHIFT))
        shade = min(grey * float(tone), 255.0)
        cv2.circle(canvas, (x, y), radius_shifted, shade, -1, cv2.LINE_AA, SHIFT)
