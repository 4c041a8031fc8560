"""The moment of a hit as pictures: which frames of the clip show it, and these compressed."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Final, Literal

from impactcut.core.detect.hits import Hit
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.splice_indices import COUNTS
from impactcut.core.viewer.flashes import Flashes, count_flashes, light_grid, looped
from impactcut.errors import UnreadableMediaError
from impactcut.media.render.film import CODEC as CODEC
from impactcut.media.render.film import encode_film
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

_LADDER: Final = ((960, 26), (960, 33), (800, 38), (640, 43), (480, 48), (320, 54), (240, 60))
"""Width and coarseness, each about half the size of the one before; the first keeps what WebP of
quality 75 keeps (within 1.5 dB, scripts/bench/README.md)."""
_MOST_THREADS: Final = 4


@dataclass(frozen=True, eq=False)
class PictureRun:
    """Frames of a clip one after another, compressed.

    Parameters
    ----------
    first : int
        Clip frame of the first picture.
    width, height : int
        Of every picture, in pixels.
    form : {"jpeg", "webp", "vp9"}
    pictures : tuple of bytes
        Files, or packets of which each needs those before it.
    """

    first: int
    width: int
    height: int
    form: Literal["jpeg", "webp", "vp9"]
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
    """The best run of VP9 packets of at most ``most_bytes`` together, or the smallest there is.

    Width and coarseness go down a fixed ladder, so that the same pictures give the same run; steps
    that would not be enough are left out.
    """
    step = 0
    while True:
        width, coarseness = _LADDER[step]
        shrunk = [shrink(picture, width) for picture in pictures]
        height, wide = shrunk[0].pixels.shape[:2]
        packets = encode_film(shrunk, coarseness)
        size = sum(map(len, packets))
        if size <= most_bytes or step == len(_LADDER) - 1:
            return PictureRun(pictures[0].index, wide // 2 * 2, height // 2 * 2, "vp9", packets)
        step = min(len(_LADDER) - 1, step + max(1, int(math.log2(size / max(1, most_bytes)))))


def _reach(rate: Fraction, frames: int) -> int:
    wanted = max(AROUND_CONTACT * rate, frames + BEYOND_HIT * rate)
    return min(MOST_AROUND, max(LEAST_AROUND, round(wanted)))


def _check_unchanged(path: Path, stored: StoredClip) -> None:
    if as_measured(path, stored):
        return
    raise UnreadableMediaError(
        f"{path}: has changed since it was measured, so its frames may be others; "
        "scan it again with 'impactcut scan'"
    )
