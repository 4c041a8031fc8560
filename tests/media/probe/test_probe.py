"""What `probe` says of files whose truth is known because the test wrote them.

Sources: the containers are written by FFmpeg's muxers (through PyAV) with the values that the tests
expect back; drop-frame counts are those of SMPTE ST 12-1 (an hour at 29.97 drop-frame holds
107 892 frames, at 59.94 twice that).
"""

import wave
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from impactcut.core.time.timebase import parse_timebase
from impactcut.errors import NotMediaError, NoVideoError, UnreadableMediaError
from impactcut.media.decode.frames import read_frames
from impactcut.media.decode.spacing import spacing_of
from impactcut.media.probe.container import frames_lacking, probe
from impactcut.media.probe.timecode import start_timecode
from tests.helpers.footage.media_files import (
    Recipe,
    count_pairs,
    number_in,
    numbered,
    write_clip,
    write_planes,
    write_sound,
)

FILM = Fraction(24000, 1001)
NTSC = Fraction(30000, 1001)
DNXHR = Recipe("dnxhd", "yuv422p", options={"profile": "dnxhr_lb"})

CONTAINERS = {
    "h264.mp4": Recipe(),
    "h264.mov": Recipe(rate=Fraction(24)),
    "h264.mkv": Recipe(rate=FILM),
    "h264.ts": Recipe(rate=Fraction(50)),
    "hevc10.mp4": Recipe(
        "libx265", "yuv420p10le", 10, rate=FILM, options={"x265-params": "log-level=none"}
    ),
    "prores.mov": Recipe("prores_ks", "yuv422p10le", 10, rate=NTSC),
    "dnxhr.mov": DNXHR,
    "dnxhr.mxf": DNXHR,
    "mjpeg.avi": Recipe("mjpeg", "yuvj420p", rate=Fraction(15)),
    "raw.avi": Recipe("rawvideo", "bgr24"),
    "ffv1.mkv": Recipe("ffv1", "yuv422p10le", 10, rate=Fraction(60000, 1001)),
    "odd.mp4": Recipe(rate=Fraction(374, 25)),
    "half.mov": Recipe(rate=Fraction(25, 2)),
}


@pytest.mark.parametrize("name", CONTAINERS)
def test_rate_size_and_frames_of_what_was_written(tmp_path: Path, name: str) -> None:
    recipe = CONTAINERS[name]
    clip = probe(write_clip(tmp_path / name, recipe, frames=30))
    assert clip.rate == recipe.rate
    assert clip.frames == 30
    assert (clip.width, clip.height) == (320, 180)
    assert not clip.variable_rate
    assert not clip.has_sound
    assert clip.name == name


@pytest.mark.parametrize(
    ("name", "recipe", "label", "start"),
    [
        ("a.mov", Recipe("prores_ks", "yuv422p10le", 10, FILM), "10:59:59:23", 39600 * 24 - 1),
        ("a.mp4", Recipe(rate=Fraction(24)), "01:00:00:00", 86400),
        ("a.mov", Recipe(rate=NTSC), "01:00:00;00", 107892),
        ("a.mov", Recipe(rate=NTSC), "01:00:00:00", 108000),
        ("a.mov", Recipe(rate=Fraction(60000, 1001)), "01:00:00;00", 215784),
        ("a.mkv", Recipe(rate=Fraction(25)), "00:01:00:12", 1512),
        ("a.avi", Recipe("mjpeg", "yuvj420p"), "00:01:00:12", 1512),
        ("a.mxf", DNXHR, "20:00:00:01", 20 * 90000 + 1),
        ("a.mxf", Recipe(DNXHR.codec, DNXHR.pix_fmt, 8, NTSC, options=DNXHR.options),
         "01:00:00;00", 107892),
        ("a.mov", Recipe(rate=Fraction(50)), "00:00:01:20", 70),
    ],
)  # fmt: skip
def test_start_timecode_in_every_container(
    tmp_path: Path, name: str, recipe: Recipe, label: str, start: int
) -> None:
    recipe.tags["timecode"] = label
    clip = probe(write_clip(tmp_path / name, recipe))
    assert clip.source_start == start
    assert clip.source_label(0) == label
    assert clip.drop_frame == (";" in label)
    assert clip.timecode_source == "file"
    assert clip.warnings == ()


def test_timecode_that_counts_pairs_is_scaled_and_said(tmp_path: Path) -> None:
    # Frame 180000 of the track at 25 a second is 02:00:00:00, which is picture 360000 at 50.
    recipe = Recipe(rate=Fraction(50), tags={"timecode": "01:00:00:00"})
    clip = probe(count_pairs(write_clip(tmp_path / "a.mov", recipe)))
    assert clip.source_start == 360000
    assert clip.source_label(0) == "02:00:00:00"
    assert "pairs" in clip.warnings[0]


def test_drop_frame_pairs(tmp_path: Path) -> None:
    recipe = Recipe(rate=Fraction(60000, 1001), tags={"timecode": "01:00:00;00"})
    clip = probe(count_pairs(write_clip(tmp_path / "a.mov", recipe)))
    assert clip.source_start == 2 * 215784
    assert clip.source_label(0) == "02:00:00;00"


def test_timecode_track_at_another_rate_is_said() -> None:
    start = start_timecode("00:00:10:00", Fraction(24), None, Fraction(25))
    assert (start.frame, start.found) == (240, True)
    assert "25" in start.warnings[0]


def test_pairs_are_halves_only() -> None:
    # A label that would fit either way is no proof: only the track's own rate is.
    same = start_timecode("00:00:01:05", Fraction(50), None, Fraction(50))
    half = start_timecode("00:00:01:05", Fraction(50), None, Fraction(25))
    unknown = start_timecode("00:00:01:05", Fraction(50), None, None)
    assert (same.frame, half.frame, unknown.frame) == (55, 60, 55)


@pytest.mark.parametrize(
    ("label", "rate", "track", "frame"),
    [
        ("01:00:00:05", 120, 30, 432_020),  # groups of four: 3600 * 120 + 5 * 4
        ("01:00:00:05", 120, 24, 432_025),
        ("01:00:00:05", 120, 60, 432_010),
        ("01:00:00:119", 120, 120, 432_119),
        ("01:00:00:119", 120, None, 432_119),
        ("01:00:00:05", 120, 120, 432_005),
        ("01:00:00:00", 120, None, 432_000),
        ("01:00:00:05", 96, 24, 345_620),
    ],
)
def test_timecode_above_a_hundred_frames_a_second(
    label: str, rate: int, track: int | None, frame: int
) -> None:
    # One label for several frames is what cameras write (common practice, no source); labels of
    # three digits are FFmpeg's. Added up on paper.
    start = start_timecode(label, Fraction(rate), None, track and Fraction(track))
    assert (start.frame, start.found) == (frame, True)
    assert bool(start.warnings) == (track not in (rate, None))


@pytest.mark.parametrize("label", ["01:00:00:05", "01:00:00:120", "01:00:00:x0", "1:00"])
def test_a_label_that_could_count_otherwise_is_assumed_aloud(label: str) -> None:
    start = start_timecode(label, Fraction(120), None, None)
    assert (start.frame, start.found) == (0, False)
    assert label in start.warnings[0] and "00:00:00:00 is assumed" in start.warnings[0]


def test_a_clip_at_120_with_timecode_is_measured_and_its_whole_seconds_kept(
    tmp_path: Path,
) -> None:
    recipe = Recipe(rate=Fraction(120), tags={"timecode": "01:00:00:07"})
    clip = probe(write_clip(tmp_path / "a.mov", recipe))
    assert (clip.rate, clip.source_start, clip.timecode_source) == (120, 432_007, "file")
    whole = replace(recipe, tags={"timecode": "01:00:00:00"})
    stated = probe(write_clip(tmp_path / "b.mov", whole), rate=parse_timebase("24"))
    assert stated.source_label(0) == "01:00:00:00"


def test_no_timecode_is_assumed_aloud(tmp_path: Path) -> None:
    clip = probe(write_clip(tmp_path / "a.mp4"))
    assert (clip.source_start, clip.timecode_source) == (0, "assumed")
    assert "00:00:00:00" in clip.warnings[0]


def test_drop_frame_mark_at_a_rate_without_it(tmp_path: Path) -> None:
    recipe = Recipe(rate=Fraction(25), tags={"timecode": "00:00:02;05"})
    clip = probe(write_clip(tmp_path / "a.mkv", recipe))
    assert (clip.source_start, clip.drop_frame) == (55, False)
    assert "drop-frame" in clip.warnings[0]


def test_label_that_does_not_exist(tmp_path: Path) -> None:
    recipe = Recipe(rate=Fraction(24), tags={"timecode": "00:00:00:24"})
    clip = probe(write_clip(tmp_path / "a.mkv", recipe))
    assert clip.timecode_source == "assumed"
    assert "00:00:00:24" in clip.warnings[0]


def test_stated_rate_counts(tmp_path: Path) -> None:
    recipe = Recipe(rate=Fraction(25), tags={"timecode": "00:00:10:00"})
    path = write_clip(tmp_path / "a.mov", recipe)
    clip = probe(path, rate=parse_timebase("24"))
    assert (clip.rate, clip.source_start) == (24, 240)
    assert any("25" in warning and "24" in warning for warning in clip.warnings)


def test_stated_drop_frame_overrules_the_mark(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mov", Recipe(rate=NTSC, tags={"timecode": "01:00:00:00"}))
    clip = probe(path, rate=parse_timebase("29.97df"))
    assert (clip.drop_frame, clip.source_start) == (True, 107892)
    assert len(clip.warnings) == 1


@pytest.mark.parametrize("name", ["a.mov", "a.mxf"])
def test_reel_of_the_file_wins(tmp_path: Path, name: str) -> None:
    tags = {"timecode": "01:00:00:00"}
    reel = {"reel_name": "Quay07"}
    of_file, of_stream = (reel, {}) if name == "a.mxf" else ({}, reel)
    recipe = Recipe(
        DNXHR.codec, DNXHR.pix_fmt, 8, Fraction(25), tags | of_file, of_stream, DNXHR.options
    )
    clip = probe(write_clip(tmp_path / name, recipe), reel="OTHER")
    assert (clip.reel, clip.reel_source) == ("Quay07", "file")


def test_reel_of_the_user_then_of_the_name(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "quay_night take 3.mp4")
    given, made = probe(path, reel="Q1"), probe(path)
    assert (given.reel, given.reel_source) == ("Q1", "user")
    assert (made.reel, made.reel_source) == ("QUAY_NIGHT TAKE 3", "name")


@pytest.mark.parametrize(("counter_clockwise", "clockwise"), [(90, 270), (-90, 90), (180, 180)])
def test_portrait_is_upright(tmp_path: Path, counter_clockwise: int, clockwise: int) -> None:
    clip = probe(write_clip(tmp_path / "a.mov", Recipe(rotation=counter_clockwise)))
    assert clip.rotation == clockwise
    assert (clip.width, clip.height) == ((320, 180) if clockwise == 180 else (180, 320))


def test_pixels_are_squared(tmp_path: Path) -> None:
    # 720 x 576 with pixels 64:45 is shown 1024 x 576 (16:9; ITU-R BT.601 sampling, 720 = width).
    recipe = Recipe(aspect=Fraction(64, 45))
    clip = probe(write_clip(tmp_path / "a.mov", recipe, size=(720, 576)))
    assert (clip.width, clip.height) == (1024, 576)
    assert clip.pixel_aspect == Fraction(64, 45)


def test_sound_is_noticed(tmp_path: Path) -> None:
    assert probe(write_clip(tmp_path / "a.mov", Recipe(sound=True))).has_sound


def test_interlaced_is_said(tmp_path: Path) -> None:
    recipe = Recipe(options={"x264-params": "interlaced=1:tff=1"})
    assert any(
        "top field" in said for said in probe(write_clip(tmp_path / "a.mp4", recipe)).warnings
    )


@pytest.mark.parametrize("left_out", [1, 2, 30, 57, 58])
@pytest.mark.parametrize("rate", [Fraction(24), NTSC])
def test_one_frame_left_out_anywhere_is_uneven(left_out: int, rate: Fraction) -> None:
    tick = Fraction(1, 1000)
    whole = np.array([round(k / rate / tick) for k in range(60)], np.int64)
    assert spacing_of(whole, tick, ()).rate == rate
    assert spacing_of(whole, tick, ()).even
    uneven = spacing_of(np.delete(whole, left_out), tick, (rate,))
    assert not uneven.even
    assert uneven.rate == rate


@pytest.mark.parametrize(
    "rate", [Fraction(100), Fraction(120000, 1001), Fraction(240000, 1001), Fraction(240)]
)
def test_high_speed_takes_with_frames_left_out_keep_their_rate(rate: Fraction) -> None:
    tick = 1 / (rate * 1001)
    stamps = np.delete(np.arange(400, dtype=np.int64) * 1001, [50, 90, 200, 201, 300, 350])
    uneven = spacing_of(stamps, tick, ())
    assert (uneven.even, uneven.rate) == (False, rate)


@pytest.mark.parametrize("name", ["a.mp4", "a.mkv"])
def test_frame_left_out_makes_the_rate_variable(tmp_path: Path, name: str) -> None:
    stamps = [40 * k for k in range(60) if k != 31]
    planes = [numbered(k) for k in range(59)]
    path = write_planes(tmp_path / name, planes, stamps=stamps, tick=Fraction(1, 1000))
    clip = probe(path)
    assert clip.variable_rate
    assert (clip.rate, clip.frames) == (25, 59)
    assert any("--rate" in warning for warning in clip.warnings)
    stated = probe(path, rate=parse_timebase("25"))
    assert stated.variable_rate
    assert not any("--rate" in warning for warning in stated.warnings)


def test_jitter_of_a_phone_is_not_variable(tmp_path: Path) -> None:
    jitter = np.random.default_rng(7).integers(-4, 5, 90)
    stamps = [int(100 + 1000 * k / 30 + jitter[k]) for k in range(90)]
    planes = [numbered(k) for k in range(90)]
    path = write_planes(tmp_path / "a.mkv", planes, stamps=stamps, tick=Fraction(1, 1000))
    clip = probe(path)
    assert not clip.variable_rate
    assert clip.rate in (30, NTSC)


def test_pictures_without_time_stamps_are_counted_as_they_say(tmp_path: Path) -> None:
    """ITU-T H.264, E.2.1: time_scale / (2 * num_units_in_tick) frames a second."""
    bare = write_clip(tmp_path / "bare.h264", Recipe(rate=Fraction(24)))
    clip = probe(bare)
    assert clip.rate == 24 and any("no time stamps" in said for said in clip.warnings)
    stated = probe(bare, rate=parse_timebase("24"))
    assert not any("time stamps" in said for said in stated.warnings)


def test_missing(tmp_path: Path) -> None:
    with pytest.raises(UnreadableMediaError, match=r"gone\.mov: no such file.*check"):
        probe(tmp_path / "gone.mov")


def test_folder(tmp_path: Path) -> None:
    with pytest.raises(UnreadableMediaError, match="is a folder; name a media file"):
        probe(tmp_path)


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Raised by hand, because tests may run as a user whom permissions do not stop.
    path = write_clip(tmp_path / "a.mp4")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(UnreadableMediaError, match=r"a\.mp4: may not be read; ask"):
        probe(path)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.mov", b""),
        ("notes.mov", b"Night 2, quay: take 4 is the good one.\n" * 40),
        ("notes.txt", b"Night 2, quay: take 4 is the good one.\n" * 40),
        ("noise.mp4", np.random.default_rng(1).bytes(20000)),
    ],
)
def test_not_media(tmp_path: Path, name: str, content: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(NotMediaError, match=name):
        probe(path)


def test_recording_that_was_cut_off(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mov", frames=50)
    path.write_bytes(path.read_bytes()[:-1500])
    with pytest.raises(NotMediaError, match=r"a\.mov: .*copy it again"):
        probe(path)


def test_no_frame_decodes(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mp4")
    data = path.read_bytes()
    start, stop = data.index(b"mdat") + 4, data.index(b"moov") - 4
    path.write_bytes(data[:start] + bytes(stop - start) + data[stop:])
    with pytest.raises(NotMediaError, match="no frame of it decodes"):
        probe(path)


def test_sound_only(tmp_path: Path) -> None:
    path = tmp_path / "quay.wav"
    with wave.open(str(path), "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(48000)
        sound.writeframes(bytes(9600))
    with pytest.raises(NoVideoError, match=r"quay\.wav: has no picture"):
        probe(path)


def test_cover_picture_is_no_video(tmp_path: Path) -> None:
    with pytest.raises(NoVideoError, match="cover picture"):
        probe(write_sound(tmp_path / "a.m4a", cover=True))


def test_still_picture_is_no_video(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.png", Recipe("png", "rgb24"), frames=1)
    with pytest.raises(NoVideoError, match="still picture"):
        probe(path)


def test_name_that_looks_like_an_address(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_clip(tmp_path / "http:take 1.mp4")
    monkeypatch.chdir(tmp_path)
    assert probe(Path("http:take 1.mp4")).name == "http:take 1.mp4"


def test_frames_hidden_by_an_edit_list_do_not_count(tmp_path: Path) -> None:
    # The MP4 muxer hides what comes before time 0 (ISO/IEC 14496-12, edit list box).
    planes = [numbered(k) for k in range(30)]
    path = write_planes(
        tmp_path / "a.mp4", planes, stamps=[k - 5 for k in range(30)], tick=Fraction(1, 25)
    )
    shown = [number_in(frame.luma) for frame in read_frames(path)]
    assert shown == list(range(5, 30))
    assert probe(path).frames == 25


CUT_SHORT = {
    "a.mkv": Recipe(options={"g": "1"}),
    "a.mxf": Recipe("mpeg2video", options={"g": "1"}),
    "first.mp4": Recipe(options={"g": "1"}, container={"movflags": "+faststart"}),
}


@pytest.mark.parametrize("name", CUT_SHORT)
def test_a_file_that_ends_before_its_header_says_lacks_frames(tmp_path: Path, name: str) -> None:
    path = write_clip(tmp_path / name, CUT_SHORT[name], frames=50)
    assert frames_lacking(path, 50) == 0
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    left = sum(1 for _ in read_frames(path))
    assert 10 < left < 40
    assert frames_lacking(path, left) == 50 - left


def test_no_frame_lacks_where_no_header_states_a_length(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.ts", frames=50)
    assert frames_lacking(path, 10) == 0
    hidden = write_planes(
        tmp_path / "a.mp4",
        [numbered(k) for k in range(30)],
        stamps=[k - 5 for k in range(30)],
        tick=Fraction(1, 25),
    )
    assert frames_lacking(hidden, 25) == 0


def test_a_header_cut_in_two_is_no_fault_of_the_disk(tmp_path: Path) -> None:
    path = write_clip(tmp_path / "a.mkv", frames=10)
    path.write_bytes(path.read_bytes()[:300])
    with pytest.raises(NotMediaError, match=r"a\.mkv: breaks off before its first picture"):
        probe(path)
