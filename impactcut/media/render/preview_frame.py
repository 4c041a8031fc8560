"""One frame of a preview: the picture, and a band below it that says what is seen.

Nothing is drawn into the picture. At full speed nothing in the band blinks at a splice either, for
that would give it away to an eye that is to judge it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np

from impactcut.core.programme.preview import Passage
from impactcut.core.time.frames import FrameRange
from impactcut.media.render.pictures import (
    Colour,
    Pixels,
    fitting_scale,
    text_size,
    write_text,
)

LONGEST_SIDE: Final = 1280
_NARROWEST: Final = 480
_LOWEST_BAND: Final = 56
_BAND: Colour = (30, 28, 26)
_BRIGHT: Colour = (232, 230, 226)
_DIM: Colour = (158, 154, 150)
_RAIL: Colour = (84, 80, 76)
_TAKEN: Colour = (70, 120, 240)


@dataclass(frozen=True)
class Canvas:
    """Size of a preview's frames, in pixels, all even: a picture area with a band below it."""

    width: int
    picture_height: int
    band_height: int

    @property
    def height(self) -> int:
        """Height of a whole frame."""
        return self.picture_height + self.band_height

    @property
    def text_scale(self) -> float:
        """Size of the larger text, in units of the font."""
        return self.band_height / 78


@dataclass(frozen=True)
class Labels:
    """What stands in the band for one passage: plain ASCII.

    Parameters
    ----------
    title : str
        What is done to the clip here.
    name : str
        Which clip, and which hit.
    pace : str
        How fast it runs.
    """

    title: str
    name: str
    pace: str


def picture_width(width: int, height: int) -> int:
    """Width to which a picture of that size is shrunk, so that neither side is too long."""
    return max(1, width * min(LONGEST_SIDE, max(width, height)) // max(width, height))


def canvas_for(sizes: list[tuple[int, int]]) -> Canvas:
    """Canvas that holds pictures of those widths and heights, each shrunk to `picture_width`."""
    shrunk = [(picture_width(w, h), h * picture_width(w, h) / w) for w, h in sizes]
    width = _even(max(_NARROWEST, *(wide for wide, _ in shrunk)))
    return Canvas(
        width,
        _even(max(round(high) for _, high in shrunk)),
        _even(max(_LOWEST_BAND, width * 0.075)),
    )


def draw_frame(
    canvas: Canvas, passage: Passage, labels: Labels, frame: int, picture: Pixels
) -> Pixels:
    """A frame of a passage.

    Parameters
    ----------
    frame : int
        Frame of the clip.
    picture : uint8, shape (height, width, 3)
        Blue, green, red; it is centred, and cut where it does not fit.

    Returns
    -------
    uint8, shape (canvas.height, canvas.width, 3)
    """
    drawn = _empty(canvas)
    _place(drawn[: canvas.picture_height], picture)
    band = drawn[canvas.picture_height :]
    _draw_rail(band, passage, frame)
    marked = passage.hold > 1 and _mark(passage, frame)
    _write(band, canvas, 0, (labels.title, marked or _position(passage, frame)))
    _write(band, canvas, 1, (labels.name, labels.pace))
    if marked:
        cv2.rectangle(band, (0, 0), (canvas.width - 1, canvas.band_height - 1), _TAKEN, 2)
    return drawn


def draw_title(canvas: Canvas, passage: Passage, labels: Labels) -> Pixels:
    """The frame that stands before a passage."""
    drawn = _empty(canvas)
    middle = canvas.picture_height // 2
    scale = canvas.text_scale
    for line, (text, colour) in enumerate(((labels.title, _BRIGHT), (labels.pace, _DIM))):
        size = fitting_scale(text, scale * (1.5 - 0.6 * line), canvas.width - 20)
        wide, high = text_size(text, size)
        at = ((canvas.width - wide) // 2, middle + high // 2 + round(line * 46 * scale))
        write_text(drawn, text, at, size, colour)
    _draw_rail(drawn[canvas.picture_height :], passage, passage.frames.start)
    _write(drawn[canvas.picture_height :], canvas, 1, (labels.name, ""))
    return drawn


def _empty(canvas: Canvas) -> Pixels:
    drawn = np.zeros((canvas.height, canvas.width, 3), np.uint8)
    drawn[canvas.picture_height :] = _BAND
    return drawn


def _place(area: Pixels, picture: Pixels) -> None:
    high, wide = (min(a, b) for a, b in zip(area.shape[:2], picture.shape[:2], strict=True))
    top, left = (area.shape[0] - high) // 2, (area.shape[1] - wide) // 2
    area[top : top + high, left : left + wide] = picture[:high, :wide]


def _mark(passage: Passage, frame: int) -> str:
    if passage.is_splice(frame):
        return f"SPLICE  frame {frame}"
    return f"GOES OUT  frame {frame}" if passage.is_to_go(frame) else ""


def _position(passage: Passage, frame: int) -> str:
    clip = passage.clip
    parts = [f"frame {frame}", clip.timecode(frame)]
    if passage.record_start is not None:
        record = passage.record_start + passage.place(frame) - passage.lead
        parts.append(f"rec {clip.timebase.timecode(record) or ''}")
    return "  ".join(part for part in parts if part)


def _draw_rail(band: Pixels, passage: Passage, frame: int) -> None:
    """A rail for the run: contacts as ticks, trims in colour, and where we are."""
    height = max(4, band.shape[0] // 10)

    def across(place: float) -> int:
        part = (place - passage.frames.start) / len(passage.frames)
        return int(part * (band.shape[1] - 1))

    def fill(frames: FrameRange, top: int, bottom: int, colour: Colour) -> None:
        left, right = across(frames.start), max(across(frames.start) + 2, across(frames.stop))
        band[top:bottom, left:right] = colour

    fill(passage.frames, height // 2, height, _RAIL)
    for gap in passage.removed:
        fill(gap, 0, height, _TAKEN)
    for hit in passage.hits:
        fill(FrameRange(hit.impact.contact, hit.impact.contact + 1), height, height + 3, _BRIGHT)
    fill(FrameRange(frame, frame + 1), 0, height, _BRIGHT)


def _write(band: Pixels, canvas: Canvas, row: int, texts: tuple[str, str]) -> None:
    """A row of the band: text at the left, text at the right, made to fit."""
    margin = canvas.band_height // 6
    room = canvas.width - 3 * margin
    size = canvas.text_scale * (0.82, 0.7)[row]
    widths = [text_size(text, size)[0] for text in texts]
    size *= min(1.0, room / max(1, sum(widths)))
    baseline = round(canvas.band_height * (0.5, 0.87)[row])
    right = canvas.width - margin - text_size(texts[1], size)[0]
    colour = (_BRIGHT, _DIM)[row]
    for text, left in zip(texts, (margin, right), strict=True):
        write_text(band, text, (left, baseline), size, colour)


def _even(length: float) -> int:
    return 2 * max(1, -(-round(length) // 2))
