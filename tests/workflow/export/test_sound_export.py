"""The scratch hit track and the guide mix of whole projects, read back with soundfile.

The clips' sound is noise of which every sample is known, so that each sample of the mix can be held
against the one that belongs there, at places spelled out from the definition of a frame's start,
``round(frame * 48000 / rate)`` from midnight.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from impactcut.core.programme.sound_runs import FADE_SAMPLES
from impactcut.core.sound.thumps import THUMP_SAMPLES, thump
from impactcut.project import Project
from impactcut.workflow.export.exporting import ExportOptions, ExportReport, export_lists
from tests.helpers.footage.media_files import Recipe, write_clip
from tests.helpers.footage.sound_files import SoundRecipe, write_sounding
from tests.helpers.projects.sounding_project import add_clip, approved

FRAMES = 130
RATES = [Fraction(24000, 1001), Fraction(25), Fraction(30000, 1001), Fraction(50),
         Fraction(60000, 1001)]  # fmt: skip
SPEED = 2.5


def noise(rate: Fraction, seed: int) -> NDArray[np.float64]:
    """Noise of a clip's length on the grid of 24-bit samples, stereo."""
    samples = round(FRAMES * 48000 / rate)
    words = np.random.default_rng(seed).integers(-(2**21), 2**21, (samples, 2))
    return words / 2**23


def sounding(folder: Path, name: str, rate: Fraction, seed: int, **more: int) -> Path:
    recipe = SoundRecipe(layout="stereo", **more)
    return write_sounding(folder / name, noise(rate, seed), recipe, rate=rate, frames=FRAMES)


def export(project: Project, folder: Path, *formats: str) -> ExportReport:
    return export_lists(project, folder, ExportOptions("QUAY", formats=formats, force=True))


def start_of(rate: Fraction) -> int:
    """Record frame of 01:00:00:00 in non-drop counting."""
    return 3600 * -(-rate.numerator // rate.denominator)


@pytest.mark.parametrize("rate", RATES)
def test_the_guide_mix_lacks_exactly_the_trimmed_frames(
    project: Project, tmp_path: Path, rate: Fraction
) -> None:
    one = add_clip(project, sounding(tmp_path, "a.mov", rate, 1), [30, 90])
    two = add_clip(project, sounding(tmp_path, "b.mov", rate, 2), [60])
    gone = [
        (0, approved(project, one[30], 1)),
        (0, approved(project, one[90], 3)),
        (1, approved(project, two[60], 2)),
    ]
    report = export(project, tmp_path / "out", "guide")
    assert report.refusals == () and [p.suffix for p in report.files] == [".wav"]
    mix, _ = soundfile.read(report.files[0], always_2d=True)
    removed = [{f for c, t in gone if c == k for f in range(t.first, t.first + t.count)}
               for k in (0, 1)]  # fmt: skip
    kept = [(k, f) for k in (0, 1) for f in range(FRAMES) if f not in removed[k]]
    sources = [np.pad(noise(rate, seed), ((0, 1), (0, 0))) for seed in (1, 2)]
    expected, exact = [], []
    origin = start_of(rate)
    splice = 0
    for place, (k, frame) in enumerate(kept):
        if place == 0 or kept[place - 1] != (k, frame - 1):
            splice, first = place, frame
        offset = round(first * 48000 / rate) - round((origin + splice) * 48000 / rate)
        span = (round((origin + n) * 48000 / rate) + offset for n in (place, place + 1))
        expected.append(sources[k][slice(*span)])
        edge = place - splice < 1 or kept[place + 1 : place + 2] != [(k, frame + 1)]
        exact.append(np.full(len(expected[-1]), not edge))
    whole, sure = np.concatenate(expected), np.concatenate(exact)
    assert len(mix) == len(whole)
    for contact, k in ((30, 0), (90, 0), (60, 1)):
        place = next(n for n, (c, f) in enumerate(kept) if c == k and f >= contact)
        at = round((origin + place) * 48000 / rate) - round(origin * 48000 / rate)
        sure[max(0, at - FADE_SAMPLES) : at + THUMP_SAMPLES + FADE_SAMPLES] = False
    assert sure.mean() > 0.5
    assert np.abs(mix[sure] - whole[sure]).max() < 2**-23


def test_what_was_cut_out_is_not_heard_and_the_splice_does_not_click(
    project: Project, tmp_path: Path
) -> None:
    """A shriek inside the removed frames is gone; a steady hum runs on without a jump."""
    time = np.arange(FRAMES * 1920) / 48000
    hum = 0.05 * np.sin(2 * np.pi * 50 * time)  # a period of 960 samples: two frames are four
    shriek = np.zeros_like(hum)
    shriek[59 * 1920 + 300 : 61 * 1920 - 300] = 0.6
    path = write_sounding(tmp_path / "a.mov", (hum + shriek)[:, None], frames=FRAMES)
    hits = add_clip(project, path, [60, 110])
    trim = approved(project, hits[60], 2)
    assert (trim.first, trim.count) == (59, 2)
    (file,) = export(project, tmp_path / "out", "guide").files
    mix, _ = soundfile.read(file)
    splice = 59 * 1920
    before_thump = mix[splice - 5 * 1920 : splice, 0]
    assert np.abs(before_thump).max() < 0.08
    heard = mix[splice : splice + THUMP_SAMPLES, 0] - thump(SPEED, hits[60])
    assert np.abs(heard).max() < 0.08
    around = mix[splice - 400 : splice, 0]
    assert np.abs(np.diff(around)).max() < 0.002


def test_nothing_clips_under_full_scale_sound(project: Project, tmp_path: Path) -> None:
    loud = np.sign(np.sin(np.arange(FRAMES * 1920) / 50))[:, None] * (1 - 2**-23)
    path = write_sounding(tmp_path / "a.mov", loud, frames=FRAMES)
    hits = add_clip(project, path, [40, 44, 100])
    approved(project, hits[100], 1)
    (file,) = export(project, tmp_path / "out", "guide").files
    words, _ = soundfile.read(file, dtype="int32")
    held = (words >> 8 >= 2**23 - 1) | (words >> 8 <= -(2**23))
    during = slice(40 * 1920, 44 * 1920 + THUMP_SAMPLES)
    assert not held[during].any()


@pytest.mark.parametrize("rate", RATES)
def test_the_hit_track_sits_at_its_time_of_day(
    project: Project, tmp_path: Path, rate: Fraction
) -> None:
    hits = add_clip(
        project, write_clip(tmp_path / "a.mov", Recipe(rate=rate), frames=FRAMES), [30, 90, 120]
    )
    approved(project, hits[30], 3)
    (file,) = export(project, tmp_path / "out", "hits").files
    track, _ = soundfile.read(file)
    assert track.ndim == 1 and soundfile.info(file).subtype == "PCM_24"
    origin = start_of(rate)
    with av.open(str(file)) as container:
        reference = int(container.metadata["time_reference"])
    assert reference == round(origin * 48000 / rate)
    for contact, number in hits.items():
        record = origin + max(contact - 3, 28)
        at = round(record * 48000 / rate) - reference
        assert not track[at - 100 : at].any() and track[at]
        sounded = track[at : at + THUMP_SAMPLES]
        assert np.abs(sounded - thump(SPEED, number)[: len(sounded)]).max() < 2**-22


def test_files_are_the_same_byte_for_byte(project: Project, tmp_path: Path) -> None:
    hits = add_clip(project, sounding(tmp_path, "a.mov", Fraction(25), 1), [30, 90])
    approved(project, hits[30], 2)
    one, two = (export(project, tmp_path / name, "hits", "guide").files for name in ("o", "t"))
    assert [path.read_bytes() for path in one] == [path.read_bytes() for path in two]
    assert sorted(p.name for p in one) == ["QUAY_25_guide.wav", "QUAY_25_hits.wav"]


def test_sound_that_is_missing_or_doubtful_is_named(project: Project, tmp_path: Path) -> None:
    rate = Fraction(25)
    good = add_clip(project, sounding(tmp_path, "a.mov", rate, 1), [60])
    approved(project, good[60], 1)
    add_clip(project, write_clip(tmp_path / "mute.mov", frames=FRAMES), [60])
    add_clip(project, sounding(tmp_path, "three.mov", rate, 3, tracks=3), [60])
    add_clip(project, sounding(tmp_path, "off.mov", Fraction(50), 4), [60], rate=rate)
    gone = sounding(tmp_path, "gone.mov", rate, 5)
    add_clip(project, gone, [60])
    gone.unlink()
    report = export(project, tmp_path / "out", "edl", "hits", "guide")
    assert len(report.files) == 3
    told = {refusal.name: f"{refusal.error}; {refusal.remedy}" for refusal in report.refusals}
    assert told.keys() == {
        "sound of mute.mov", "sound of three.mov", "sound of off.mov", str(gone)
    }  # fmt: skip
    assert "3 sound tracks, and one is heard" in told["sound of three.mov"]
    assert "counted at 25 but runs at 50" in told["sound of off.mov"]
    assert "no such file" in told[str(gone)]
    mix, _ = soundfile.read(report.files[-1])
    clips = ["a.mov", "gone.mov", "mute.mov", "off.mov", "three.mov"]
    lengths = [129, 130, 130, 130, 130]
    for name, start, frames in zip(clips, np.cumsum([0, *lengths]), lengths, strict=False):
        quiet = mix[start * 1920 + 1000 : (start + 40) * 1920]
        assert (np.abs(quiet).max() > 0) == (name in ("a.mov", "three.mov")), (name, frames)
