"""The moment of a hit as pictures: which frames of the clip show it, each compressed by itself."""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Final

from impactcut.core.detect.hits import Hit
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.splices import COUNTS
from impactcut.core.viewer.flashes import Flashes, count_flashes, light_grid, looped
from impactcut.errors import UnreadableMediaError
from impactcut.media.render.pictures import Picture, PictureFormat, compress, read_pictures, shrink
from impactcut.project import StoredClip
from impactcut.workflow.files.fingerprint import as_measured

AROUND_CONTACT: Final = Fraction(7, 10)
"""Seconds shown on either side of the contact: a blow and its reaction, with room to judge."""
BEYOND_HIT: Final = Fraction(1, 4)
"""Seconds shown at least before the onset and after the settling."""
REST_SECONDS: Final = Fraction(2, 5)
"""For which the last picture stands before a moment is played again (``player.js``)."""
MOST_AROUND: Final = 48
LEAST_AROUND: Final = 8

_LADDER: Final = (
    (960, 75), (960, 60), (800, 60), (640, 60), (640, 45), (480, 50), (480, 35), (320, 35),
    (320, 20), (240, 10),
)  # fmt: skip
_MOST_THREADS: Final = 4
_TRIED: Final = 4


@dataclass(frozen=True, eq=False)
class PictureRun:
    """Frames of a clip one after another, each compressed by itself.

    Parameters
    ----------
    first : int
        Clip frame of the first picture.
    width, height : int
        Of every picture, in pixels.
    form : {"jpeg", "webp"}
    pictures : tuple of bytes
        Files.
    """

    first: int
    width: int
    height: int
    form: PictureFormat
    pictures: tuple[bytes, ...]


def shown_frames(hit: Hit, clip: Clip) -> FrameRange:
    """The frames of a clip that show a hit.

    They reach `AROUND_CONTACT` before and after the contact, and `BEYOND_HIT` beyond onset and
    settling where those lie further out, but never past `MOST_AROUND` frames or the clip's ends.
    """
    before = _reach(clip.rate, hit.contact - hit.onset)
    after = _reach(clip.rate, max(hit.settle, hit.reaction or 0) - hit.contact)
    start, stop = hit.contact - before, hit.contact + after + 1
    return FrameRange(max(0, start), min(clip.frames, stop))


def read_hit_pictures(stored: StoredClip, frames: FrameRange, width: int) -> tuple[Picture, ...]:
    """Frames of a clip of the project, in colour.

    Raises
    ------
    MediaError
        If the file cannot be read, or is no longer the one that was measured.
    """
    assert stored.clip is not None
    path = Path(stored.path)
    _check_unchanged(path, stored)
    return read_pictures(path, frames, width=width, frames=stored.clip.frames)


def moment_flashes(pictures: Sequence[Picture], rate: Fraction) -> Flashes:
    """The flashes of a moment as the page plays it: over and over, with up to 3 frames out."""
    grids = [light_grid(picture.pixels) for picture in pictures]
    return count_flashes(looped(grids, round(REST_SECONDS * rate)), rate, spare=COUNTS[-1])


def compress_run(pictures: Sequence[Picture], form: PictureFormat, quality: int) -> PictureRun:
    """Every picture compressed at one quality (1 to 100)."""
    height, width = pictures[0].pixels.shape[:2]
    with ThreadPoolExecutor(min(_MOST_THREADS, os.cpu_count() or 1)) as pool:
        data = pool.map(partial(compress, form=form, quality=quality), pictures)
        return PictureRun(pictures[0].index, width, height, form, tuple(data))


def fit_run(pictures: Sequence[Picture], most_bytes: int) -> PictureRun:
    """The best run of WebP pictures of at most ``most_bytes`` together, or the smallest there is.

    Width and quality go down a fixed ladder, so that the same pictures give the same run.
    """
    tried = pictures[:: max(1, len(pictures) // _TRIED)]
    widest = pictures[0].pixels.shape[1]
    rungs = dict.fromkeys((min(width, widest), quality) for width, quality in _LADDER)
    for width, quality in rungs:
        sample = compress_run([shrink(picture, width) for picture in tried], "webp", quality)
        if _size(sample) * len(pictures) > most_bytes * len(tried):
            continue
        run = compress_run([shrink(picture, width) for picture in pictures], "webp", quality)
        if _size(run) <= most_bytes:
            return run
    width, quality = _LADDER[-1]
    return compress_run([shrink(picture, width) for picture in pictures], "webp", quality)


def _reach(rate: Fraction, frames: int) -> int:
    wanted = max(AROUND_CONTACT * rate, frames + BEYOND_HIT * rate)
    return min(MOST_AROUND, max(LEAST_AROUND, round(wanted)))


def _size(run: PictureRun) -> int:
    return sum(map(len, run.pictures))


def _check_unchanged(path: Path, stored: StoredClip) -> None:
    if as_measured(path, stored):
        return
    raise UnreadableMediaError(
        f"{path}: has changed since it was measured, so its frames may be others; "
        "scan it again with 'impactcut scan'"
    )
