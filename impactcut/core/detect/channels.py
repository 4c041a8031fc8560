"""Who moves around a hit: the striker's limb, the receiver, the background, other movers.

Made from the motion cells of a window around the contact. Each channel is a region followed from
interval to interval; its displacement is what the screen shows, camera included.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from impactcut.core.arrays import BoolArray, FloatArray, IntArray
from impactcut.core.detect.bodies import MOVER_SPEED, Bodies, bodies_of, strangers_of
from impactcut.core.detect.receiver import Struck
from impactcut.core.detect.striker import StrikePath
from impactcut.core.detect.window import window_of
from impactcut.core.motion.cells import MotionCells, camera_displacement, cell_centres
from impactcut.core.motion.measured import Channel


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
        Cells that the receiver moves through.
    speed : float32, shape (n, rows, columns)
        Without the camera, widths/s.
    """

    window: MotionCells
    contact: int
    path: StrikePath
    receiver: BoolArray | None
    speed: FloatArray
    bodies: Bodies


def scene_of(path: StrikePath, struck: Struck, cells: MotionCells, contact: int) -> Scene:
    """Divide what moves around a hit between the two bodies.

    Parameters
    ----------
    path : StrikePath
        From `strike_path`.
    struck : Struck
        From `struck_by`.
    cells : MotionCells
        The stretch, one node a frame.
    contact : int
        Clip frame.
    """
    window = window_of(cells, contact)
    at = contact - int(window.frames[0])
    speed = window.speed()
    bodies = bodies_of(speed, path.masks, struck.receiver, at, struck.near)
    return Scene(window, at, path, struck.receiver, speed, bodies)


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
    unseen = channel.area == 0
    there = screen[every, *_cells_at(centre, screen.shape[1:3])]
    displacement = np.where(unseen[:, None], there, channel.displacement)
    return Channel(channel.name, _f32(displacement), centre, area)


def _background(scene: Scene, screen: FloatArray) -> Channel:
    grid = scene.window.grid
    still = scene.speed < MOVER_SPEED
    at_strike = _channel("strike", scene.path.masks, screen).centre
    drift = camera_displacement(scene.window.camera, grid)
    there = drift[np.arange(scene.window.intervals), *_cells_at(at_strike, grid)]
    area = still.sum(axis=(1, 2)) / grid[1] ** 2
    return Channel("background", there, at_strike, _f32(area))


def _cells_at(places: FloatArray, grid: tuple[int, ...]) -> tuple[IntArray, IntArray]:
    """Row and column of the cell at each place, or of the nearest to it; places are (n, 2)."""
    rows, columns = grid
    cells = (places * columns).astype(int)
    return np.clip(cells[:, 1], 0, rows - 1), np.clip(cells[:, 0], 0, columns - 1)


def _f32(values: FloatArray) -> FloatArray:
    return np.asarray(values, np.float32)
