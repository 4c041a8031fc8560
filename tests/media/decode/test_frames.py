"""What `read_frames` yields, against the planes that were encoded and the numbers drawn in them.

Expected brightness comes from the encoded luma by another path: area means of scikit-image
(``downscale_local_mean``), and the full-range formula of ITU-R BT.709-6 for 8-bit signals
(black 16, white 235). Tolerances in code values are for rounding, or for lossy coding where named.
"""

import os
import tracemalloc
from fractions import Fraction
from itertools import islice
from pathlib import Path

import av
import numpy as np
import pytest
from av.video.reformatter import VideoReformatter
from numpy.typing import NDArray
from skimage.transform import downscale_local_mean

from impactcut.media.decode import packets
from impactcut.media.decode.frames import read_frames
from impactcut.media.decode.luma import small_luma
from tests.helpers.footage.media_files import (
    DNXHR,
    PRORES,
    Recipe,
    number_in,
    numbered,
    write_clip,
    write_planes,
    write_two_sizes,
)

LOSSLESS = {
    "grey.mkv": Recipe("ffv1", "gray"),
    "8.mkv": Recipe("ffv1", "yuv420p"),
    "8full.mkv": Recipe("ffv1", "yuv420p", full_range=True),
    "10.mkv": Recipe("ffv1", "yuv422p10le", 10),
    "12.mkv": Recipe("ffv1", "yuv444p12le", 12),
    "raw.avi": Recipe("rawvideo", "yuv420p"),
    "v210.mov": Recipe("v210", "yuv422p10le", 10),
    "packed.mov": Recipe("rawvideo", "uyvy422"),
    "rgb.avi": Recipe("rawvideo", "bgr24"),
}
LOSSY = {
    "h264.mp4": Recipe(),
    "h264full.mp4": Recipe("libx264", "yuvj420p"),
    "hevc10.mp4": Recipe("libx265", "yuv420p10le", 10, options={"x265-params": "log-level=none"}),
    "prores.mov": PRORES,
    "dnxhr.mov": DNXHR,
    "dnxhr.mxf": DNXHR,
    "mjpeg.avi": Recipe("mjpeg", "yuvj420p", options={"qmin": "1", "qmax": "3"}),
}
FULL_RANGE = ("yuvj", "gray", "bgr", "uyvy")  # the last because the helper writes it through RGB


def area_mean(plane: NDArray[np.uint8], factor: int, recipe: Recipe) -> NDArray[np.float64]:
    mean = downscale_local_mean(plane.astype(float), (factor, factor))
    if recipe.full_range or recipe.pix_fmt.startswith(FULL_RANGE):
        return mean
    return np.clip((mean - 16) * 255 / 219, 0, 255)


@pytest.mark.parametrize("name", LOSSLESS)
def test_luma_is_the_area_mean_of_what_was_encoded(tmp_path: Path, name: str) -> None:
    recipe = LOSSLESS[name]
    path = write_clip(tmp_path / name, recipe)
    for frame in read_frames(path, width=80):
        expected = area_mean(numbered(frame.index), 4, recipe)
        assert np.abs(frame.luma - expected).max() <= 1.7
        assert np.abs(frame.luma - expected).mean() <= 0.6
    assert frame.index == 11


@pytest.mark.parametrize("matrix", [1, 6, 9])
def test_strong_colour_of_a_tagged_picture_leaves_its_luma_alone(matrix: int) -> None:
    frame = av.VideoFrame(320, 180, "yuv420p")
    frame.colorspace, plane = matrix, numbered(5)
    for stored, samples in zip(
        frame.planes, (plane, np.full((90, 160), 40), np.full((90, 160), 230)), strict=True
    ):
        rows = np.zeros((stored.height, stored.line_size), np.uint8)
        rows[:, : samples.shape[1]] = samples
        stored.update(rows.tobytes())
    luma = small_luma(frame, (80, 45), VideoReformatter())
    assert np.abs(luma - area_mean(plane, 4, Recipe())).max() <= 1.7


@pytest.mark.parametrize("name", LOSSY)
def test_luma_survives_lossy_coding(tmp_path: Path, name: str) -> None:
    recipe = LOSSY[name]
    path = write_clip(tmp_path / name, recipe)
    frames = list(read_frames(path, width=80))
    assert [number_in(frame.luma) for frame in frames] == list(range(12))
    for frame in frames:
        assert frame.luma.dtype == np.uint8
        assert np.abs(frame.luma - area_mean(numbered(frame.index), 4, recipe)).mean() <= 3


@pytest.mark.parametrize("name", ["h264.mp4", "hevc10.mp4", "prores.mov", "dnxhr.mxf", "mjpeg.avi"])
def test_luma_is_the_same_with_colour_and_without_and_on_any_threads(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_clip(tmp_path / name, LOSSY[name])
    with av.open(str(path)) as container:
        whole = [
            np.asarray(small_luma(f, (80, 45), VideoReformatter()))
            for f in container.decode(video=0)
        ]
    for threads in (1, 2, 3):
        monkeypatch.setattr(packets, "decoder_threads", lambda threads=threads: threads)
        ours = [frame.luma for frame in read_frames(path, width=80)]
        assert np.array_equal(ours, whole)


def test_width_that_does_not_divide(tmp_path: Path) -> None:
    # A ramp keeps its value at any size: sample x of 100 is the mean of 3.2 columns around it.
    ramp = np.tile(np.linspace(20, 230, 320), (180, 1)).astype(np.uint8)
    path = write_planes(tmp_path / "a.mkv", [ramp], Recipe("ffv1", "gray"))
    (frame,) = read_frames(path, width=100)
    assert frame.luma.shape == (56, 100)
    expected = 20 + 210 * (np.arange(100) + 0.5) / 100
    assert np.abs(frame.luma[28] - expected)[1:-1].max() <= 1.5


def test_small_pictures_are_not_enlarged(tmp_path: Path) -> None:
    frame = next(read_frames(write_clip(tmp_path / "a.mp4"), width=4000))
    assert frame.luma.shape == (180, 320)


@pytest.mark.parametrize(("rotation", "turns"), [(90, -1), (-90, 1), (180, 2)])
def test_frames_are_upright(tmp_path: Path, rotation: int, turns: int) -> None:
    stored = [np.rot90(numbered(k, (180, 320)), turns) for k in range(12)]
    if rotation == 180:
        stored = [np.rot90(numbered(k), turns) for k in range(12)]
    path = write_planes(tmp_path / "a.mov", stored, Recipe(rotation=rotation))
    frames = list(read_frames(path, width=90))
    assert [number_in(frame.luma) for frame in frames] == list(range(12))
    assert frames[0].luma.shape == ((51, 90) if rotation == 180 else (160, 90))


def test_pixels_are_squared(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mov", Recipe(aspect=Fraction(4, 3)), size=(240, 180))
    assert next(read_frames(path, width=160)).luma.shape == (90, 160)


def test_interlaced_shows_the_top_field_only(tmp_path: Path) -> None:
    comb = np.full((180, 320), 200, np.uint8)
    comb[1::2] = 30
    woven = write_planes(tmp_path / "a.mkv", [comb], Recipe("ffv1", "yuv420p"))
    fields = Recipe("libx264", options={"x264-params": "interlaced=1:tff=1", "qp": "0"})
    (both,) = read_frames(woven, width=80)
    (top, *_) = read_frames(write_planes(tmp_path / "a.mp4", [comb] * 3, fields), width=80)
    assert abs(both.luma.mean() - (115 - 16) * 255 / 219) <= 1.5
    assert abs(top.luma.mean() - (200 - 16) * 255 / 219) <= 1.5


def test_stamps_are_those_of_the_container(tmp_path: Path) -> None:
    stamps = [0, 40, 80, 120, 170, 200, 260, 280, 340, 360]
    planes = [numbered(k) for k in range(10)]
    path = write_planes(tmp_path / "a.mkv", planes, stamps=stamps, tick=Fraction(1, 1000))
    assert [frame.stamp for frame in read_frames(path, width=80)] == stamps


def test_frames_that_change_size_keep_the_first_size(tmp_path: Path) -> None:
    path = write_two_sizes(tmp_path / "a.mkv", [(320, 180), (160, 90), (480, 270)])
    frames = list(read_frames(path, width=160))
    assert {frame.luma.shape for frame in frames} == {(90, 160)}
    assert [number_in(frame.luma) for frame in frames] == list(range(12))


def test_memory_does_not_grow_with_length(tmp_path: Path) -> None:
    def peak(frames: int) -> int:
        path = write_clip(tmp_path / f"{frames}.mp4", frames=frames)
        tracemalloc.start()
        try:
            for _ in read_frames(path, width=320):
                pass
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    frame_bytes = 320 * 180
    assert peak(240) - peak(40) < 20 * frame_bytes


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="needs /proc to see open files")
def test_file_is_closed_when_the_caller_stops_early(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mp4", frames=30)

    def is_open() -> bool:
        links = [Path("/proc/self/fd", fd) for fd in os.listdir("/proc/self/fd")]  # noqa: PTH208
        return any(link.exists() and link.samefile(path) for link in links)

    for start in (0, 5):
        frames = read_frames(path, start=start)
        assert len(list(islice(frames, 3))) == 3
        assert is_open()
        frames.close()
        assert not is_open()


@pytest.mark.parametrize(("width", "start"), [(0, 0), (80, -1)])
def test_wrong_arguments_are_refused_at_once(tmp_path: Path, width: int, start: int) -> None:
    with pytest.raises(ValueError, match="at least"):
        read_frames(tmp_path / "a.mp4", width=width, start=start)
