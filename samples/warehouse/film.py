"""Film: exposures of many instants, tone, grain; and a file of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from .camera import set_up
from .choreography import Performance, perform
from .draw import light_sprites, paint
from .figure import Build
from .onscreen import Stage, light_parts, place_parts
from .places import build_place
from .plates import paint_plates
from .scene import Place, Plates
from .shadows import hang_lamp, shadowed
from .spec import FightSpec
from .textures import Picture
from .vectors import Floats
from .wardrobe import parts_of, sprite

FEWEST, MOST = 6, 10
"""Instants per exposure, for a still and for a fast picture."""
STEP = 3.0
"""Pixels that anything may move between two instants before there are more of them."""
Frame = NDArray[np.uint8]


@dataclass(frozen=True)
class Shoot:
    """Everything that stays the same through a clip."""

    spec: FightSpec
    place: Place
    plates: Plates
    performance: Performance
    stage: Stage


def film_fight(folder: Path, spec: FightSpec) -> dict[str, Any]:
    """Film one clip into a folder; returns its entry of ``truth.json``.

    The same spec gives the same bytes on one machine.
    """
    from .encode import encode  # here, so that pictures can be had where there is no encoder

    threads = cv2.getNumThreads()
    cv2.setNumThreads(1)
    try:
        shoot = prepare(spec)
        encode(folder / spec.file_name, spec, pictures(shoot))
    finally:
        cv2.setNumThreads(threads)
    return truth_of(spec, shoot.performance)


def truth_of(spec: FightSpec, performance: Performance) -> dict[str, Any]:
    """What is true of a clip: facts about the file, its hits in order, and falls."""
    return {
        "clip": spec.file_name,
        "reel": spec.reel,
        "section": spec.section,
        "take": spec.take,
        "angle": spec.angle,
        "fps": str(spec.rate),
        "frames": spec.frames,
        "start_timecode": spec.start_timecode,
        "width": spec.width,
        "height": spec.height,
        "shutter": spec.shutter,
        "camera": spec.camera.motion,
        "hits": list(performance.hits),
        "falls": list(performance.falls),
    }


def prepare(spec: FightSpec) -> Shoot:
    """Stage a clip and paint what stands still in it."""
    camera = set_up(spec.camera, spec.width, spec.height, spec.duration, spec.seed)
    place = build_place(spec)
    performance = perform(spec, camera.position)
    sprites, owners = [], []
    for who, look in enumerate(spec.looks):
        joints = performance.cast[who].joints(np.array([spec.duration / 2]))[0]
        away = max(float(camera.at_rest(joints[0])[2]), 1.0)
        for part in parts_of(look, Build(look.height, look.girth), spec.seed + 31 * who):
            length = float(np.linalg.norm(joints[part.end] - joints[part.start]))
            sprites.append(sprite(part, length, camera.focal / away))
            owners.append(who)
    stage = Stage(tuple(sprites), tuple(owners), camera, place.lamp, place.moon)
    return Shoot(spec, place, paint_plates(place, camera, spec.seed), performance, stage)


def pictures(shoot: Shoot) -> Iterator[Frame]:
    """The frames of a clip, blue, green, red."""
    spec = shoot.spec
    rng = np.random.default_rng([spec.seed, 9])
    sheet, tones = _grain_sheet(rng, spec), _tone_table(spec.exposure)
    for number, count in enumerate(_instants_per_frame(shoot)):
        light = _exposed(shoot, number, int(count))
        yield _developed(light, tones, _cut(sheet, rng, spec))


def _instants_per_frame(shoot: Shoot) -> NDArray[np.int64]:
    """More instants where something on the picture is fast."""
    spec, camera = shoot.spec, shoot.stage.camera
    times = np.linspace(0, spec.duration, spec.frames + 1)
    fastest = np.zeros(spec.frames)
    for figure in shoot.performance.cast:
        moved = np.diff(camera.on_screen(camera.at_rest(figure.joints(times))), axis=0)
        fastest = np.maximum(fastest, np.linalg.norm(moved, axis=2).max(axis=1))
    return np.clip(np.ceil(fastest * spec.shutter / 360 / STEP), FEWEST, MOST).astype(np.int64)


def _exposed(shoot: Shoot, number: int, count: int) -> Picture:
    """Linear light of one frame: the mean of instants spread over the exposure."""
    spec, stage = shoot.spec, shoot.stage
    within = (np.arange(count) + 0.5) / count * spec.shutter / 360
    times = (number + within) / float(spec.rate)
    rotations = stage.camera.rotations(times)
    cast = [figure.joints(times) for figure in shoot.performance.cast]
    placed = place_parts(stage, cast, rotations)
    middle = count // 2
    lean = shoot.place.lamp.lean(times[middle : middle + 1])
    lamp = shoot.place.lamp.positions(lean)[0]
    now = [joints[middle] for joints in cast]
    light = light_parts(stage, now, rotations[middle], lamp)
    lit = light_sprites(stage.sprites, light, shoot.place)
    plate = _dressed_plate(shoot, now, float(lean[0]), lamp)
    total = np.zeros((spec.height, spec.width, 3), np.float32)
    for instant in range(count):
        canvas = _background(shoot, plate, rotations[instant])
        paint(canvas, lit, placed, instant)
        cv2.accumulate(canvas, total)
    return np.asarray(total / count, np.float32)


def _dressed_plate(shoot: Shoot, cast: list[Floats], lean: float, lamp: Floats) -> Picture:
    """The background with this instant's shadows and lamp."""
    plate = shoot.plates.at(lean)
    plate = shadowed(plate, shoot.plates.ground, shoot.stage.camera, cast, lamp)
    return hang_lamp(plate, shoot.stage.camera, shoot.place.lamp, lamp)


def _background(shoot: Shoot, plate: Picture, rotation: Floats) -> Picture:
    camera = shoot.stage.camera
    height, width = plate.shape[:2]
    size = (camera.width, camera.height)
    if camera.motion.motion == "locked":
        left, top = (width - size[0]) // 2, (height - size[1]) // 2
        return plate[top : top + size[1], left : left + size[0]].copy()
    matrix = camera.homography(rotation, (width, height))
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpPerspective(plate, matrix, size, flags=flags), np.float32)


_LEVELS = 4096
_BRIGHTEST = 4.0


def _tone_table(exposure: float) -> Picture:
    """8-bit levels, not rounded, for `_LEVELS` steps of linear light up to `_BRIGHTEST`."""
    light = np.arange(_LEVELS) / (_LEVELS - 1) * _BRIGHTEST * 1.6 * exposure
    return (255 * (light * 1.25 / (light + 0.38)) ** (1 / 1.55)).clip(0, 262).astype(np.float32)


def _developed(light: Picture, tones: Picture, grain: Picture) -> Frame:
    """Linear light to an 8-bit picture with grain, bright parts glowing a little."""
    small = cv2.resize(light, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    glow = cv2.GaussianBlur(np.maximum(small - 0.7, 0), (0, 0), small.shape[1] / 60)
    halo = cv2.resize(glow, light.shape[1::-1], interpolation=cv2.INTER_LINEAR)
    steps = np.minimum((light + 0.35 * halo) * np.float32((_LEVELS - 1) / _BRIGHTEST), _LEVELS - 1)
    picture = tones[steps.astype(np.int32)] + grain[..., None]
    return np.asarray(np.clip(picture[..., ::-1], 0, 255), np.uint8)


def _grain_sheet(rng: np.random.Generator, spec: FightSpec) -> Picture:
    sheet = rng.normal(0, 1, (spec.height + 120, spec.width + 160)).astype(np.float32)
    soft = cv2.GaussianBlur(sheet, (0, 0), 0.6)
    return np.asarray(soft / soft.std() * spec.grain, np.float32)


def _cut(sheet: Picture, rng: np.random.Generator, spec: FightSpec) -> Picture:
    """A picture's worth of grain from somewhere on the sheet."""
    top, left = int(rng.integers(0, 120)), int(rng.integers(0, 160))
    return sheet[top : top + spec.height, left : left + spec.width]
