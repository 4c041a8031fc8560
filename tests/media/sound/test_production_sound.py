"""Sound out of clips, against the instant at which it was written, in the usual containers.

Every clip carries a click at a known time. Lossless sound must come back to the sample; coded or
resampled sound with its click within two samples of its place (the ITU-R BT.1359-1
threshold of 45 ms would be 2160).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from itertools import islice
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from av.container import InputContainer

from impactcut.errors import NotMediaError, UnreadableMediaError
from impactcut.media.decode.open import open_video
from impactcut.media.sound import production
from impactcut.media.sound.production import count_sound_tracks, read_sound
from tests.helpers.footage.media_files import write_clip
from tests.helpers.footage.sound_files import SoundRecipe, write_sounding

CLICK = Fraction(6, 5)
LOSSLESS = {
    "pcm.mov": SoundRecipe(),
    "stereo.mov": SoundRecipe(layout="stereo"),
    "16 tracks of a recorder.mov": SoundRecipe(layout="hexadecagonal"),
    "flac.mkv": SoundRecipe("flac"),
    "pcm.avi": SoundRecipe("pcm_s16le"),
    "pcm.mxf": SoundRecipe("pcm_s16le"),
}
CODED = {
    "aac.mp4": SoundRecipe("aac"),
    "aac441.mp4": SoundRecipe("aac", 44100),
    "aac.mkv": SoundRecipe("aac"),
    "aac.ts": SoundRecipe("aac"),
    "mp2.ts": SoundRecipe("mp2"),
    "mp3.mp4": SoundRecipe("libmp3lame", layout="stereo"),
    "441.mov": SoundRecipe(sample_rate=44100),
    "96.mov": SoundRecipe(sample_rate=96000),
    "32.mov": SoundRecipe(sample_rate=32000),
}
PICTURE = {".mxf": "mpeg2video", ".avi": "mpeg4", ".ts": "mpeg2video"}


def click(recipe: SoundRecipe, seconds: int = 2, at: Fraction = CLICK) -> np.ndarray:
    """Silence with a click of five samples' width, the same in all channels."""
    channels = len(av.AudioLayout(recipe.layout).channels)
    sound = np.zeros((recipe.sample_rate * seconds, channels))
    place = round(at * recipe.sample_rate)
    sound[place - 2 : place + 3] = np.array([0.2, 0.5, 0.8, 0.5, 0.2])[:, None]
    return sound


def clip(folder: Path, name: str, recipe: SoundRecipe, **more: object) -> Path:
    path = folder / name
    codec = PICTURE.get(path.suffix, "libx264")
    return write_sounding(path, click(recipe), recipe, codec=codec, **more)  # type: ignore[arg-type]


def whole(path: Path, start: int = 0, stop: int | None = None, length: int = 100_000) -> np.ndarray:
    """All that is read, laid where it says; no block may overlap another."""
    laid, taken = np.zeros((length, 2)), np.zeros(length, bool)
    for position, block in read_sound(path, start=start, stop=stop):
        span = slice(position, position + len(block))
        assert not taken[span].any()
        laid[span], taken[span] = block[: length - position], True
    return laid


@pytest.mark.parametrize("name", LOSSLESS)
def test_lossless_sound_is_where_it_was_written(tmp_path: Path, name: str) -> None:
    sound = whole(clip(tmp_path, name, LOSSLESS[name]))
    expected = click(SoundRecipe())[:, 0]
    for side in sound.T:
        assert np.allclose(side[:96000], expected, atol=2**-15)


@pytest.mark.parametrize("name", CODED)
def test_coded_and_resampled_sound_is_where_it_was_written(tmp_path: Path, name: str) -> None:
    sound = whole(clip(tmp_path, name, CODED[name]))[:, 0]
    assert abs(int(np.argmax(sound)) - CLICK * 48000) <= 2
    assert 0.5 < sound.max() < 1.1


def test_a_picture_that_starts_late_still_counts_from_its_first_frame(tmp_path: Path) -> None:
    path = clip(tmp_path, "late.mov", SoundRecipe(late=5))
    assert np.argmax(whole(path)[:, 0]) == (CLICK - Fraction(5, 25)) * 48000
    path = clip(tmp_path, "late.ts", SoundRecipe("aac", late=5))
    assert abs(np.argmax(whole(path)[:, 0]) - (CLICK - Fraction(5, 25)) * 48000) <= 2


def test_sides_stay_apart_and_more_channels_are_averaged(tmp_path: Path) -> None:
    left = np.zeros((96000, 2))
    left[:, 0] = 0.5
    sound = whole(write_sounding(tmp_path / "l.mov", left, SoundRecipe(layout="stereo")))
    assert np.allclose(sound[:96000], [0.5, 0], atol=1e-6)
    four = np.tile([0.4, 0.0, -0.2, 0.6], (96000, 1))
    sound = whole(write_sounding(tmp_path / "4.mov", four, SoundRecipe(layout="4.0")))
    assert np.allclose(sound[:96000], [0.2, 0.2], atol=1e-6)


def test_a_part_is_the_same_as_that_part_of_the_whole(tmp_path: Path) -> None:
    path = clip(tmp_path, "pcm.mov", SoundRecipe())
    all_of_it, part = whole(path), whole(path, 50_001, 60_007)
    assert np.array_equal(part[50_001:60_007], all_of_it[50_001:60_007])
    assert not part[:50_001].any() and not part[60_007:].any()


@pytest.mark.parametrize(
    ("name", "recipe", "codec"),
    [
        ("pcm.mov", SoundRecipe(), "libx264"),
        ("aac.mp4", SoundRecipe("aac"), "libx264"),
        ("aac.mkv", SoundRecipe("aac"), "libx264"),
        ("mp2.ts", SoundRecipe("mp2"), "mpeg2video"),
    ],
)
def test_jumping_far_into_a_clip_moves_nothing(
    tmp_path: Path, name: str, recipe: SoundRecipe, codec: str
) -> None:
    random = np.random.default_rng(5).uniform(-0.5, 0.5, (48000 * 16, 1))
    path = write_sounding(tmp_path / name, random, recipe, frames=400, codec=codec)
    jumped = whole(path, 48000 * 12 + 3, 48000 * 13, 800_000)
    everything = whole(path, length=800_000)
    span = slice(48000 * 12 + 3, 48000 * 13)
    assert np.abs(jumped[span] - everything[span]).max() < 1e-4
    assert jumped[span].std() > 0.1


def test_a_hole_in_the_sound_stays_a_hole(tmp_path: Path) -> None:
    path = clip(tmp_path, "holed.mkv", SoundRecipe("pcm_s16le", hole=(12, 24)))
    assert abs(int(np.argmax(whole(path)[:, 0])) - CLICK * 48000) <= 24
    starts = [position for position, _ in read_sound(path)]
    assert max(np.diff(starts)) > 12 * 1920


def test_several_tracks_are_counted_and_one_is_read(tmp_path: Path) -> None:
    path = clip(tmp_path, "three.mov", SoundRecipe(tracks=3))
    assert count_sound_tracks(path) == 3
    assert np.argmax(whole(path)[:, 0]) == CLICK * 48000


def test_what_cannot_be_read_is_said(tmp_path: Path) -> None:
    with pytest.raises(NotMediaError, match="has no sound"):
        list(read_sound(write_clip(tmp_path / "mute.mov")))
    with pytest.raises(UnreadableMediaError, match="no such file"):
        list(read_sound(tmp_path / "gone.mov"))


def test_packets_that_do_not_decode_are_named(tmp_path: Path) -> None:
    path = clip(tmp_path, "aac.mp4", SoundRecipe("aac"))
    data = bytearray(path.read_bytes())
    with av.open(str(path)) as container:
        packets = [(p.pos, p.size) for p in container.demux(audio=0) if p.pos is not None]
    for position, size in packets[20:24]:
        data[position : position + size] = b"\xff" * size
    path.write_bytes(data)
    lost: list[str] = []
    blocks = list(read_sound(path, on_loss=lost.append))
    assert lost
    assert blocks[-1][0] + len(blocks[-1][1]) >= 95_000


class BreaksOff:
    """A container that gives ten packets of sound and then an error, as FFmpeg's demuxers do."""

    def __init__(self, container: InputContainer) -> None:
        self._container = container
        self.streams = container.streams

    def demux(self, stream: av.AudioStream) -> Iterator[av.Packet]:
        stream.thread_type, stream.thread_count = "AUTO", 4  # holds frames back
        yield from islice(self._container.demux(stream), 10)
        raise av.error.InvalidDataError(1094995529, "Invalid data found")


def test_what_the_decoder_holds_where_a_file_breaks_off_is_heard(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = clip(tmp_path, "flac.mkv", SoundRecipe("flac"))
    with av.open(str(path)) as container:
        expected = sum(packet.duration for packet in islice(container.demux(audio=0), 10))
        assert container.streams.audio[0].time_base == Fraction(1, 1000)

    @contextmanager
    def broken(path: Path) -> Iterator[tuple[Any, av.VideoStream]]:
        with open_video(path) as (container, stream):
            yield BreaksOff(container), stream

    lost: list[str] = []
    with monkeypatch.context() as patch:
        patch.setattr(production, "open_video", broken)
        patch.setattr(production, "_first_shown", lambda path: Fraction(0))
        blocks = list(read_sound(path, on_loss=lost.append))
    assert lost == ["Invalid data found"]
    heard = sum(len(block) for _, block in blocks)
    assert abs(heard - 48 * expected) < 480
