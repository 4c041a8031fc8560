"""Sheets of pictures around the hits of a fit's films, to look at.

    python scripts/training/contact_sheet.py BENCH KIND START STOP --sheet FILE.png

BENCH is a folder with ``stage.py`` (a virtual stage, no part of this project) and ``captures/``.
KIND is one of ``strike``, ``fight``, ``thing``, ``calm``; films START up to STOP are made, as the
fit makes them. The sheet shows some pictures around each hit with its place marked, or some of the
film where there is none.
"""

# ruff: noqa: E402 - the renderers are found first

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "scripts/training"), str(ROOT / "samples")]

from filming.films import film
from filming.truths import KINDS, Film

AROUND: Final = (-8, -4, -2, -1, 0, 1, 2, 4, 8)
"""Frames about a hit; where there is none, about the middle of the film, further apart."""
CELL: Final = (216, 150)
"""Width and height of a picture on the sheet, pixels."""


def main() -> None:
    """Draw the sheet asked for."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("bench", type=Path)
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("start", type=int)
    parser.add_argument("stop", type=int)
    parser.add_argument("--sheet", type=Path, required=True, help="the picture to write")
    options = parser.parse_args()
    films = []
    for number in range(options.start, options.stop):
        began = time.process_time()
        films.append((number, film(options.kind, number, options.bench)))
        print(told(number, films[-1][1], time.process_time() - began))
    if not cv2.imwrite(str(options.sheet), sheet_of(films)):
        raise SystemExit(f"{options.sheet}: cannot be written; is its folder there?")


def told(number: int, made: Film, seconds: float) -> str:
    """A line about a film."""
    height, width = made.frames[0].shape
    hits = [
        f"{hit['kind']}{'' if hit['scored'] else ' (not scored)'} at {hit['frame']}"
        for hit in made.hits
    ]
    said = f"{number}: {made.group}, {len(made.frames)} frames {width} x {height}"
    return f"{said} at {float(made.rate):.2f}, {seconds:.1f} s: {'; '.join(hits) or 'no hits'}"


def sheet_of(films: Sequence[tuple[int, Film]]) -> NDArray[np.uint8]:
    """One row for each scored hit, one for each film without; blue, green, red."""
    rows = []
    for number, made in films:
        marks = [hit for hit in made.hits if hit["scored"]]
        rows += [_row(made, number, hit) for hit in marks or [None]]
    return np.concatenate(rows)


def _row(made: Film, number: int, hit: dict[str, Any] | None) -> NDArray[np.uint8]:
    last = len(made.frames) - 1
    middle = hit["frame"] if hit else last // 2
    apart = 1 if hit else last / 2 / AROUND[-1]
    cells = []
    for away in AROUND:
        frame = int(np.clip(middle + round(away * apart), 0, last))
        told = f"{number}: {frame}" if away != 0 or not hit else f"{number}: {frame} {hit['kind']}"
        cells.append(_cell(made.frames[frame], told, hit, away == 0))
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


if __name__ == "__main__":
    main()
