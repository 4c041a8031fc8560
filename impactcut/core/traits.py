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

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.cells import MotionCells
from impactcut.core.company import company_traits
from impactcut.core.impulses import Impulse

BEFORE: Final = 8
AFTER: Final = 8
"""Intervals before and after the jump that are looked at."""
PARTIES: Final = {"behind": (-0.32, -0.02), "near": (-0.08, 0.08), "ahead": (0.02, 0.30)}
"""Where others are looked for, along the direction of the movement, widths, engineering choice:
arm's length in a medium shot."""
PARTY_HALF_WIDTH: Final = 0.16
_STEPS: Final = range(-6, 7)
_PARTY_STEPS: Final = range(-6, 5)
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
    for party in PARTIES:
        names += [f"{party}_{step}" for step in _PARTY_STEPS]
        names += [f"{party}_{what}" for what in ("peak", "peak_at", "drop", "change", "against")]
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
    scene = _scene_series(velocity)
    own = [_own_traits(impulse, cells, velocity, scene) for impulse in impulses]
    among = company_traits(impulses, float(np.median(cells.seconds)))
    table = [[*mine, *theirs] for mine, theirs in zip(own, among, strict=True)]
    return np.asarray(table, np.float32).reshape(len(impulses), len(trait_names()))


def _own_traits(
    impulse: Impulse, cells: MotionCells, velocity: FloatArray, scene: FloatArray
) -> list[float]:
    base = impulse.node if impulse.kind == "start" else impulse.node - 1
    steps = range(base - BEFORE, base + AFTER + 1)
    window = _window(velocity, steps)
    change = _window(cells.change, steps)
    columns = velocity.shape[2]
    step_cells = float(np.median(cells.seconds)) * columns
    own, own_change = _own_path(window, change, impulse.region, step_cells)
    return [
        *_shape(impulse, columns),
        *_own(own, own_change, impulse),
        *_parties(window, change, impulse, columns),
        *scene[base, :3],
        *_window(scene[:, 3], range(base - 4, base + 3)),
        *_camera(cells, base),
        1 / float(np.median(cells.seconds)),
    ]


def _window(series: FloatArray, steps: range) -> FloatArray:
    out = np.zeros((len(steps), *series.shape[1:]), np.float32)
    first, last = max(0, steps.start), min(len(series), steps.stop)
    out[first - steps.start : last - steps.start] = series[first:last]
    return out


def _shape(impulse: Impulse, columns: int) -> list[float]:
    rows_in, columns_in = np.nonzero(impulse.region)
    high, wide = int(np.ptp(rows_in)) + 1, int(np.ptp(columns_in)) + 1
    cells = len(rows_in)
    return [
        impulse.strength,
        float(np.linalg.norm(impulse.jump)),
        cells / columns**2,
        high / columns,
        wide / columns,
        cells / (high * wide),
        impulse.coherence,
        abs(float(impulse.direction[0])),
        float(impulse.direction[1]),
        float(rows_in.mean()) / columns,
        abs((float(columns_in.mean()) + 0.5) / columns - 0.5),
    ]


def _own_path(
    window: FloatArray, change: FloatArray, region: BoolArray, step_cells: float
) -> tuple[FloatArray, FloatArray]:
    """Mean velocity and change of the region as it moves through the window."""
    velocity = np.zeros((len(window), 2), np.float32)
    changes = np.zeros(len(window), np.float32)
    rows, columns = np.nonzero(region)
    count = len(rows)
    bottom, right = region.shape[0] - 1, region.shape[1] - 1

    def read(index: int, offset: FloatArray) -> tuple[FloatArray, float]:
        y = np.minimum(np.maximum(rows + round(float(offset[1])), 0), bottom)
        x = np.minimum(np.maximum(columns + round(float(offset[0])), 0), right)
        total = np.add.reduce(window[index, y, x], axis=0)
        return total / count, float(np.add.reduce(change[index, y, x])) / count

    offset = np.zeros(2, np.float32)
    for index in range(BEFORE, len(window)):
        velocity[index], changes[index] = read(index, offset)
        offset = offset + velocity[index] * step_cells
    offset = np.zeros(2, np.float32)
    for index in range(BEFORE - 1, -1, -1):
        here, changes[index] = read(index, offset)
        upstream, upstream_change = read(index, offset - here * step_cells)
        if np.linalg.norm(upstream) > np.linalg.norm(here):
            here, changes[index] = upstream, upstream_change
        velocity[index] = here
        offset = offset - here * step_cells
    return velocity, changes


def _own(own: FloatArray, change: FloatArray, impulse: Impulse) -> list[float]:
    across = np.array([-impulse.direction[1], impulse.direction[0]])
    along = own @ impulse.direction
    scale = abs(float(along[BEFORE])) + 1e-3
    sideways = np.abs(own @ across) / scale
    jumps = np.linalg.norm(np.diff(own, axis=0), axis=1)[BEFORE - 7 : BEFORE + 6]
    at = 6 if impulse.kind == "start" else 7
    others = np.delete(jumps, slice(at - 1, at + 2))
    return [
        *(along[BEFORE + step] for step in _STEPS),
        *(np.clip(along[BEFORE + step] / scale, -_CLIP, _CLIP) for step in _STEPS),
        *(min(sideways[BEFORE + step], _CLIP) for step in range(-3, 3)),
        *(change[BEFORE + step] for step in range(-2, 4)),
        float(jumps[at]) / (float(others.max()) + 0.02),
        float(jumps[at]) / (float(np.median(jumps)) + 0.02),
    ]


def _parties(window: FloatArray, change: FloatArray, impulse: Impulse, columns: int) -> list[float]:
    rows_in, columns_in = np.nonzero(impulse.region)
    y, x = np.mgrid[: window.shape[1], : window.shape[2]]
    y, x = (y - rows_in.mean()) / columns, (x - columns_in.mean()) / columns
    ux, uy = (float(part) for part in impulse.direction)
    along, across = x * ux + y * uy, y * ux - x * uy
    part = slice(BEFORE + _PARTY_STEPS.start, BEFORE + _PARTY_STEPS.stop)
    speed = window[part] @ impulse.direction
    values: list[float] = []
    for party, (nearest, farthest) in PARTIES.items():
        inside = (along > nearest) & (along < farthest) & (np.abs(across) < PARTY_HALF_WIDTH)
        if party != "near":
            inside &= ~impulse.region
        values += _party(speed[:, inside], change[part][:, inside])
    return values


def _party(speed: FloatArray, change: FloatArray) -> list[float]:
    steps = len(_PARTY_STEPS)
    if speed.shape[1] < 4:
        return [0.0] * (steps + 5)
    fast = np.partition(speed, -3, axis=1)[:, -3]
    against = -np.partition(speed, 2, axis=1)[:, 2]
    changed = np.partition(change, -3, axis=1)[:, -3]
    now = -_PARTY_STEPS.start
    peak = int(np.argmax(fast[: now + 2]))
    drop = fast[peak] - fast[peak : peak + 4].min()
    return [*fast, fast[peak], peak - now, drop, changed[now - 2 : now + 1].max(), against.max()]


def _scene_series(velocity: FloatArray) -> FloatArray:
    """Share of the picture that moves, 90th and 99th percentile and mean of speed, (n, 4)."""
    speed = np.linalg.norm(velocity, axis=-1).reshape(len(velocity), -1)
    high = np.percentile(speed, (90, 99), axis=1)
    columns = ((speed > 0.15).mean(axis=1), high[0], high[1], speed.mean(axis=1))
    return np.stack(columns, axis=1).astype(np.float32)


def _camera(cells: MotionCells, base: int) -> list[float]:
    near = np.clip(np.arange(base - 2, base + 3), 0, cells.intervals - 1)
    speed = cells.camera[near, :2] / cells.seconds[near, None]
    jerk = np.linalg.norm(speed[2] - speed[1]) + np.linalg.norm(speed[3] - speed[2])
    shake = np.linalg.norm(np.diff(speed, n=2, axis=0), axis=1).mean()
    return [float(np.linalg.norm(speed[2])), float(jerk), float(shake)]
