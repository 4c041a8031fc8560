"""Who moves around a hit: the striker's limb, the receiver, the background, other movers.

Made from the motion cells of a window around the contact. Each channel is a region followed from
interval to interval; its displacement is what the screen shows, camera included.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from skimage.measure import label

from impactcut.core.arrays import BoolArray, FloatArray
from impactcut.core.bodies import MOVER_SPEED, Bodies, bodies_of, strangers_of
from impactcut.core.cells import MotionCells, camera_displacement, cell_centres
from impactcut.core.fastest import third_greatest
from impactcut.core.impulses import Impulse
from impactcut.core.motion import Channel

WINDOW_SECONDS: Final = 0.6
"""Seconds before and after the contact that a hit's window covers: the half second over which
shake is judged, and the trims themselves."""
REACH: Final = 0.32
"""How far from the impulse the striking limb is looked for, widths, as in the traits."""
LIMB_SHARE: Final = 0.7
"""Least speed of the limb's cells against its fastest, engineering choice: of a forearm that turns
about the elbow, the outer third."""


@dataclass(frozen=True, eq=False)
class StrikePath:
    """The striking limb through a window.

    Parameters
    ----------
    first : int
        Clip frame at which interval 0 of the window starts.
    speed : float32, shape (n,)
        Speed along the strike without the camera, widths/s.
    masks : bool, shape (n, rows, columns)
        Cells that belong to it.
    """

    first: int
    speed: FloatArray
    masks: BoolArray

    def region_at(self, frame: int) -> tuple[float, float, float, float]:
        """Left, top, width, height (widths) around the strike just before ``frame``."""
        index = min(max(frame - self.first - 1, 0), len(self.masks) - 1)
        rows, columns = np.nonzero(self.masks[index])
        scale = self.masks.shape[2]
        left, top = columns.min(initial=scale), rows.min(initial=self.masks.shape[1])
        if len(rows) == 0:
            return (0.0, 0.0, 1.0, self.masks.shape[1] / scale)
        wide, high = columns.max() + 1 - left, rows.max() + 1 - top
        left, top, wide, high = (float(cells) / scale for cells in (left, top, wide, high))
        return (left, top, wide, high)


def window_of(cells: MotionCells, contact: int) -> MotionCells:
    """The part of a stretch (one node a frame) within `WINDOW_SECONDS` of frame ``contact``."""
    reach = round(WINDOW_SECONDS * float(cells.rate))
    at = contact - int(cells.frames[0])
    return cells.between(at - reach, min(cells.intervals, at + reach))


def strike_path(impulse: Impulse, cells: MotionCells, contact: int) -> StrikePath:
    """Follow the striking limb of ``impulse`` through the window around ``contact``.

    Up to the contact the limb is the patch that is fastest along the strike, of what lies behind
    and beside the place of the impulse. From there on that patch is followed, whatever it does.
    """
    window = window_of(cells, contact)
    velocity = window.velocity()
    along = velocity @ impulse.direction
    inside = _behind_and_near(impulse, velocity.shape[1:3])
    reachable = np.where(inside, along, 0)
    speed = _fast(reachable)
    masks = reachable > np.maximum(LIMB_SHARE * speed, MOVER_SPEED)[:, None, None]
    last = contact - int(window.frames[0]) - 1
    if 0 <= last < len(masks) and masks[last].any():
        masks[last] = _patch(masks[last], reachable[last])
        masks[last + 1 :] = _followed(masks[last], window.residual[last:])
        speed[last + 1 :] = _fast(np.where(masks, along, 0)[last + 1 :])
    return StrikePath(int(window.frames[0]), speed.astype(np.float32), masks)


def _fast(along: FloatArray) -> FloatArray:
    """The speed of each interval's fastest cells, 0 or more."""
    intervals, rows, columns = along.shape
    return np.clip(third_greatest(along.reshape(intervals, rows * columns)), 0, None)


def _patch(mask: BoolArray, along: FloatArray) -> BoolArray:
    """That patch of the mask in which the fastest cell lies."""
    patches = label(mask)
    fastest = np.unravel_index(int(np.argmax(np.where(mask, along, -np.inf))), mask.shape)
    patch: BoolArray = patches == patches[fastest]
    return patch


def _followed(mask: BoolArray, moved: FloatArray) -> BoolArray:
    """The mask after each interval of ``moved`` but the last, (n - 1, rows, columns).

    The patch goes where its cells go in the median, and stops at the picture's edge.
    """
    rows, columns = np.nonzero(mask)
    place = np.stack([columns, rows], axis=1).astype(float)
    most = np.array([mask.shape[1] - 1, mask.shape[0] - 1])
    masks = np.zeros((len(moved) - 1, *mask.shape), bool)
    for index, field in enumerate(moved[:-1]):
        at = np.clip(np.rint(place).astype(int), 0, most)
        place = place + np.median(field[at[:, 1], at[:, 0]], axis=0) * mask.shape[1]
        at = np.clip(np.rint(place).astype(int), 0, most)
        masks[index, at[:, 1], at[:, 0]] = True
    return masks


def _behind_and_near(impulse: Impulse, grid: tuple[int, int]) -> BoolArray:
    rows, columns = np.nonzero(impulse.region)
    place = cell_centres(grid)
    x = place[..., 0] - (columns.mean() + 0.5) / grid[1]
    y = place[..., 1] - (rows.mean() + 0.5) / grid[1]
    ux, uy = (float(part) for part in impulse.direction)
    along, across = x * ux + y * uy, y * ux - x * uy
    inside: BoolArray = (along > -REACH) & (along < 0.08) & (np.abs(across) < REACH / 2)
    return inside


@dataclass(frozen=True, eq=False)
class Scene:
    """Who moves in the window around a hit.

    Parameters
    ----------
    window : MotionCells
        As of `window_of`, ``n`` intervals.
    contact : int
        Interval of the window at whose start the contact lies.
    path : StrikePath
        The striking limb.
    receiver : bool, shape (rows, columns), or None
        Cells that start to move when the receiver reacts.
    speed : float32, shape (n, rows, columns)
        Without the camera, widths/s.
    bodies : Bodies
    """

    window: MotionCells
    contact: int
    path: StrikePath
    receiver: BoolArray | None
    speed: FloatArray
    bodies: Bodies


def scene_of(
    path: StrikePath, receiver: BoolArray | None, cells: MotionCells, contact: int
) -> Scene:
    """Divide what moves around a hit between the two bodies.

    Parameters
    ----------
    path : StrikePath
        From `strike_path`.
    receiver : bool, shape (rows, columns), or None
        Cells that start to move when the receiver reacts.
    cells : MotionCells
        The stretch, one node a frame.
    contact : int
        Clip frame.
    """
    window = window_of(cells, contact)
    at = contact - int(window.frames[0])
    speed = np.linalg.norm(window.velocity(), axis=-1)
    return Scene(window, at, path, receiver, speed, bodies_of(speed, path.masks, receiver, at))


def channels_of(scene: Scene) -> tuple[Channel, ...]:
    """The channels of a hit's window."""
    screen = scene.window.on_screen()
    limb = scene.path.masks & ~scene.bodies.receiver
    channels = [_channel("strike", limb, screen)]
    channels += _bodies(scene, limb, screen)
    channels.append(_background(scene, screen))
    strangers = strangers_of(scene.speed, scene.bodies, scene.contact)
    for number, mask in enumerate(strangers, start=1):
        still = np.broadcast_to(mask, limb.shape)
        channels.append(_channel(f"mover {number}", still, screen))
    return tuple(channels)


def _bodies(scene: Scene, limb: BoolArray, screen: FloatArray) -> list[Channel]:
    """The striker without the limb, and the receiver, as far as they were seen to move."""
    channels = []
    bodies = scene.bodies
    if scene.receiver is not None:
        seen = np.logical_or.reduce(bodies.receiver, axis=(1, 2))
        at_rest = np.where(seen[:, None, None], bodies.receiver, scene.receiver)
        channels.append(_channel("receiver", at_rest, screen))
    rest = bodies.striker & ~limb
    if rest.any():
        channels.append(_channel("striker", rest, screen))
    return channels


def _channel(name: str, masks: BoolArray, screen: FloatArray) -> Channel:
    """Mean movement of a region that may change from interval to interval."""
    place = cell_centres(masks.shape[1:])
    counts = masks.sum(axis=(1, 2))
    weight = (masks / np.maximum(counts, 1)[:, None, None]).reshape(len(masks), 1, -1)
    displacement = (weight @ screen.reshape(len(masks), -1, 2))[:, 0]
    centre = weight[:, 0] @ place.reshape(-1, 2)
    area = counts / masks.shape[2] ** 2
    return _held(Channel(name, _f32(displacement), _f32(centre), _f32(area)), screen)


def _held(channel: Channel, screen: FloatArray) -> Channel:
    """Where a region was not seen, it stays where it was seen nearest in time."""
    seen = np.flatnonzero(channel.area > 0)
    if len(seen) == 0:
        return channel
    every = np.arange(len(channel.area))
    nearest = seen[np.abs(every[:, None] - seen[None, :]).argmin(axis=1)]
    centre, area = channel.centre[nearest], channel.area[nearest]
    columns = screen.shape[2]
    row = np.clip((centre[:, 1] * columns).astype(int), 0, screen.shape[1] - 1)
    column = np.clip((centre[:, 0] * columns).astype(int), 0, columns - 1)
    unseen = channel.area == 0
    displacement = np.where(unseen[:, None], screen[every, row, column], channel.displacement)
    return Channel(channel.name, _f32(displacement), centre, area)


def _background(scene: Scene, screen: FloatArray) -> Channel:
    rows, columns = scene.speed.shape[1:]
    still = scene.speed < MOVER_SPEED
    at_strike = _channel("strike", scene.path.masks, screen).centre
    drift = camera_displacement(scene.window.camera, (rows, columns))
    row = np.clip((at_strike[:, 1] * columns).astype(int), 0, rows - 1)
    column = np.clip((at_strike[:, 0] * columns).astype(int), 0, columns - 1)
    every = np.arange(scene.window.intervals)
    area = still.sum(axis=(1, 2)) / columns**2
    return Channel("background", drift[every, row, column], at_strike, _f32(area))


PAN: Final = 0.06
SHAKE: Final = 0.0012
ZOOM: Final = 0.06
"""Camera speed (widths/s), shake (rms second difference, widths) and zoom (per second) from which
a camera counts as panning, handheld, zooming; engineering choices."""


def camera_word(cells: MotionCells, contact: int) -> str:
    """``"locked"``, ``"handheld"``, ``"panning"`` or ``"zooming"`` around frame ``contact``."""
    window = window_of(cells, contact)
    if window.intervals == 0:
        return "locked"
    per_second = window.camera / window.seconds[:, None]
    if abs(float(np.median(per_second[:, 3]))) > ZOOM:
        return "zooming"
    drift = float(np.linalg.norm(np.median(per_second[:, :2], axis=0)))
    jitter = np.diff(window.camera[:, :2], n=2, axis=0)
    shake = float(np.sqrt((jitter**2).sum(axis=1).mean())) if len(jitter) else 0.0
    if drift > PAN:
        return "panning"
    return "handheld" if shake > SHAKE or drift > PAN / 4 else "locked"


def _f32(values: FloatArray) -> FloatArray:
    return np.asarray(values, np.float32)
