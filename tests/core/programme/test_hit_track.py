"""Thumps on contact frames, to the sample, in programmes spelled out frame by frame.

The lengths of frames in samples at 48 kHz, such as 8008 samples for five frames at 29.97, are those
of SMPTE ST 299-1 (from memory; for 47.952 and 48 by division).
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import CutList
from impactcut.core.programme.hit_track import (
    ThumpCue,
    hit_cues,
    sample_at,
    time_reference,
    track_samples,
)
from impactcut.core.programme.mixing import BLOCK_SAMPLES, blocks_of, mixed_track, thump_track
from impactcut.core.programme.sound_runs import FADE_SAMPLES, SoundRun, sound_runs
from impactcut.core.sound.thumps import THUMP_SAMPLES, peak_level, thump
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import STANDARD_RATES, Timebase
from impactcut.media.sound.wav import Origin, write_wav
from tests.helpers.lists.list_clips import (
    cut_lists,
    make_clip,
    make_entry,
    make_removal,
    planned_frames,
)

NTSC = Fraction(30000, 1001)


def placed(cut: CutList) -> dict[tuple[str, int], int]:
    """Frame of the programme, from 0, of every frame kept of every clip, counted one by one."""
    frames = planned_frames(cut.clips, cut.removals, 0)
    return {
        (clip.path, (source - clip.source_start) % clip.timebase.day): place
        for place, (clip, source, _) in enumerate(frames)
    }


@pytest.mark.parametrize(
    ("rate", "frames", "samples"),
    [
        ("24000/1001", 1, 2002), ("24", 1, 2000), ("25", 1, 1920), ("30000/1001", 5, 8008),
        ("30", 1, 1600), ("48000/1001", 1, 1001), ("48", 1, 1000), ("50", 1, 960),
        ("60000/1001", 5, 4004), ("60", 1, 800),
    ],
)  # fmt: skip
def test_frames_have_the_published_lengths(rate: str, frames: int, samples: int) -> None:
    for number in (0, 1, 17, 107892, 5183999):
        assert sample_at(number * frames, Fraction(rate)) == number * samples


def test_rounding_never_adds_up() -> None:
    starts = [sample_at(frame, NTSC) for frame in range(200_000)]
    lengths = np.diff(starts)
    assert set(lengths) == {1601, 1602}
    assert np.abs(np.array(starts) - np.arange(200_000) * 1601.6).max() <= 0.5


@pytest.mark.parametrize(
    ("base", "start", "samples"),
    [
        (Timebase(Fraction(25)), "01:00:00:00", 172_800_000),
        (Timebase(Fraction(24000, 1001)), "01:00:00:00", 172_972_800),
        (Timebase(NTSC, True), "01:00:00;00", 172_799_827),
        (Timebase(Fraction(24)), "23:59:59:23", 86400 * 48000 - 2000),
    ],
)
def test_time_reference_counts_from_midnight(base: Timebase, start: str, samples: int) -> None:
    clip = make_clip(timebase=base)
    cut = assemble("", [clip], [make_removal(clip, 50, 2)], record_start=base.frame(start))
    assert time_reference(cut) == samples


@pytest.mark.parametrize("rate", STANDARD_RATES)
def test_thumps_start_on_the_sample_of_the_contact_frame(rate: Fraction) -> None:
    base = Timebase(rate)
    clips = [make_clip(f"take{n}.mov", timebase=base, frames=150) for n in (1, 2)]
    removals = [make_removal(clips[0], 40, 3), make_removal(clips[1], 99, 1)]
    contacts = [(clips[0], 20), (clips[0], 43), (clips[0], 120), (clips[1], 60), (clips[1], 140)]
    cut = assemble("", clips, removals, record_start=base.frame("10:00:00:00") + 7)
    hits = [make_entry(clip, n, contact, 1.0) for n, (clip, contact) in enumerate(contacts)]
    data, _ = soundfile.read(io.BytesIO(rendered(cut, hits)))
    begins = np.array([placed(cut)[clip.path, contact] for clip, contact in contacts])
    origin = cut.record_start
    expected = [
        round((origin + int(n)) * 48000 / rate) - round(origin * 48000 / rate) for n in begins
    ]
    assert onsets(data) == expected
    assert len(data) == round((origin + 296) * 48000 / rate) - round(origin * 48000 / rate)


def rendered(cut: CutList, hits: Sequence[HitEntry]) -> bytes:
    file, samples = io.BytesIO(), track_samples(cut)
    blocks = thump_track(hit_cues(cut, hits), samples)
    write_wav(file, blocks, 1, Origin("", "", time_reference(cut)))
    return file.getvalue()


def onsets(sound: np.ndarray) -> list[int]:
    """Samples at which sound starts after a silence of at least a hundredth of a second."""
    loud = np.flatnonzero(sound)
    return [int(loud[0]), *(int(n) for n in loud[1:][np.diff(loud) > 480])]


@given(cut=cut_lists(), data=st.data())
@settings(max_examples=150)
def test_cues_of_any_programme(cut: CutList, data: st.DataObject) -> None:
    there = placed(cut)
    clip = data.draw(st.sampled_from(cut.clips))
    contact = data.draw(st.integers(0, clip.frames - 1))
    (cue,) = hit_cues(cut, [make_entry(clip, 3, contact, 0.5)])
    later = (there[clip.path, n] for n in range(contact, clip.frames) if (clip.path, n) in there)
    of_next = [place for (path, _), place in there.items() if path == clip.path]
    place = next(later, max(of_next) + 1)
    rate = cut.timebase.rate
    start = cut.record_start
    expected = round((start + place) * 48000 / rate) - round(start * 48000 / rate)
    assert (cue.sample, cue.speed, cue.seed) == (expected, 0.5, 3)


def test_hits_of_other_clips_are_left_out() -> None:
    clip, other = make_clip("a.mov"), make_clip("b.mov")
    cut = assemble("", [clip], [make_removal(clip, 50, 1)], record_start=0)
    assert hit_cues(cut, [make_entry(other, 1, 20, 1.0)]) == ()


def test_thumps_over_block_borders_are_whole() -> None:
    cues = [ThumpCue(BLOCK_SAMPLES - 1000, 2.0, 5), ThumpCue(3 * BLOCK_SAMPLES - 100, 1.0, 6)]
    samples = 3 * BLOCK_SAMPLES
    track = np.concatenate(list(thump_track(cues, samples)))[:, 0]
    expected = np.zeros(samples + THUMP_SAMPLES, np.float32)
    for cue in cues:
        expected[cue.sample : cue.sample + THUMP_SAMPLES] += thump(cue.speed, cue.seed)
    assert np.array_equal(track, expected[:samples])
    assert [len(block) for block in blocks_of(samples + 1)] == [BLOCK_SAMPLES] * 3 + [1]


def test_many_thumps_at_once_stay_below_full_scale() -> None:
    cues = [ThumpCue(1000 + 40 * n, 9.0, 1) for n in range(12)]
    loud = np.ones((THUMP_SAMPLES * 3, 2), np.float32)
    for blocks in (
        thump_track(cues, len(loud)),
        mixed_track([(0, loud)], cues, len(loud)),
        mixed_track([(0, -loud)], cues, len(loud)),
    ):
        assert np.abs(np.concatenate(list(blocks))).max() <= 1


def test_production_sound_gives_way_to_a_thump_and_comes_back() -> None:
    cue, quiet = ThumpCue(20000, 1.0, 1), 0.25
    steady = np.full((60000, 2), quiet, np.float32)
    mixed = np.concatenate(list(mixed_track([(0, steady)], [cue], 60000)))
    during = slice(20000, 20000 + THUMP_SAMPLES)
    heard = mixed[during] - thump(1.0, 1)[:, None]
    assert np.allclose(heard, quiet * (1 - peak_level(1.0)), atol=1e-6)
    assert np.array_equal(mixed[: 20000 - FADE_SAMPLES], steady[: 20000 - FADE_SAMPLES])
    after = 20000 + THUMP_SAMPLES + FADE_SAMPLES
    assert np.array_equal(mixed[after:], steady[after:])
    assert np.abs(np.diff(mixed[:20000, 0])).max() < 1e-3


def test_runs_cover_the_programme_and_cross_only_at_splices() -> None:
    base = Timebase(NTSC)
    clips = [make_clip(f"take{n}.mov", timebase=base, frames=100) for n in (1, 2)]
    cut = assemble("", clips, [make_removal(clips[0], 40, 2)], record_start=1001)
    runs = sound_runs(cut.events, base.rate, cut.record_start)
    half = FADE_SAMPLES // 2
    origin = round(1001 * 1601.6)
    join, end = (round((1001 + n) * 1601.6) - origin for n in (40, 98))
    first, second = runs[clips[0]]
    assert (first.source.start, first.target) == (0, 0)
    assert first.source.stop == join + half
    assert (second.source.start, second.target) == (round(42 * 1601.6) - half, join - half)
    assert second.target + len(second.source) == end
    assert runs[clips[1]][0].target == end


def test_fades_keep_the_power_of_unlike_sounds() -> None:
    leaving = SoundRun(FrameRange(0, 1000), 0).gain(FrameRange(1000 - FADE_SAMPLES, 1000))
    coming = SoundRun(FrameRange(5000, 6000), 0).gain(FrameRange(5000, 5000 + FADE_SAMPLES))
    assert np.allclose(leaving**2 + coming**2, 1, atol=1e-6)
    inside = FrameRange(FADE_SAMPLES, 1000 - FADE_SAMPLES)
    assert np.all(SoundRun(FrameRange(0, 1000), 0).gain(inside) == 1)


def test_blocks_of_a_clip_give_the_parts_that_meet() -> None:
    run = SoundRun(FrameRange(1000, 3000), 500)
    sound = np.ones((800, 2), np.float32)
    assert run.part(0, sound) is None and run.part(3000, sound) is None
    at, part = run.part(900, sound) or (None, sound)
    assert at == 500 and len(part) == 700
    at, part = run.part(2900, sound) or (None, sound)
    assert at == 2400 and len(part) == 100


def test_wav_is_the_same_byte_for_byte(tmp_path: Path) -> None:
    clip = make_clip()
    cut = assemble("", [clip], [make_removal(clip, 50, 2)], record_start=86400)
    hits = [make_entry(clip, n, 30 * n, 0.4 * n) for n in range(1, 6)]
    assert rendered(cut, hits) == rendered(cut, hits[::-1])
