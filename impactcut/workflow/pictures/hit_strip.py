"""A hit's splice strip: its small pictures, and the drawing of what is taken out of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from impactcut.core.detect.hits import Hit
from impactcut.core.fight.entries import HitEntry
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.strip import framing, lay_strip, small_frames, strip_frames
from impactcut.core.trims.trim import Trim
from impactcut.media.render.pictures import Picture, PictureFormat, compress
from impactcut.media.render.strip import Ink, crop, draw_strip, side_by_side
from impactcut.project import Project, StoredClip
from impactcut.workflow.pictures.hit_pictures import read_hit_pictures

CELL: Final = 120
"""Width and height of a frame of a strip, pixels: twice that of the page's largest."""


def strip_cells(hit: Hit, clip: Clip, pictures: Mapping[int, Picture]) -> dict[int, Picture]:
    """A square picture of the fighters for each frame of a hit's strip, by frame.

    Parameters
    ----------
    pictures : mapping of int to Picture
        Whole pictures by frame; more than the strip's may be there.
    """
    shown = strip_frames(hit.contact, clip.frames)
    cells = {}
    for frame in range(shown.start, shown.stop):
        height, width = pictures[frame].pixels.shape[:2]
        cells[frame] = crop(pictures[frame], framing(hit.region, width, height), CELL)
    return cells


def read_strip(stored: StoredClip, hit: Hit) -> dict[int, Picture]:
    """`strip_cells`, read from the clip.

    Raises
    ------
    MediaError
        If the file cannot be read, or is no longer the one that was measured.
    """
    clip = stored.clip
    shown = strip_frames(hit.contact, clip.frames)
    width = round(CELL * max(1, clip.width / clip.height))
    pictures = read_hit_pictures(stored, shown, width)
    return strip_cells(hit, clip, {picture.index: picture for picture in pictures})


def strip_sheet(cells: Mapping[int, Picture], form: PictureFormat, quality: int) -> bytes:
    """The pictures of a strip side by side, compressed."""
    return compress(side_by_side([cells[frame] for frame in sorted(cells)]), form, quality)


def drawn_strip(
    project: Project, hit: HitEntry, trim: Trim | None, wide: int, ink: Ink, *, whole: bool = False
) -> Picture:
    """The drawing of a hit with a trim out, or as shot.

    Parameters
    ----------
    wide : int
        Pixels.
    whole : bool
        Whether to draw every frame, not only those around the trim.

    Raises
    ------
    MediaError
        As `read_strip`.
    """
    stored = project.clip_at(hit.clip.path)
    assert stored is not None
    cells, contact = read_strip(stored, hit.impact), hit.impact.contact
    out = None if trim is None else trim.frames
    shown = FrameRange(min(cells), max(cells) + 1)
    if not whole:
        shown = small_frames(shown, contact, out)
    return Picture(contact, draw_strip(lay_strip(shown, out), cells, contact, wide, ink))
