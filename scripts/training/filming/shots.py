"""Shots of people on the bench's stage, as grey pictures: camera, wall, exposures, held frames.

Everything that moves is worked out for all instants of a shot at once; then each picture that the
film shows is drawn, once.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from .figures import Figure, Thing, draw

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]
Rng = np.random.Generator

SIZES: Final = (
    (384, 216), (384, 216), (384, 216), (384, 288), (352, 288), (320, 240), (320, 180),
    (384, 164), (216, 384), (240, 320),
)  # fmt: skip
"""Width and height, pixels: a fifth of them portrait."""
RATES: Final = tuple(
    Fraction(rate)
    for rate in ("24", "24000/1001", "25", "25", "30000/1001", "30", "30", "15", "12", "20")
)
SHUTTERS: Final = (90, 144, 180, 180, 180, 216, 270, 330)
MOVES: Final = ("tripod", "tripod", "tripod", "handheld", "rough", "pan")
UNREST: Final = {"tripod": 0.0, "handheld": 0.02, "rough": 0.05, "pan": 0.004}
"""Standard deviation of the camera's unrest, in angles of view."""
TALL: Final = 1.75
"""Metres from the sole to the top of the head."""
WIDEST: Final = 60.0
"""Degrees that the camera sees at most; it stands further off rather than see more."""
APART: Final = 2.0
"""Pixels that anything may move between two instants of an exposure, while there are enough."""
NEAREST: Final = 0.5
"""Metres from the lens within which nobody is drawn."""
FLOORLESS: Final = 0.25
"""Share of the shots without a floor."""
LONGEST: Final = 110
"""Frames of a film at most."""
UNREST_RATE: Final = 240
"""Instants a second at which the camera's unrest is drawn."""


@dataclass(frozen=True, eq=False)
class Body:
    """Somebody in a shot.

    Parameters
    ----------
    joints : float64, shape (instants, joints, 3)
        Metres.
    k : function
        Row of a joint.
    figure : Figure
        What he or she looks like.
    things : tuple of Thing
        That he or she has to do with.
    """

    joints: Floats
    k: Callable[[str], int]
    figure: Figure
    things: tuple[Thing, ...] = ()

    def points(self, instant: int) -> Floats:
        """All that moves with somebody, float64 (points, 3)."""
        return np.concatenate([self.joints[instant], *(t.points[instant] for t in self.things)])


@dataclass(frozen=True)
class Clock:
    """When a shot's pictures are exposed.

    Parameters
    ----------
    rate : Fraction
        Pictures a second.
    start : float
        Second at which the first exposure begins.
    shutter : float
        Degrees of 360.
    instants : int
        Drawn for each exposure.
    """

    rate: Fraction
    frames: int
    start: float
    shutter: float
    instants: int

    @property
    def times(self) -> Floats:
        """Seconds of all instants, float64 (frames * instants,)."""
        within = (np.arange(self.instants) + 0.5) / self.instants * self.shutter / 360
        exposed = np.arange(self.frames)[:, None] + within
        return np.asarray(self.start + exposed.ravel() / float(self.rate))

    def exact(self, seconds: float) -> float:
        """Exact picture of an instant: picture ``i`` shows the middle of its exposure."""
        return (seconds - self.start) * float(self.rate) - self.shutter / 720


@dataclass(frozen=True, eq=False)
class Floor:
    """A level floor: its picture, and the four places (4, 3) where the picture's corners lie."""

    picture: Pixels
    corners: Floats

    def lay(self, canvas: Pixels, camera: Any, turn: Floats) -> None:
        """Draw it onto a picture, if the camera sees it at all."""
        height, width = self.picture.shape
        spots, far = camera.project(self.corners, turn)
        if far.min() < 0.1:
            return
        own = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
        place = cv2.getPerspectiveTransform(own, spots.astype(np.float32))
        size = (camera.w, camera.h)
        border = cv2.BORDER_TRANSPARENT
        cv2.warpPerspective(self.picture, place, size, canvas, cv2.INTER_LINEAR, border)


@dataclass(frozen=True, eq=False)
class Shot:
    """A camera that looks at people before a wall.

    Parameters
    ----------
    turns : float64, shape (instants, 3, 3)
        As `stage.Camera.rot` gives them.
    wall : uint8, shape (h, w)
    grain : float
        Standard deviation, 8-bit levels.
    quality : int or None
        Of the compression that every picture has been through, as JPEG counts; None for none.
    """

    camera: Any
    turns: Floats
    clock: Clock
    wall: Pixels
    floor: Floor | None
    bodies: tuple[Body, ...]
    grain: float
    quality: int | None


def some_clock(
    rng: Rng,
    contact: float,
    span: tuple[float, float],
    near: tuple[int, int] = (22, 62),
    rates: tuple[Fraction, ...] = RATES,
) -> Clock:
    """A clock that shows an instant, between bounds of frames before it and after it.

    Parameters
    ----------
    contact : float
        Second in the middle, roughly.
    span : tuple of float
        Seconds between which there is something to see.
    near : tuple of int
        Least and greatest frames on either side.
    rates : tuple of Fraction
        One of which it has.
    """
    rate = rates[int(rng.integers(len(rates)))]
    before, after = (int(frames) for frames in rng.integers(near[0], near[1], 2))
    start = max(span[0], contact - before / float(rate))
    end = min(span[1], contact + after / float(rate))
    shutter = float(rng.choice(SHUTTERS))
    instants = int(np.clip(round(shutter / 50), 2, 6))
    frames = max(min(LONGEST, int((end - start) * rate)), 12)
    return Clock(rate, frames, start, shutter, instants)


def some_camera(
    stage: Any, rng: Rng, clock: Clock, middle: Floats, side: Floats, share: float
) -> tuple[Any, Floats]:
    """A camera to one side of a place, and how it is turned at each instant.

    Parameters
    ----------
    middle, side : float64, shape (3,)
        Where it looks, metres; the level direction from there in which it stands.
    share : float
        Height of somebody standing there, in heights of the picture.
    """
    width, height = SIZES[int(rng.integers(len(SIZES)))]
    away = float(rng.uniform(4.0, 7.0))
    focal = share * height * away / TALL
    least = width / 2 / math.tan(math.radians(WIDEST / 2))
    away *= max(1.0, least / focal)
    focal = max(focal, least)
    view = 2 * math.degrees(math.atan(width / 2 / focal))
    raised = float(rng.uniform(-0.2, 0.6))
    if rng.random() < 0.25:
        raised = away * math.tan(math.radians(rng.uniform(8, 35)))
    missed = np.array([0, rng.normal(0, 0.06), 0]) + rng.normal(0, 0.1, 3) * (1, 0, 1)
    aim = middle + missed * min(1.0, 1 / share)
    camera = stage.Camera(middle + side * away + [0, raised, 0], aim, view, width, height)
    return camera, _turned(stage, rng, clock, camera, math.radians(view))


def _turned(stage: Any, rng: Rng, clock: Clock, camera: Any, view: float) -> Floats:
    move = MOVES[int(rng.integers(len(MOVES)))]
    times = clock.times
    count = int((times[-1] - times[0]) * UNREST_RATE) + 8
    angles = np.zeros((count, 3))
    if UNREST[move]:
        size = view * UNREST[move] * float(rng.uniform(0.4, 1.2))
        angles = stage.shake(count, UNREST_RATE, size, rng)
    if move == "pan":
        way = view * float(rng.uniform(0.1, 0.35)) * (1 if rng.integers(2) else -1)
        angles[:, 0] += np.linspace(-way, way, count)
    at = np.linspace(times[0], times[-1], count)
    now = np.stack([np.interp(times, at, column) for column in angles.T], 1)
    return np.asarray(Rotation.from_euler("yxz", now).as_matrix() @ camera.base)


def some_wall(stage: Any, rng: Rng) -> Pixels:
    """A back wall out of focus, in some light."""
    wall = _wall(stage, int(rng.integers(8)))
    lit = wall * np.float32(rng.uniform(0.3, 1.0)) + np.float32(rng.uniform(0, 90))
    return np.asarray(np.clip(lit, 0, 255), np.uint8)


def some_floor(stage: Any, rng: Rng, camera: Any, middle: Floats) -> Floor | None:
    """A floor from before the camera's feet to somewhere behind a place; or none."""
    if rng.random() < FLOORLESS:
        return None
    ahead = (middle - camera.eye) * (1, 0, 1)
    away = float(np.linalg.norm(ahead))
    ahead = ahead / away
    across = np.cross(ahead, (0, 1, 0))
    foot = camera.eye * (1, 0, 1)
    near, far = foot + ahead * 1.2, foot + ahead * (away + float(rng.uniform(1.2, 7)))
    corners = np.stack(
        [far - across * away * 2, far + across * away * 2, near + across * 2.0, near - across * 2.0]
    )
    return Floor(some_wall(stage, rng)[:900, :1500], corners)


@cache
def _wall(stage: Any, kind: int) -> NDArray[np.float32]:
    return np.asarray(stage.wall(kind).mean(axis=2), np.float32)


def pictures(shot: Shot, shows: list[int], rng: Rng) -> list[Pixels]:
    """The film: of each picture in ``shows``, in order; grey, uint8 (h, w) each."""
    kept: dict[int, Pixels] = {}
    for number in sorted(set(shows)):
        picture = _exposed(shot, number)
        picture += rng.normal(0, shot.grain, picture.shape).astype(np.float32)
        kept[number] = np.clip(picture, 0, 255).astype(np.uint8)
        if shot.quality is not None:
            packed = cv2.imencode(".jpg", kept[number], [cv2.IMWRITE_JPEG_QUALITY, shot.quality])
            kept[number] = np.asarray(cv2.imdecode(packed[1], cv2.IMREAD_GRAYSCALE), np.uint8)
    return [kept[number] for number in shows]


def _exposed(shot: Shot, number: int) -> NDArray[np.float32]:
    total = np.zeros((shot.camera.h, shot.camera.w), np.float32)
    instants = _drawn(shot, number)
    for instant in instants:
        turn = shot.turns[instant]
        canvas = shot.camera.backdrop(shot.wall, turn)
        if shot.floor is not None:
            shot.floor.lay(canvas, shot.camera, turn)
        posed = [(body.joints[instant], body) for body in shot.bodies]
        for joints, body in sorted(posed, key=lambda one: -_far(shot.camera, one[0], turn)):
            if _far(shot.camera, joints, turn) > NEAREST:
                things = [
                    (thing, thing.points[instant])
                    for thing in body.things
                    if shot.camera.project(thing.points[instant], turn)[1].min() > NEAREST
                ]
                draw(canvas, body.figure, joints, body.k, shot.camera, turn, things)
        cv2.accumulate(canvas, total)
    return np.asarray(total / len(instants), np.float32)


def _drawn(shot: Shot, number: int) -> NDArray[np.int64]:
    """The instants of an exposure that are worth drawing: few where nothing moves far."""
    first, last = number * shot.clock.instants, (number + 1) * shot.clock.instants - 1
    moved = 0.0
    for body in shot.bodies:
        ends = [shot.camera.project(body.points(at), shot.turns[at]) for at in (first, last)]
        seen = np.minimum(ends[0][1], ends[1][1]) > NEAREST
        if seen.any():
            moved = max(moved, float(np.abs(ends[1][0] - ends[0][0])[seen].max()))
    count = int(np.clip(math.ceil(moved / APART), 1, shot.clock.instants))
    middle = (first + last) / 2
    return np.unique(np.round(middle + (last - first) * _spread(count))).astype(np.int64)


def _spread(count: int) -> Floats:
    """Evenly about 0: the ends are a half away on either side, one alone is in the middle."""
    return np.linspace(-0.5, 0.5, count) if count > 1 else np.zeros(1)


def _far(camera: Any, joints: Floats, turn: Floats) -> float:
    return float(camera.project(joints[0], turn)[1])


def some_shows(rng: Rng, frames: int, rate: Fraction, around: int) -> list[int]:
    """Which picture each frame shows: mostly its own; else repeats, or some that are held.

    Parameters
    ----------
    frames : int
        Pictures in the shot.
    rate : Fraction
        Of the film.
    around : int
        A picture near which things happen.
    """
    shows = list(range(frames))
    if rng.random() < 0.15:
        period = float(rate) / rng.uniform(6.5, 15)
        shows = [int(int(number / period) * period) for number in shows] if period > 1 else shows
    elif rng.random() < 0.08:
        every = int(rng.integers(3, 8))
        shows = [number - (number % every == every - 1) for number in shows]
    if rng.random() < 0.15:
        shows = [0] * int(rng.integers(2, 25)) + shows
    if rng.random() < 0.08:
        at = int(np.clip(around + rng.integers(-30, 30), 0, len(shows) - 1))
        shows[at:at] = [shows[at]] * int(rng.integers(1, 10))
    if rng.random() < 0.06:
        shows += [shows[-1]] * int(rng.integers(4, 20))
    return shows[: LONGEST + 15]


def first_shown(shows: list[int], exact: float) -> int | None:
    """The first frame in which an exact picture reads; None if there is none.

    A picture may come a quarter before it and still show it, as `stage.film` labels its films.
    """
    late = [frame for frame, picture in enumerate(shows) if picture >= exact - 0.25]
    return late[0] if late and exact >= -0.25 else None


def frames_between(shows: list[int], first: float, second: float) -> float:
    """Frames of the film from one exact picture to another."""
    places: dict[int, int] = {}
    for frame, picture in enumerate(shows):
        places.setdefault(picture, frame)
    seen, at = np.array(list(places)), np.array(list(places.values()))
    ends = (_along(seen, at, exact) for exact in (second, first))
    return float(next(ends) - next(ends))


def _along(seen: NDArray[np.int64], at: NDArray[np.int64], exact: float) -> float:
    inside = float(np.clip(exact, seen[0], seen[-1]))
    return float(np.interp(inside, seen, at)) + exact - inside
