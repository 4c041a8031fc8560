"""Grey figures of people, drawn limb by limb, far ones first: clothes with folds, skin, hair."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]
Rng = np.random.Generator

TOP, SLEEVE, TROUSERS, SHIN, SKIN, HAIR, SHOE = range(7)
LIMBS: Final[tuple[tuple[str, str, float, float, int], ...]] = tuple(
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
HANDS_NEARER: Final = 0.06
"""Metres by which a hand counts as nearer than it is: it lies over the end of its sleeve."""
SMALLEST: Final = 0.6
"""Radius of a fold that is drawn, pixels."""
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


@dataclass(frozen=True, eq=False)
class Thing:
    """A thing that somebody acts on or with.

    Parameters
    ----------
    form : {"ball", "rod", "block"}
    points : float64, shape (instants, points, 3)
        Metres. Of a ball its middle and a place on its skin; of a rod its ends; of a block its
        four upper corners, in order around, and the lower ones under them.
    radii : tuple of float
        At the first and at the last point, metres; not used for a block.
    folds : float64, shape (folds, 4)
        Patches on it, as a `Figure` has them; not used for a block.
    behind : float
        Metres by which it counts as further off than it is.
    """

    form: str
    points: Floats
    radii: tuple[float, float]
    grey: float
    folds: Floats
    behind: float = 0.0


FACES: Final = ((4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7), (0, 1, 2, 3))
"""Corners of a block's sides: the lower one, those around, the upper one."""
SHADES: Final = (0.4, 0.6, 0.75, 0.6, 0.75, 1.0)


@dataclass(frozen=True, eq=False)
class _Part:
    """One part on the picture: how far; outlines and their greys, in order; its folds' place."""

    far: float
    shapes: tuple[tuple[Floats, float], ...]
    folds: Floats
    ends: tuple[Floats, Floats]
    wide: float
    grey: float


def draw(
    canvas: Pixels,
    figure: Figure,
    joints: Floats,
    k: Callable[[str], int],
    camera: Any,
    turn: Any,
    things: Sequence[tuple[Thing, Floats]] = (),
) -> None:
    """Draw somebody (joints, 3) onto a picture, among the things he or she has to do with.

    Parameters
    ----------
    canvas : uint8, shape (h, w)
        Changed.
    joints : float64, shape (joints, 3)
        Metres.
    k : function
        Row of a joint.
    turn : float64, shape (3, 3)
        Of the camera.
    things : sequence of (Thing, float64 (points, 3))
        Each with its points now.
    """
    spots, far = camera.project(joints, turn)
    size = camera.f / np.maximum(far, 0.2) * figure.girth
    parts = _limbs(figure, spots, far, size, k)
    parts += [_trunk(figure, spots, far, size, k), _head(figure, joints, k, camera, turn)]
    parts += [_thing(thing, points, camera, turn) for thing, points in things]
    for part in sorted(parts, key=lambda one: -one.far):
        for outline, grey in part.shapes:
            points = np.round(outline * (1 << SHIFT)).astype(np.int32)
            cv2.fillConvexPoly(canvas, points, min(grey, 255.0), cv2.LINE_AA, SHIFT)
        _fold(canvas, part)


def _limbs(
    figure: Figure, spots: Floats, far: Floats, size: Floats, k: Callable[[str], int]
) -> list[_Part]:
    starts, ends = [k(limb[0]) for limb in LIMBS], [k(limb[1]) for limb in LIMBS]
    radii = np.array([limb[2:4] for limb in LIMBS])
    first, last = spots[starts], spots[ends]
    wide = np.stack([radii[:, 0] * size[starts], radii[:, 1] * size[ends]], 1)
    edge, lit = (_tubes(first, last, wide * share) for share in (1.0, LIT))
    lit[..., 1] -= (HIGHER * wide.mean(axis=1))[:, None]
    parts = []
    for row, limb in enumerate(LIMBS):
        grey = float(figure.greys[limb[4]])
        shapes = ((edge[row], grey * EDGE), (lit[row], grey))
        away = float(far[starts[row]] + far[ends[row]]) / 2 - HANDS_NEARER * (limb[4] == SKIN)
        line = (first[row], last[row])
        parts.append(_Part(away, shapes, figure.folds[row], line, float(wide[row].mean()), grey))
    return parts


def _trunk(
    figure: Figure, spots: Floats, far: Floats, size: Floats, k: Callable[[str], int]
) -> _Part:
    corners = [(k(f"{side}_{name}"), thick) for side in "lr" for name, thick in TRUNK]
    balls = [(spots[row], thick * float(size[row])) for row, thick in corners]
    thick = float(np.mean([radius for _, radius in balls]))
    grey = float(figure.greys[TOP])
    lit = _hull(balls, LIT) - np.array([0, HIGHER * thick])
    middles = [(balls[at][0] + balls[at + 2][0]) / 2 for at in (0, 1)]
    away = float(far[k("chest")] + far[k("hips")]) / 2
    shapes = ((_hull(balls, 1.0), grey * EDGE), (lit, grey))
    return _Part(away, shapes, figure.folds[-1], (middles[0], middles[1]), 1.4 * thick, grey)


def _head(figure: Figure, joints: Floats, k: Callable[[str], int], camera: Any, turn: Any) -> _Part:
    row = k("head")
    above = np.array([[0, high, 0] for high, _ in HEAD])
    middles, far = camera.project(np.concatenate([joints[row] + above, joints[[k("neck")]]]), turn)
    scale = camera.f / max(float(far[0]), 0.2)
    balls = [(middles[ball], HEAD[ball][1] * scale) for ball in (0, 1)]
    neck = [(middles[2], 0.055 * scale), (middles[0], 0.05 * scale)]
    face = [balls[0], (middles[:2].mean(axis=0), 0.07 * scale)]
    skin, hair = float(figure.greys[SKIN]), float(figure.greys[HAIR])
    shapes = ((_hull(neck, 1.0), skin * EDGE), (_hull(balls, 1.0), hair), (_hull(face, 0.8), skin))
    return _Part(float(far[0]), shapes, figure.folds[-1][:0], (middles[0], middles[1]), 0.0, skin)


def _thing(thing: Thing, points: Floats, camera: Any, turn: Any) -> _Part:
    spots, far = camera.project(points, turn)
    away, grey = float(far.mean()) + thing.behind, thing.grey
    if thing.form == "block":
        order = sorted(range(6), key=lambda face: -float(far[list(FACES[face])].mean()))
        shapes = tuple((spots[list(FACES[face])], grey * SHADES[face]) for face in order)
        return _Part(away, shapes, thing.folds[:0], (spots[0], spots[2]), 0.0, grey)
    first, last = (spots[0], spots[0]) if thing.form == "ball" else (spots[0], spots[1])
    wide = np.array(thing.radii) * camera.f / np.maximum(far[[0, -1]], 0.2)
    edge, lit = (_tubes(first[None], last[None], wide[None] * share)[0] for share in (1.0, LIT))
    shapes = ((edge, grey * EDGE), (lit - [0, HIGHER * float(wide.mean())], grey))
    ends = (2 * spots[0] - spots[1], spots[1]) if thing.form == "ball" else (first, last)
    return _Part(away, shapes, thing.folds, ends, float(wide.mean()), grey)


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


def _fold(canvas: Pixels, part: _Part) -> None:
    way = part.ends[1] - part.ends[0]
    across = np.array([-way[1], way[0]]) / max(float(np.linalg.norm(way)), 1e-6)
    for along, aside, radius, tone in part.folds:
        if radius * part.wide < SMALLEST:
            continue
        spot = part.ends[0] + way * along + across * aside * part.wide
        x, y, wide = (round(float(length) * (1 << SHIFT)) for length in (*spot, radius * part.wide))
        grey = min(part.grey * float(tone), 255.0)
        cv2.circle(canvas, (x, y), wide, grey, -1, cv2.LINE_AA, SHIFT)
