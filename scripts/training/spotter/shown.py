"""Planes of labelled clips and films, made by several processes and kept on disk."""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from filming.films import Film, film
from numpy.typing import NDArray

from impactcut.core.detect.planes import COLUMNS, ROWS, box_of, shown_planes
from impactcut.media.measure.flow import flow_method, flow_picture, measure_interval

from .labelled import KIND_OF, Labelled, Mark, strike_fold

GreyArray = NDArray[np.uint8]
WIDTH = 480
"""Width to which a scan shrinks frames."""


@dataclass(frozen=True)
class Order:
    """A labelled clip, or the kind and number of a film, whose planes are wanted in a folder."""

    what: Labelled | tuple[str, int]
    bench: Path
    folder: Path


def make_planes(orders: Sequence[Order], processes: int) -> tuple[list[Labelled], list[str]]:
    """The clips whose planes now lie in their folder, and what went wrong with others."""
    with multiprocessing.get_context("fork").Pool(processes) as pool:
        made = list(pool.imap_unordered(_make, orders))
    clips = [clip for clip, _ in made if clip is not None]
    return clips, [trouble for clip, trouble in made if clip is None]


def planes_file(folder: Path, clip: Labelled) -> Path:
    """Where the planes of a clip lie."""
    return folder / f"{clip.name.replace('/', '_')}.npy"


def grey_frames(path: Path) -> Iterator[GreyArray]:
    """The frames of a clip as a scan has them; without PyAV, nearly so, as OpenCV decodes them."""
    try:
        from impactcut.media.decode.frames import read_frames
    except ImportError:
        yield from _by_opencv(path)
        return
    for frame in read_frames(path, width=WIDTH):
        yield frame.luma


def _by_opencv(path: Path) -> Iterator[GreyArray]:
    capture = cv2.VideoCapture(str(path))
    if not capture.isOpened():
        raise OSError(f"{path} cannot be opened")
    while True:
        more, picture = capture.read()
        if not more:
            return
        grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
        if grey.shape[1] > WIDTH:
            size = (WIDTH, round(grey.shape[0] * WIDTH / grey.shape[1]))
            grey = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
        yield np.asarray(grey, np.uint8)


def planes_of(frames: Iterable[GreyArray]) -> tuple[GreyArray, tuple[float, float]]:
    """Planes of every frame, uint8, shape (n, PLANES, ROWS, COLUMNS), and the shares they fill."""
    method = flow_method()
    before: GreyArray | None = None
    every, shares = [], (1.0, 1.0)
    for luma in frames:
        _, _, wide, high = box_of(luma.shape[1], luma.shape[0])
        shares = (wide / COLUMNS, high / ROWS)
        picture = flow_picture(luma)
        moved = None if before is None else measure_interval(method, before, picture).planes
        every.append(shown_planes(luma, moved))
        before = picture
    return np.stack(every), shares


def film_labels(made: Film, kind: str, number: int) -> Labelled:
    """A film as a labelled clip."""
    marks = tuple(
        Mark(
            frame=int(hit["frame"]),
            scored=bool(hit["scored"]),
            place=None if hit.get("x") is None else (float(hit["x"]), float(hit["y"])),
            lag=None if hit.get("lag") is None else float(hit["lag"]),
            kind=KIND_OF.get(hit.get("kind") or ""),
        )
        for hit in made.hits
    )
    return Labelled(
        name=f"film/{kind}_{number:05d}",
        path=None,
        source=kind,
        group=made.group,
        fold=strike_fold(made.group),
        rate=made.rate,
        frames=len(made.frames),
        marks=marks,
        film=(kind, number),
    )


def _make(order: Order) -> tuple[Labelled | None, str]:
    cv2.setNumThreads(1)
    try:
        if isinstance(order.what, Labelled):
            assert order.what.path is not None
            planes, shares = planes_of(grey_frames(order.what.path))
            clip = replace(order.what, frames=len(planes), shape_on_grid=shares)
        else:
            made = film(*order.what, order.bench)
            planes, shares = planes_of(made.frames)
            clip = replace(film_labels(made, *order.what), shape_on_grid=shares)
        np.save(planes_file(order.folder, clip), planes)
    except Exception as error:  # one that cannot be made is told, and costs no other
        return None, f"{order.what}: {error!r}"
    return clip, ""
