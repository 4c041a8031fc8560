"""Sharp sounds: a blow, and what is none.

The sounds are made here from their definitions; that a blow is a sharp rise that dies away and
that a voice is not is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from impactcut.core.sound.transients import LEVELS_PER_SECOND, transients
from impactcut.media.sound.listen import listen
from tests.helpers.footage.sound_files import SoundRecipe, write_sounding

STEP = 1 / LEVELS_PER_SECOND


def levels(seconds: float = 4.0, noise: float = 1e-6) -> np.ndarray:
    return np.full(round(seconds * LEVELS_PER_SECOND), noise, np.float32)


def thump(level: np.ndarray, at: float, decay: float = 0.02) -> None:
    start = round(at * LEVELS_PER_SECOND)
    after = np.arange(len(level) - start) / LEVELS_PER_SECOND
    level[start:] += 0.1 * np.exp(-after / decay)


def test_a_thump_is_a_transient_at_its_attack() -> None:
    level = levels()
    thump(level, 1.0)
    thump(level, 2.5)
    assert transients(level) == pytest.approx([1.0, 2.5], abs=2 * STEP)


def test_what_swells_or_goes_on_is_none() -> None:
    swell = levels()
    swell += (0.1 * (1 - np.cos(np.linspace(0, 2 * np.pi, len(swell))))).astype(np.float32)
    held = levels()
    held[200:] = 0.1
    assert len(transients(swell)) == 0
    assert len(transients(held)) == 0
    assert len(transients(levels(0.05))) == 0
    assert len(transients(np.zeros(0, np.float32))) == 0


@pytest.mark.parametrize("late", [0, 3])
def test_transients_of_a_file_count_from_its_first_picture(tmp_path: Path, late: int) -> None:
    seconds = np.arange(2 * 48000) / 48000
    burst = np.where(seconds >= 1, np.exp(-(seconds - 1).clip(0) / 0.01), 0)
    sound = 0.5 * burst * np.sin(2 * np.pi * 1000 * seconds)
    clip = write_sounding(tmp_path / "a.mov", sound[:, None], SoundRecipe(late=late))
    found = transients(listen(clip).levels)
    assert found == pytest.approx([1 - late / 25], abs=2 * STEP)


def test_rumble_is_not_heard(tmp_path: Path) -> None:
    seconds = np.arange(2 * 48000) / 48000
    rumble = 0.5 * np.sin(2 * np.pi * 30 * seconds)
    clip = write_sounding(tmp_path / "a.mov", rumble[:, None])
    assert len(transients(listen(clip).levels)) == 0
