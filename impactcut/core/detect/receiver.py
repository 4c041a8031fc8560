"""Who is struck: the cells around the place and beyond it that move about the contact.

Real receivers start early: kicks 4 frames before the contact in the median, punches 1, pushes 5
after it (30 acted blows labelled by eye), so the receiver is who moves on the far side of the
place, not who starts after the contact.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from impactcut.core.arrays import BoolArray, Float64Array, FloatArray
from impactcut.core.detect.bodies import MOVER_SPEED
from impactcut.core.detect.striker import StrikePath
from impactcut.core.motion.cells import MotionCells, cell_centres
from impactcut.core.motion.patches import grown, patches_of, touching

BEFORE_SECONDS: Final = 0.3
AFTER_SECONDS: Final = 0.5
"""How long before and after the contact a receiver is looked for: the earliest of 30 acted
receivers starts 9 frames of 30 a second before it; half a second after it nobody sees a cause
(Michotte's launching effect, through a secondary source)."""
NEARER: Final = 0.03
"""How far before the place the receiver may reach, widths, engineering choice: two cells."""
FARTHER: Final = 0.3
ASIDE: Final = 0.35
"""How far beyond the place and to either side of it the receiver is looked for, widths,
engineering choice: a body in a medium shot."""
BESIDE: Final = 0.15
"""How near to the place some of the receiver has to move, widths, engineering choice."""
SHARE: Final = 0.2
"""Least movement of the receiver's cells against the greatest near the place, engineering
choice."""
BLUR: Final = 2
"""Cells to which the flow of a limb blurs around it, engineering choice."""
UPRIGHT: Final = np.array([1.0, 0.5])
"""What across and up and down count for where the line between the two lies, engineering choice:
people stand beside one another, whether the place is a chin or a shin."""


@dataclass(frozen=True, eq=False)
class Struck:
    """Which side of the place is whose.

    Parameters
    ----------
    receiver : bool, shape (rows, columns), or None
        Cells that the receiver moves through about the contact; None where nobody moves there.
    near : bool, shape (rows, columns)
        Cells on the side that the strike comes from.
    """

    receiver: BoolArray | None
    near: BoolArray


def struck_by(window: MotionCells, path: StrikePath, place: tuple[float, float], at: int) -> Struck:
    """Who is struck at a place.

    Parameters
    ----------
    window : MotionCells
        Of ``n`` intervals, from `impactcut.core.detect.window.even`.
    path : StrikePath
        Of the striking limb.
    place : (float, float)
        Where the contact reads: right, down, widths.
    at : int
        Interval of the window at whose start the contact lies.
    """
    speed = window.speed()
    offset = cell_centres(speed.shape[1:]) - np.array(place, np.float32)
    way = _way_through(speed, path, place, at, float(window.rate))
    if way is None:
        return Struck(None, np.zeros(speed.shape[1:], bool))
    along, across = offset @ way, offset @ np.array([-way[1], way[0]])
    before = along <= -NEARER
    beyond = ~before & (along < FARTHER) & (np.abs(across) < ASIDE)
    near = np.linalg.norm(offset, axis=-1) < BESIDE
    moved = others(speed, path)[about(at, float(window.rate))].max(axis=0, initial=0) * beyond
    least = max(MOVER_SPEED, SHARE * float((moved * near).max(initial=0)))
    patches, count = patches_of(moved > least)
    weights = np.bincount(patches.ravel(), moved.ravel(), count + 1)
    reaching = np.unique(patches[near])
    reaching = reaching[reaching > 0]
    if len(reaching) == 0:
        return Struck(None, before)
    return Struck(patches == reaching[np.argmax(weights[reaching])], before)


def about(at: int, rate: float) -> slice:
    """The intervals of a window in which a receiver may start to move."""
    return slice(max(0, at - round(BEFORE_SECONDS * rate)), at + round(AFTER_SECONDS * rate))


def others(speed: FloatArray, path: StrikePath) -> FloatArray:
    """The speed without what the striking limb, and the blur of flow around it, covers."""
    covered = np.array([grown(mask, BLUR) for mask in path.masks]).reshape(speed.shape)
    return np.where(covered, np.float32(0), speed)


def _way_through(
    speed: FloatArray, path: StrikePath, place: tuple[float, float], at: int, rate: float
) -> Float64Array | None:
    """Unit vector from the middle of what moves with the limb before the contact to the place.

    None where nothing moves with it: then nobody knows which side is whose.
    """
    centres = cell_centres(speed.shape[1:])
    weight = np.zeros(speed.shape[1:])
    for interval in range(max(0, at - round(BEFORE_SECONDS * rate)), at):
        moving = speed[interval] > MOVER_SPEED
        weight += speed[interval] * touching(moving, path.masks[interval])
    total = weight.sum()
    if total == 0:
        return None
    middle = (weight[..., None] * centres).sum(axis=(0, 1)) / total
    way = (np.array(place) - middle) * UPRIGHT
    length = np.hypot(*way)
    return way / length if length > 0 else None
