"""What is in front of the camera: cut-outs with a place at every instant, and touches."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from .motion import Floats
from .paint import Pixels, Sprite

Live = Callable[[float], Pixels]
"""The picture of a thing that changes by itself, at an instant in seconds."""


@dataclass(frozen=True)
class Layer:
    """One cut-out over time.

    Parameters
    ----------
    place : shape (T, 2, 3)
        From sprite pixels to picture widths.
    shown : shape (T,) or float
        Share of its cover.
    depth : float
        How far it moves when the camera shifts; 1 is the plane of the action, 0 a caption.
    order : float
        The larger, the nearer.
    live : function, optional
        Gives the sprite's picture at an instant, in place of the still one.
    """

    sprite: Sprite
    place: Floats
    shown: Floats | float = 1.0
    depth: float = 1.0
    order: float = 0.0
    live: Live | None = None


@dataclass(frozen=True)
class Touch:
    """An impact: instant (s), place (picture widths), name, jump in speed (widths a second)."""

    time: float
    x: float
    y: float
    what: str
    speed: float


@dataclass
class Stage:
    """A scene while it is built.

    Parameters
    ----------
    t : shape (T,)
        The fine clock.
    aspect : float
        Height of the picture in widths; the scene spans 0..1 by 0..aspect.
    scale : float
        Pixels per picture width that sprites are painted at.
    """

    rng: np.random.Generator
    t: Floats
    aspect: float
    scale: float
    layers: list[Layer] = field(default_factory=list)
    touches: list[Touch] = field(default_factory=list)
    follow: Floats | None = None

    @property
    def duration(self) -> float:
        """Seconds covered by the fine clock."""
        return float(self.t[-1]) - 0.2

    def add(
        self,
        sprite: Sprite,
        at: Floats,
        angle: Floats | float = 0.0,
        stretch: Floats | float = 1.0,
        tall: Floats | float | None = None,
        shown: Floats | float = 1.0,
        depth: float = 1.0,
        order: float = 0.0,
        live: Live | None = None,
    ) -> None:
        """Put in a sprite whose handle is at ``at``, (T, 2) or (2,), turned and stretched."""
        n = len(self.t)
        where = np.broadcast_to(np.asarray(at, float), (n, 2))
        turn = np.broadcast_to(angle, n)
        wide = np.broadcast_to(stretch, n) / sprite.scale
        high = wide if tall is None else np.broadcast_to(tall, n) / sprite.scale
        place = np.empty((n, 2, 3))
        place[:, 0, 0], place[:, 0, 1] = wide * np.cos(turn), -high * np.sin(turn)
        place[:, 1, 0], place[:, 1, 1] = wide * np.sin(turn), high * np.cos(turn)
        place[:, :, 2] = where - place[:, :, :2] @ np.array(sprite.handle)
        self.layers.append(Layer(sprite, place, shown, depth, order, live))

    def bar(
        self, sprite: Sprite, length: float, start: Floats, end: Floats, order: float = 0.0
    ) -> None:
        """Put in a bar of a given length from one moving point to another, (T, 2) each."""
        way = np.broadcast_to(end, (len(self.t), 2)) - start
        angle = np.unwrap(np.arctan2(way[:, 1], way[:, 0]))
        long = np.linalg.norm(way, axis=1) / length
        self.add(sprite, start, angle, long, tall=1.0, order=order)

    def touch(self, time: float, at: Floats, what: str, speed: float) -> None:
        """Note an impact."""
        self.touches.append(Touch(float(time), float(at[0]), float(at[1]), what, abs(float(speed))))

    def at(self, path: Floats, time: float) -> Floats:
        """A path (T, 2) at an instant."""
        return np.array([np.interp(time, self.t, path[:, axis]) for axis in (0, 1)])

    def child(self) -> Stage:
        """An empty scene with the same clock, to be put in with `include`."""
        return Stage(self.rng, self.t, self.aspect, self.scale)

    def include(
        self,
        other: Stage,
        shift: tuple[float, float] = (0.0, 0.0),
        size: float = 1.0,
        turn: float = 0.0,
        mirror: bool = False,
        order: float = 0.0,
        depth: float | None = None,
    ) -> None:
        """Put in another scene, scaled, turned and mirrored about the middle of the picture."""
        middle = np.array([0.5, self.aspect / 2])
        cos, sin = size * np.cos(turn), size * np.sin(turn)
        linear = np.array([[cos, -sin], [sin, cos]]) @ np.diag([-1.0 if mirror else 1.0, 1.0])
        offset = middle + np.array(shift) - linear @ middle
        for layer in other.layers:
            place = linear @ layer.place
            place[:, :, 2] += offset
            far = layer.depth if depth is None else depth
            self.layers.append(replace(layer, place=place, order=layer.order + order, depth=far))
        for touch in other.touches:
            x, y = linear @ np.array([touch.x, touch.y]) + offset
            self.touches.append(replace(touch, x=float(x), y=float(y), speed=touch.speed * size))
        if other.follow is not None:
            self.follow = other.follow @ linear.T + offset
