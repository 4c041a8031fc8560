"""Previews decoded again: which frames they show, how long, with what sound, in what colours.

The clips' pictures carry their numbers in blocks, so what a preview shows is read off its pixels.
Expected colours come from the formulas of ITU-R BT.709-6 and BT.601-7.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import correlate

from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import Removal
from impactcut.core.programme.preview import Passage, preview_cut, preview_hit, usual_hold
from impactcut.core.sound.thumps import thump
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import STANDARD_RATES
from impactcut.core.trims.trim import Trim
from impactcut.errors import NotMediaError
from impactcut.media.probe.container import probe
from impactcut.media.render.preview import PreviewFilm, write_preview
from impactcut.media.render.preview_frame import Labels, canvas_for
from tests.helpers.footage.media_files import (
    PRORES,
    Recipe,
    luma_of,
    number_in,
    numbered,
    write_clip,
    write_planes,
)
from tests.helpers.footage.sound_files import SoundRecipe, write_sounding
from tests.helpers.lists.list_clips import make_entry

BLACK = 24
SD601, HD709 = (0.299, 0.587, 0.114), (0.2126, 0.7152, 0.0722)


@dataclass(frozen=True)
class Shown:
    """A preview as decoded: numbers in its pictures, None for a title, and its sound."""

    numbers: list[int | None]
    sound: NDArray[np.float32]
    rate: Fraction
    size: tuple[int, int]

    @property
    def passages(self) -> list[list[int]]:
        """Numbers between titles."""
        groups = groupby(self.numbers, key=lambda number: number is None)
        return [[n for n in group if n is not None] for title, group in groups if not title]

    def places(self, number: int) -> list[int]:
        """Frames of the preview on which a number comes up."""
        return [
            at
            for at, (before, now) in enumerate(zip([None, *self.numbers], self.numbers))  # noqa: B905
            if now == number and before != number
        ]


def removal(clip: Clip, first: int, count: int, contact: int = 60, hit: int = 1) -> Removal:
    return Removal(make_entry(clip, hit, contact), Trim(first, count, 1.2, 0.5, "clean"))


def render(
    path: Path, passages: tuple[Passage, ...], sounding: frozenset[Clip] = frozenset()
) -> Path:
    labels = [Labels("AFTER: frames 59, 60 out", "S1_T1_A.mov  hit 1", "full speed")] * len(
        passages
    )
    lost: list[str] = []
    done: list[int] = []
    film = PreviewFilm(passages, labels, sounding)
    write_preview(
        path, film, lambda frame, _: done.append(frame), lambda clip, reason: lost.append(reason)
    )
    assert done == list(range(1, film.frames + 1)) and not lost
    return path


def shown(path: Path, area: tuple[slice, slice]) -> Shown:
    """Decode a preview; ``area`` is where its pictures lie."""
    with av.open(str(path)) as container:
        video = container.streams.video[0]
        numbers, stamps = [], []
        for frame in container.decode(video):
            luma = luma_of(frame)[area]
            numbers.append(None if np.median(luma) < BLACK else number_in(luma))
            stamps.append(frame.pts * frame.time_base)
        rate, size = video.average_rate, (video.width, video.height)
        assert video.codec_context.name == "h264" and video.codec_context.pix_fmt == "yuv420p"
    assert stamps == [n / rate for n in range(len(stamps))]
    with av.open(str(path)) as container:
        blocks = [f.to_ndarray() for f in container.decode(container.streams.audio[0])]
        assert container.streams.audio[0].rate == 48000
    return Shown(numbers, np.concatenate(blocks, axis=1), rate, size)


WIDE = (slice(0, 180), slice(80, 400))


@pytest.mark.parametrize("rate", STANDARD_RATES)
def test_exactly_the_trimmed_frames_are_gone(tmp_path: Path, rate: Fraction) -> None:
    clip = probe(write_clip(tmp_path / "a.mov", Recipe(rate=rate), frames=130))
    hold = 2
    passages = preview_hit(removal(clip, 59, 2), [], hold)
    film = shown(render(tmp_path / "p.mp4", passages), WIDE)
    assert film.rate == rate
    before, after, slow_before, slow_after = film.passages
    assert before == list(range(before[0], before[-1] + 1))
    assert before[0] <= 59 - rate * 0.9 and before[-1] >= 60 + rate * 0.9
    assert after == [n for n in before if n not in (59, 60)]
    window = list(range(slow_before[0], slow_before[-1] + 1))
    assert slow_before == [n for n in window for _ in range(hold)]
    assert slow_after == [n for n in window if n not in (59, 60) for _ in range(hold)]
    assert {58, 59, 60, 61} <= set(window)
    samples = round(len(film.numbers) * 48000 / rate)
    assert samples <= film.sound.shape[1] < samples + 2 * 1024


@pytest.mark.parametrize("rate", [Fraction(24000, 1001), Fraction(30000, 1001), Fraction(50)])
@pytest.mark.parametrize("contact", [60, 62])
def test_scratch_hits_sound_on_the_contact_frame(
    tmp_path: Path, rate: Fraction, contact: int
) -> None:
    clip = probe(write_clip(tmp_path / "a.mov", Recipe(rate=rate), frames=130))
    cut = removal(clip, 59, 2, contact)
    passages = preview_hit(cut, [make_entry(clip, 7, contact, 1.5)], 2)
    film = shown(render(tmp_path / "p.mp4", passages), WIDE)
    first, *_ = film.places(contact)
    after = film.places(max(contact, 61))
    frames = [first, after[1], film.places(contact)[-1 if contact == 60 else 2], after[3]]
    likeness = correlate(film.sound.mean(axis=0), thump(1.5, 7), "valid", "fft")
    for frame in frames:
        place = round(frame * 48000 / rate)
        near = slice(max(0, place - 2000), place + 2000)
        assert abs(near.start + int(np.argmax(likeness[near])) - place) <= 3
        likeness[near] = 0
    assert likeness.max() < 0.2 * float(np.sum(thump(1.5, 7) ** 2))


def test_production_sound_is_cut_with_the_picture(tmp_path: Path) -> None:
    """A click in frame 50 and one in frame 70 come with their frames; one in frame 59 is gone."""
    sound = np.zeros((130 * 1920, 1))
    for frame in (50, 59, 70):
        sound[frame * 1920 + 900 : frame * 1920 + 905] = 0.9
    clip = probe(write_sounding(tmp_path / "a.mov", sound, frames=130))
    passages = preview_hit(removal(clip, 59, 2), [], 4)
    film = shown(render(tmp_path / "p.mp4", passages, frozenset([clip])), WIDE)
    assert film.sound.shape[0] == 2
    loud = np.flatnonzero(np.abs(film.sound[0]) > 0.2)
    clicks = [int(loud[0]), *(int(n) for n in loud[1:][np.diff(loud) > 1000])]
    frames = [*film.places(50)[:1], *film.places(59)[:1], *film.places(70)[:1],
              film.places(50)[1], film.places(70)[1]]  # fmt: skip
    assert len(clicks) == len(frames)
    for click, frame in zip(clicks, frames, strict=True):
        assert abs(click - (frame * 1920 + 902)) < 12


def test_a_whole_programme_then_every_splice(tmp_path: Path) -> None:
    clips = [
        probe(write_clip(tmp_path / f"{name}.mov", Recipe(rate=Fraction(24)), frames=60))
        for name in "ab"
    ]
    trims = [removal(clips[0], 20, 1, 20, 1), removal(clips[0], 40, 3, 40, 2),
             removal(clips[1], 30, 2, 31, 3)]  # fmt: skip
    cut = assemble("", clips, trims, record_start=86400)
    film = shown(render(tmp_path / "p.mp4", preview_cut(cut, [], 4)), WIDE)
    before, after, *slowed = film.passages
    whole = list(range(60))
    assert before == whole * 2
    gone = [{20, 40, 41, 42}, {30, 31}]
    assert after == [n for out in gone for n in whole if n not in out]
    assert len(slowed) == 6
    for out, shot, trimmed in zip(({20}, {40, 41, 42}, {30, 31}), slowed[::2], slowed[1::2],
                                  strict=True):  # fmt: skip
        assert set(shot) - set(trimmed) == out and set(trimmed) < set(shot)


def test_the_band_covers_nothing_of_the_picture(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mkv", Recipe("ffv1"), frames=60)
    clip = probe(path)
    film = render(tmp_path / "p.mp4", preview_hit(removal(clip, 29, 1, 30), [], 4))
    with av.open(str(path)) as container:
        source = {n: f.to_ndarray(format="gray") for n, f in enumerate(container.decode(video=0))}
    with av.open(str(film)) as container:
        for frame in container.decode(video=0):
            luma = frame.to_ndarray(format="gray")
            if np.median(luma[WIDE]) >= BLACK:
                away = np.abs(luma[WIDE].astype(int) - source[number_in(luma[WIDE])])
                assert np.percentile(away, 99) <= 12 and away.mean() < 3
                assert luma[180:].max() > 150


@pytest.mark.parametrize(
    ("recipe", "size", "area"),
    [
        (Recipe(rotation=90), (320, 180), (slice(0, 320), slice(150, 330))),
        (Recipe(aspect=Fraction(4, 3)), (240, 180), WIDE),
        (replace(PRORES, rate=Fraction(8)), (1600, 900), (slice(0, 720), slice(0, 1280))),
        (Recipe(), (322, 182), (slice(0, 182), slice(79, 401))),
    ],
)
def test_pictures_are_upright_in_shape_and_shrunk(
    tmp_path: Path, recipe: Recipe, size: tuple[int, int], area: tuple[slice, slice]
) -> None:
    if recipe.rotation:
        planes = [np.rot90(numbered(n, size[::-1]), -1) for n in range(16)]
        path = write_planes(tmp_path / "a.mov", planes, recipe)
    else:
        path = write_clip(tmp_path / "a.mov", recipe, frames=16, size=size)
    film = shown(render(tmp_path / "p.mp4", preview_hit(removal(probe(path), 8, 2, 8), [], 2)),
                 area)  # fmt: skip
    assert film.passages[0] == list(range(16))
    assert film.passages[1] == [n for n in range(16) if n not in (8, 9)]
    assert all(side % 2 == 0 for side in film.size) and film.size[0] <= 1280


def test_clips_of_other_sizes_share_a_canvas(tmp_path: Path) -> None:
    canvas = canvas_for([(1920, 1080), (1080, 1920), (640, 480)])
    assert (canvas.width, canvas.picture_height) == (1280, 1280)
    assert canvas_for([(64, 36)]).width == 480
    for size in ((853, 481), (4096, 1716), (333, 999)):
        canvas = canvas_for([size])
        assert canvas.width % 2 == canvas.picture_height % 2 == canvas.height % 2 == 0
        assert canvas.width <= 1280
    clips = [
        probe(write_clip(tmp_path / "a.mov", frames=20)),
        probe(write_clip(tmp_path / "b.mov", frames=20, size=(160, 120))),
    ]
    cut = assemble("", clips, [removal(clips[1], 9, 1, 10)], record_start=0)
    film = render(tmp_path / "p.mp4", preview_cut(cut, [], 2))
    wide = shown(film, WIDE).numbers
    small = shown(film, (slice(30, 150), slice(160, 320))).numbers
    assert [n for n in wide if n is not None][:20] == list(range(20))
    assert [n for n in small if n is not None][20:40] == list(range(20))


@pytest.mark.parametrize(
    ("pix_fmt", "depth", "matrix", "weights", "size"),
    [
        ("yuv420p10le", 10, 1, HD709, (1280, 720)),
        ("yuv420p", 8, 1, HD709, (320, 180)),
        ("yuv420p", 8, 6, SD601, (320, 180)),
        ("yuv420p", 8, 2, HD709, (1280, 720)),
        ("yuv420p", 8, 2, SD601, (320, 180)),
    ],
)
def test_colours_come_through(
    tmp_path: Path,
    pix_fmt: str,
    depth: int,
    matrix: int,
    weights: tuple[float, float, float],
    size: tuple[int, int],
) -> None:
    colour = (0.8, 0.35, 0.15)
    path = write_colour(tmp_path / "c.mkv", colour, weights, pix_fmt, depth, matrix, size)
    film = render(tmp_path / "p.mp4", preview_hit(removal(probe(path), 6, 1, 6), [], 2))
    with av.open(str(film)) as container:
        frames = [frame.to_ndarray(format="rgb24") for frame in container.decode(video=0)]
        stream = container.streams.video[0].codec_context
        assert (stream.colorspace, stream.color_range) == (1, 1)
    middle = frames[-1][60:120, 220:260].reshape(-1, 3).mean(axis=0)
    assert np.abs(middle - 255 * np.array(colour)).max() < 4


def write_colour(
    path: Path,
    colour: tuple[float, float, float],
    weights: tuple[float, float, float],
    pix_fmt: str,
    depth: int,
    matrix: int,
    size: tuple[int, int],
) -> Path:
    """Twelve frames of one colour, in limited range by the formulas of BT.709 and BT.601."""
    red, _, blue = colour
    luma = sum(weight * part for weight, part in zip(weights, colour, strict=True))
    scale = 1 << (depth - 8)
    levels = [
        (219 * luma + 16) * scale,
        (224 * (blue - luma) / (2 * (1 - weights[2])) + 128) * scale,
        (224 * (red - luma) / (2 * (1 - weights[0])) + 128) * scale,
    ]
    kind = np.uint8 if depth == 8 else np.uint16
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=8)
        (stream.width, stream.height), stream.pix_fmt = size, pix_fmt
        stream.codec_context.colorspace = matrix
        stream.codec_context.color_range = 1
        for number in range(12):
            frame = av.VideoFrame(*size, pix_fmt)
            for plane, level in zip(frame.planes, levels, strict=True):
                samples = np.full(plane.buffer_size // kind().itemsize, round(level), kind)
                plane.update(samples.tobytes())
            frame.pts, frame.time_base = number, Fraction(1, 8)
            frame.colorspace, frame.color_range = matrix, 1
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def test_slowed_passages_show_about_six_frames_a_second() -> None:
    for rate in STANDARD_RATES:
        assert 5.5 <= rate / usual_hold(rate) <= 6.5


def test_the_same_preview_is_the_same_byte_for_byte(tmp_path: Path) -> None:
    clip = probe(write_sounding(tmp_path / "a.mov", np.zeros((96000, 1)), SoundRecipe()))
    passages = preview_hit(removal(clip, 25, 2, 26), [make_entry(clip, 1, 26, 1.0)], 4)
    one, two = (
        render(tmp_path / name, passages, frozenset([clip])).read_bytes()
        for name in ("one.mp4", "two.mp4")
    )
    assert one == two


def test_a_clip_that_has_lost_frames_is_refused(tmp_path: Path) -> None:
    clip = probe(write_clip(tmp_path / "a.mov", frames=60))
    passages = preview_hit(removal(clip, 50, 2, 50), [], 4)
    write_clip(tmp_path / "a.mov", frames=40)
    with pytest.raises(NotMediaError, match=r"a\.mov: frames 25 to 59 cannot be decoded"):
        render(tmp_path / "p.mp4", passages)
