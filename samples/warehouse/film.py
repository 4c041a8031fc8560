"""Film: exposures of many instants, tone, grain, and a file with timecode and reel."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from .camera import Camera, set_up
from .choreography import Performance, perform
from .draw import paint, place_parts
from .figure import Build, Floats
from .places import build_place
from .scene import Place, Plates, paint_plates
from .spec import FightSpec
from .textures import Picture
from .wardrobe import Sprite, parts_of, sprite

FEWEST, MOST = 6, 10
"""Instants per exposure, for a still and for a fast picture."""
REPEATABLE = "mbtree=0"
"""With macroblock-tree rate control the encoder's bytes vary from run to run (measured)."""


@dataclass(frozen=True)
class Set:
    """Everything that stays the same through a clip."""

    spec: FightSpec
    camera: Camera
    place: Place
    plates: Plates
    performance: Performance
    sprites: list[list[Sprite]]


def film_fight(folder: Path, spec: FightSpec) -> dict[str, Any]:
    """Film one clip into a folder; returns its entry of ``truth.json``.

    The same spec gives the same bytes on one machine.
    """
    threads = cv2.getNumThreads()
    cv2.setNumThreads(1)
    try:
        stage = _prepare(spec)
        _encode(folder / spec.file_name, spec, _frames(stage))
    finally:
        cv2.setNumThreads(threads)
    return truth_of(spec, stage.performance)


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


def _prepare(spec: FightSpec) -> Set:
    camera = set_up(spec.camera, spec.width, spec.height, spec.duration, spec.seed)
    place = build_place(spec.place, spec.camera, spec.swing, spec.seed)
    performance = perform(spec, camera.position)
    sprites = [
        _dressed(spec, who, performance.cast[who].joints(np.array([spec.duration / 2])), camera)
        for who in range(len(spec.looks))
    ]
    plates = paint_plates(place, camera, spec.seed)
    return Set(spec, camera, place, plates, performance, sprites)


def _dressed(spec: FightSpec, who: int, joints: Floats, camera: Camera) -> list[Sprite]:
    look = spec.looks[who]
    build = Build(look.height, look.girth)
    away = max(float(camera.at_rest(joints[0, 0])[2]), 1.0)
    scale = camera.focal / away
    return [
        sprite(part, float(np.linalg.norm(joints[0, part.end] - joints[0, part.start])), scale)
        for part in parts_of(look, build, spec.seed + 31 * who)
    ]


def _frames(stage: Set):  # type: ignore[no-untyped-def]
    """The pictures of a clip, 8-bit blue, green, red."""
    spec = stage.spec
    rng = np.random.default_rng([spec.seed, 9])
    grain = _grain_sheet(rng, spec)
    counts = _instants_per_frame(stage)
    for first in range(0, spec.frames, 24):
        numbers = range(first, min(first + 24, spec.frames))
        yield from _exposures(stage, numbers, counts, rng, grain)


def _instants_per_frame(stage: Set) -> NDArray[np.int64]:
    """More instants where something on the screen is fast."""
    spec = stage.spec
    times = (np.arange(spec.frames + 1) + spec.shutter / 720) / float(spec.rate)
    fastest = np.zeros(spec.frames)
    for figure in stage.performance.cast:
        screen = stage.camera.on_screen(stage.camera.at_rest(figure.joints(times)))
        moved = np.linalg.norm(np.diff(screen, axis=0), axis=2).max(axis=1)
        fastest = np.maximum(fastest, moved)
    return np.clip(np.ceil(fastest * spec.shutter / 360 / 3), FEWEST, MOST).astype(np.int64)


def _exposures(stage: Set, numbers: range, counts, rng, grain):  # type: ignore[no-untyped-def]
    spec = stage.spec
    times, owners = [], []
    for number in numbers:
        count = counts[number]
        within = (np.arange(count) + 0.5) / count * spec.shutter / 360
        times.append((number + within) / float(spec.rate))
        owners += [number] * count
    instants = np.concatenate(times)
    rotations = stage.camera.rotations(instants)
    lean = stage.place.lamp.lean(instants)
    cast = [figure.joints(instants) for figure in stage.performance.cast]
    lamps = stage.place.lamp.positions(lean)
    placed = place_parts(stage.sprites, cast, stage.camera, rotations, (stage.place, lamps))
    flat = [s for figure in stage.sprites for s in figure]
    position = 0
    for number in numbers:
        count = int(counts[number])
        exposure = np.zeros((spec.height, spec.width, 3), np.float32)
        plate = stage.plates.at(float(lean[position + count // 2]))
        for instant in range(position, position + count):
            canvas = _background(stage, plate, rotations[instant])
            paint(canvas, flat, placed, instant, stage.place)
            exposure += canvas
        position += count
        yield _developed(exposure / count, spec, grain, rng)


def _background(stage: Set, plate: Picture, rotation: Floats) -> Picture:
    camera = stage.camera
    height, width = plate.shape[:2]
    matrix = camera.homography(rotation, (width, height))
    return cv2.warpPerspective(
        plate, matrix, (camera.width, camera.height), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    )


def _developed(
    light: Picture, spec: FightSpec, grain: Picture, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """Linear light to an 8-bit picture with grain."""
    glow = cv2.GaussianBlur(np.maximum(light - 0.6, 0), (0, 0), 6 * spec.width / 640)
    exposed = (light + 0.5 * glow) * (1.5 * spec.exposure)
    toned = 255 * (exposed / (exposed + 0.35) * 1.25) ** (1 / 1.55)
    x, y = (
        int(rng.integers(0, size))
        for size in (grain.shape[1] - spec.width, grain.shape[0] - spec.height)
    )
    sheet = grain[y : y + spec.height, x : x + spec.width]
    return np.clip(toned[..., ::-1] + sheet[..., None], 0, 255).astype(np.uint8)


def _grain_sheet(rng: np.random.Generator, spec: FightSpec) -> Picture:
    sheet = rng.normal(0, 1, (spec.height + 120, spec.width + 160)).astype(np.float32)
    sheet = cv2.GaussianBlur(sheet, (0, 0), 0.6)
    return np.asarray(sheet / sheet.std() * spec.grain, np.float32)


def _encode(path: Path, spec: FightSpec, pictures) -> None:  # type: ignore[no-untyped-def]
    """Write H.264 in a QuickTime file with a timecode track that carries the reel."""
    base = Fraction(1) / spec.rate
    with av.open(str(path), "w", format="mov") as container:
        container.metadata["timecode"] = spec.start_timecode
        options = {"crf": "20", "preset": "veryfast", "threads": "1", "x264-params": REPEATABLE}
        stream = container.add_stream("libx264", rate=spec.rate, options=options)
        stream.width, stream.height, stream.pix_fmt = spec.width, spec.height, "yuv420p"
        stream.metadata["reel_name"] = spec.reel
        stream.time_base = stream.codec_context.time_base = base
        for number, picture in enumerate(pictures):
            frame = av.VideoFrame.from_ndarray(picture, format="bgr24")
            frame.pts, frame.time_base = number, base
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
