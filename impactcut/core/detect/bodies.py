"""Whose movement is whose around a hit: the striker's body, the receiver's, and strangers'.

The hit explains what happens to the two bodies in it, but not what happens to somebody who walks
behind them. In each interval the cells that move are divided: what hangs together with the
striking limb is the striker, what hangs together with the place that reacts is the receiver, and
where both are one patch each cell goes to the one it is nearer to. The rest are strangers.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray, IntArray
from impactcut.core.motion.patches import TOUCHING, patches_of, touching

MOVER_SPEED: Final = 0.08
"""Slowest other mover, widths/s, engineering choice: half a pixel a frame at 24 frames a second
and 160 pixels' noise floor of the flow."""
MOVER_CELLS: Final = 6
MOVERS: Final = 4
"""Smallest mover in cells, and how many are kept, the weightiest first."""
NEAR: Final = 2
"""Intervals on either side of the contact in which strangers are looked for."""
_STRIKER, _RECEIVER, _STRANGER = 1, 2, 3


@dataclass(frozen=True, eq=False)
class Bodies:
    """The two bodies of a hit through a window of ``n`` intervals.

    Parameters
    ----------
    striker, receiver : bool, shape (n, rows, columns)
        Moving cells of each, interval by interval; the striking limb is the striker's.
    """

    striker: BoolArray
    receiver: BoolArray


def bodies_of(
    speed: FloatArray,
    limb: BoolArray,
    reacting: BoolArray | None,
    contact: int,
    near: BoolArray | None = None,
) -> Bodies:
    """Divide what moves between the two bodies of a hit and strangers.

    From the contact on, and from there back, who a cell belonged to it still belongs to: a torso
    does not become a stranger because the arm in between has stopped, nor a passer-by the
    receiver because they touch.

    Parameters
    ----------
    speed : float32, shape (n, rows, columns)
        Without the camera, widths/s.
    limb : bool, shape (n, rows, columns)
        The striking limb.
    reacting : bool, shape (rows, columns), or None
        Where the receiver moves.
    contact : int
        Interval of the window at whose start the contact lies.
    near : bool, shape (rows, columns), or None
        The striker's side of the place: who moves there at the contact and hangs together with
        the limb is no part of the receiver.
    """
    moving = (speed > MOVER_SPEED) | limb
    owners = np.zeros(moving.shape, np.int64)
    middle = min(max(contact - 1, 0), len(moving) - 1)
    start = np.zeros(moving.shape[1:], np.int64)
    if near is not None:
        start[near & touching(moving[middle], limb[middle])] = _STRIKER
    for order in (range(middle, len(moving)), range(middle - 1, -1, -1)):
        before = owners[middle] if order.step < 0 else start
        for interval in order:
            before = _divided(moving[interval], limb[interval], reacting, before)
            owners[interval] = before
    return Bodies(owners == _STRIKER, owners == _RECEIVER)


def _divided(
    moving: BoolArray, limb: BoolArray, reacting: BoolArray | None, before: IntArray
) -> IntArray:
    """Whose each moving cell is, by whose the cells were in the interval before."""
    seeds = np.where(moving, before, 0)
    if reacting is not None:
        seeds[moving & reacting & (seeds != _STRIKER)] = _RECEIVER
    seeds[limb] = _STRIKER
    owners = _spread(seeds, moving)
    return np.where(moving & (owners == 0), _STRANGER, owners)


def _spread(seeds: IntArray, moving: BoolArray) -> IntArray:
    """Seeds spread over the patches they lie in; where several meet, a cell goes to the nearest.

    Nearest by steps inside the patch, sideways or along a diagonal. Patches with one owner, which
    are most, need no steps.
    """
    patches, count = patches_of(moving)
    sown = seeds > 0
    highest = np.zeros(count + 1, np.int64)
    lowest = np.full(count + 1, _STRANGER)
    np.maximum.at(highest, patches[sown], seeds[sown])
    np.minimum.at(lowest, patches[sown], seeds[sown])
    shared = (lowest < highest)[patches] & moving
    owners = np.where(shared, seeds, highest[patches]).astype(np.uint8)
    free = shared & ~sown
    while free.any():
        owners[free] = cv2.dilate(owners, TOUCHING)[free]
        free &= owners == 0
    return owners.astype(np.int64)


def strangers_of(speed: FloatArray, bodies: Bodies, contact: int) -> list[BoolArray]:
    """The patches that move around the contact and belong to neither body.

    Parameters
    ----------
    speed : float32, shape (n, rows, columns)
    contact : int
        Interval of the window at whose start the contact lies.

    Returns
    -------
    list of bool arrays, shape (rows, columns)
        At most `MOVERS`, the weightiest first.
    """
    at = min(max(contact, 1), len(speed) - 1)
    near = slice(max(0, at - NEAR), at + NEAR + 1)
    mean = speed[near].mean(axis=0)
    owned = (bodies.striker | bodies.receiver)[near].sum(axis=0)
    loose = (speed[near] > MOVER_SPEED).sum(axis=0) - owned
    patches, _ = patches_of((mean > MOVER_SPEED) & (loose > owned))
    cells, weight = np.bincount(patches.ravel()), np.bincount(patches.ravel(), mean.ravel())
    large = [patch for patch in range(1, len(cells)) if cells[patch] >= MOVER_CELLS]
    large.sort(key=lambda patch: -weight[patch])
    return [patches == patch for patch in large[:MOVERS]]
