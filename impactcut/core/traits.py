"""Traits: the physics of an impulse as plain numbers, for the hit model to weigh.

What tells a hit from other movement: how abrupt the jump is against the movement around it; how
large and how united the region; the history of its speed along its own path (wind-up, approach,
stop or turn); what happens behind, beside and ahead of it at the same time (a striking limb comes
from behind a receiver, a receiver stands ahead of a fist); and what the camera and the rest of the
scene do meanwhile.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, FloatArray, IntArray
from impactcut.core.cells import MotionCells
from impactcut.core.company import company_traits
from impactcut.core.impulses import Impulse
from impactcut.core.own_path import own_paths
from impactcut.core.parties import party_names, party_traits
from impactcut.core.regions import Regions, regions_of

BEFORE: Final = 8
AFTER: Final = 8
"""Intervals before and after the jump that are looked at."""
_STEPS: Final = range(-6, 7)
_CLIP: Final = 3.0


def trait_names() -> tuple[str, ...]:
    """Names of the traits, in the order of `traits_of`."""
    names = ["strength", "jump", "area", "height", "width", "fill", "coherence"]
    names += ["sideways", "downward", "place_y", "off_centre"]
    names += [f"own_{step}" for step in _STEPS]
    names += [f"own_share_{step}" for step in _STEPS]
    names += [f"own_across_{step}" for step in range(-3, 3)]
    names += [f"own_change_{step}" for step in range(-2, 4)]
    names += ["abrupt", "abrupt_median"]
    names += party_names()
    names += ["moving", "scene_90", "scene_99"]
    names += [f"scene_mean_{step}" for step in range(-4, 3)]
    names += ["camera", "camera_jerk", "camera_shake", "rate"]
    names += ["among_strength", "among_momentum", "among_count"]
    names += ["partner_strength", "partner_aligned", "partner_away", "partner_steps"]
    return tuple(names)


def traits_of(impulses: Sequence[Impulse], cells: MotionCells, velocity: FloatArray) -> FloatArray:
    """The traits of all impulses of a stretch.

    Parameters
    ----------
    impulses : sequence of Impulse
        All that were found in the stretch: each is also seen among the others.
    cells : MotionCells
        The stretch they were found in.
    velocity : float32, shape (n, rows, columns, 2)
        ``cells.velocity()``.

    Returns
    -------
    float32, shape (len(impulses), len(trait_names()))
        Lengths in widths, speeds in widths/s; what lies outside the stretch counts as still.
    """
    if not impulses:
        return np.zeros((0, len(trait_names())), np.float32)
    regions = regions_of([impulse.region for impulse in impulses])
    start = np.array([impulse.kind == "start" for impulse in impulses])
    direction = np.array([impulse.direction for impulse in impulses], np.float32)
    base = np.array([impulse.node for impulse in impulses]) - ~start
    interval = float(np.median(cells.seconds))
    fields = np.concatenate([velocity, cells.change[..., None]], axis=3)
    fields = np.pad(fields, ((BEFORE, AFTER), *((0, 0),) * 3))
    own = own_paths(
        regions, base + BEFORE, range(-BEFORE, AFTER + 1), fields, interval * velocity.shape[2]
    )
    columns = (
        _shape(impulses, regions, direction),
        _own(own, direction, start),
        party_traits(regions, direction, base + BEFORE, fields),
        _scene(velocity, base),
        _camera(cells, base),
        np.full((len(impulses), 1), 1 / interval),
        company_traits(impulses, regions, interval),
    )
    return np.concatenate(columns, axis=1, dtype=np.float32)


def _shape(impulses: Sequence[Impulse], regions: Regions, direction: FloatArray) -> Float64Array:
    columns = regions.masks.shape[2]
    extent, centre = regions.extent, regions.centre
    jump = np.array([impulse.jump for impulse in impulses], np.float32)
    return np.column_stack(
        [
            [impulse.strength for impulse in impulses],
            np.linalg.norm(jump, axis=1),
            regions.count / columns**2,
            extent / columns,
            regions.count / extent.prod(axis=1),
            [impulse.coherence for impulse in impulses],
            np.abs(direction[:, 0]),
            direction[:, 1],
            centre[:, 0] / columns,
            np.abs((centre[:, 1] + 0.5) / columns - 0.5),
        ]
    )


def _own(own: FloatArray, direction: FloatArray, start: BoolArray) -> Float64Array:
    """Speed along the impulse by steps, as it is and against that of the base; and more of it."""
    velocity, change = own[..., :2], own[..., 2]
    across = np.stack([-direction[:, 1], direction[:, 0]], axis=1)
    along = (velocity * direction[:, None]).sum(axis=2)
    scale = np.abs(along[:, BEFORE, None]) + np.float32(1e-3)
    sideways = np.abs((velocity * across[:, None]).sum(axis=2)) / scale
    seen = slice(BEFORE + _STEPS.start, BEFORE + _STEPS.stop)
    return np.column_stack(
        [
            along[:, seen],
            np.clip(along[:, seen] / scale, -_CLIP, _CLIP),
            np.minimum(sideways[:, BEFORE - 3 : BEFORE + 3], _CLIP),
            change[:, BEFORE - 2 : BEFORE + 4],
            _abrupt(velocity, start),
        ]
    )


def _abrupt(velocity: FloatArray, start: BoolArray) -> Float64Array:
    """The jump against the greatest of the others along the path, and against the usual one."""
    steps = np.diff(velocity, axis=1)[:, BEFORE - 7 : BEFORE + 6]
    jumps = np.linalg.norm(steps, axis=2).astype(np.float64)
    at = np.where(start, 6, 7)[:, None]
    here = np.take_along_axis(jumps, at, axis=1)
    apart = np.abs(np.arange(jumps.shape[1]) - at) > 1
    others = np.where(apart, jumps, 0).max(axis=1, keepdims=True)
    usual = np.median(jumps, axis=1, keepdims=True)
    return np.column_stack([here / (others + 0.02), here / (usual + 0.02)])


def _scene(velocity: FloatArray, base: IntArray) -> FloatArray:
    """What the whole picture does: how much moves, how fast, and the mean by steps."""
    series = _scene_series(velocity)
    mean = np.pad(series[:, 3], (4, 3))
    return np.column_stack([series[base, :3], mean[base[:, None] + np.arange(7)]])


def _scene_series(velocity: FloatArray) -> FloatArray:
    """Share of the picture that moves, 90th and 99th percentile and mean of speed, (n, 4)."""
    speed = np.linalg.norm(velocity, axis=-1).reshape(len(velocity), -1)
    high = np.percentile(speed, (90, 99), axis=1)
    columns = ((speed > 0.15).mean(axis=1), high[0], high[1], speed.mean(axis=1))
    return np.stack(columns, axis=1).astype(np.float32)


def _camera(cells: MotionCells, base: IntArray) -> FloatArray:
    """Speed, jerk and shake of the camera."""
    near = np.clip(base[:, None] + np.arange(-2, 3), 0, cells.intervals - 1)
    speed = cells.camera[near, :2] / cells.seconds[near, None]
    steps = np.linalg.norm(np.diff(speed, axis=1), axis=2)
    shake = np.linalg.norm(np.diff(speed, n=2, axis=1), axis=2).mean(axis=1)
    return np.column_stack([np.linalg.norm(speed[:, 2], axis=1), steps[:, 1] + steps[:, 2], shake])
