"""Pictures to look at: the frame asked for, its colours, upright, and compressed.

Frames are told by the number drawn into each (tests/helpers/footage/media_files.py). Colours are
put in and checked by the luma equations of ITU-R BT.709-6 (items 3.2 and 3.4) and BT.601-7 (section
2.5), limited range.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from impactcut.core.time.frames import FrameRange
from impactcut.errors import NotMediaError
from impactcut.media.render.pictures import Picture, PictureFormat, compress, read_pictures, shrink
from tests.helpers.footage.media_files import Recipe, number_in, numbered, write_clip, write_planes

BT709, BT601 = (0.2126, 0.0722), (0.299, 0.114)
RED = (200, 30, 40)


def grey(picture: Picture) -> np.ndarray:
    return picture.pixels[:, :, 1]


@pytest.mark.parametrize(("start", "stop"), [(0, 3), (7, 8), (40, 60), (198, 200)])
def test_frames_are_those_asked_for(tmp_path: Path, start: int, stop: int) -> None:
    clip = write_clip(tmp_path / "a.mp4", Recipe(options={"g": "48", "bf": "3"}), frames=200)
    pictures = read_pictures(clip, FrameRange(start, stop), width=160, frames=200)
    assert [number_in(grey(picture)) for picture in pictures] == list(range(start, stop))
    assert [picture.index for picture in pictures] == list(range(start, stop))
    assert {picture.pixels.shape for picture in pictures} == {(90, 160, 3)}


def test_frames_that_are_not_there_are_named(tmp_path: Path) -> None:
    clip = write_clip(tmp_path / "a.mp4", frames=12)
    with pytest.raises(NotMediaError, match="frames 8 to 13 cannot be decoded"):
        read_pictures(clip, FrameRange(8, 14), width=160)


@pytest.mark.parametrize(("rotation", "turns"), [(90, -1), (-90, 1), (180, 2)])
def test_turned_clips_come_out_upright(tmp_path: Path, rotation: int, turns: int) -> None:
    stored = [np.rot90(numbered(k), turns) for k in range(6)]
    path = write_planes(tmp_path / "a.mov", stored, Recipe(rotation=rotation))
    pictures = read_pictures(path, FrameRange(2, 6), width=9999)
    assert [number_in(grey(picture)) for picture in pictures] == [2, 3, 4, 5]
    assert pictures[0].pixels.shape == (180, 320, 3)


def film_colour(path: Path, matrix: tuple[float, float], height: int, mark: int | None) -> Path:
    """A clip of one colour, stored by a luma equation."""
    (kr, kb), (r, g, b) = matrix, (value / 255 for value in RED)
    y = kr * r + (1 - kr - kb) * g + kb * b
    stored = (
        16 + 219 * y,
        128 + 224 * (b - y) / (2 * (1 - kb)),
        128 + 224 * (r - y) / (2 * (1 - kr)),
    )
    frame = av.VideoFrame(height * 16 // 9, height, "yuv420p")
    for plane, value in zip(frame.planes, stored, strict=True):
        plane.update(bytes([round(value)]) * plane.buffer_size)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=Fraction(24), options={"qp": "4"})
        stream.width, stream.height, stream.pix_fmt = frame.width, height, "yuv420p"
        if mark is not None:
            stream.codec_context.colorspace = mark
        container.mux([*stream.encode(frame), *stream.encode(None)])
    return path


@pytest.mark.parametrize(
    ("matrix", "height", "mark"),
    [(BT709, 720, None), (BT709, 720, 1), (BT709, 288, 1), (BT601, 288, None), (BT601, 720, 6)],
)
def test_colours_follow_the_matrix(
    tmp_path: Path, matrix: tuple[float, float], height: int, mark: int | None
) -> None:
    clip = film_colour(tmp_path / "a.mp4", matrix, height, mark)
    (picture,) = read_pictures(clip, FrameRange(0, 1), width=160)
    assert np.abs(picture.pixels[40, 80, ::-1].astype(int) - RED).max() <= 4


@pytest.mark.parametrize("form", ["jpeg", "webp"])
def test_compressed_pictures_open_again(form: PictureFormat) -> None:
    picture = Picture(3, np.repeat(numbered(77)[:, :, None], 3, axis=2))
    fine, coarse = (compress(picture, form, quality) for quality in (90, 20))
    assert len(coarse) < len(fine)
    opened = cv2.imdecode(np.frombuffer(coarse, np.uint8), cv2.IMREAD_COLOR)
    assert opened.shape == picture.pixels.shape and number_in(opened[:, :, 1]) == 77


def test_shrinking_keeps_the_shape_and_never_enlarges() -> None:
    picture = Picture(3, np.repeat(numbered(77)[:, :, None], 3, axis=2))
    assert shrink(picture, 160).pixels.shape == (90, 160, 3)
    assert number_in(grey(shrink(picture, 160))) == 77
    assert shrink(picture, 999) is picture
