"""Sheets of pictures around the hits of films, to look at."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

AROUND: Final = (-8, -4, -2, -1, 0, 1, 2, 4, 8)
"""Frames about a hit; where there is none, about the middle of the film, further apart."""
CELL: Final = (216, 150)
"""Width and height of a picture on the sheet, pixels."""


def sheet_of(films: Sequence[tuple[int, Any]]) -> NDArray[np.uint8]:
    """One row for each scored hit, one for each film without; blue, green, red."""
    rows = []
    for number, film in films:
        marks = [hit for hit in film.hits if hit["scored"]]
        rows += [_row(film, number, hit) for hit in marks or [None]]
    return np.concatenate(rows)


def _row(film: Any, number: int, hit: dict[str, Any] | None) -> NDArray[np.uint8]:
    last = len(film.frames) - 1
    middle = hit["frame"] if hit else last // 2
    apart = 1 if hit else last / 2 / AROUND[-1]
    cells = []
    for away in AROUND:
        frame = int(np.clip(middle + round(away * apart), 0, last))
        told = f"{number}: {frame}" if away != 0 or not hit else f"{number}: {frame} {hit['kind']}"
        cells.append(_cell(film.frames[frame], told, hit, away == 0))
    return np.concatenate(cells, axis=1)


def _cell(
    picture: NDArray[np.uint8], told: str, hit: dict[str, Any] | None, marked: bool
) -> NDArray[np.uint8]:
    width, height = CELL
    size = min(width / picture.shape[1], height / picture.shape[0])
    small = cv2.resize(picture, None, fx=size, fy=size, interpolation=cv2.INTER_AREA)
    cell = np.zeros((height, width, 3), np.uint8)
    cell[: small.shape[0], : small.shape[1]] = small[..., None]
    if hit and hit["x"] is not None:
        spot = (round(hit["x"] * small.shape[1]), round(hit["y"] * small.shape[0]))
        cv2.circle(cell, spot, 9, (60, 60, 255) if marked else (0, 160, 160), 1)
    cv2.putText(cell, told, (3, height - 4), cv2.FONT_HERSHEY_PLAIN, 0.9, (90, 255, 90), 1)
    return cell
