"""Random recuts and damaged lists, a few seconds of those of `scripts/bench/lists/recuts.py`."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.helpers.lists.random_cuts import random_cut
from tests.helpers.lists.recut_trials import run_fuzzed, run_trial
from tests.helpers.lists.second_reader import frames_of, read_list


def test_random_recuts_stand_before_the_second_reader() -> None:
    trials = [run_trial(seed) for seed in range(100)]
    assert sum(len(trial.done.made) for trial in trials) > 100
    assert {trial.hold for trial in trials} == {None, "tail", "head", "next"}
    seen = [read_list(trial.text, trial.cut.timebase.counted) for trial in trials]
    assert sum(reading.pairs().total() for reading in seen) > 100
    assert sum(reading.marks().total() for reading in seen) > 50


def test_damaged_lists_are_recut_or_refused() -> None:
    done = Counter(run_fuzzed(seed) for seed in range(150))
    assert done[True] > 40 and done[False] > 20


def test_random_cuts_hold_every_form() -> None:
    text = "".join(random_cut(seed).text for seed in range(60))
    for form in (" D    0", " W001 0", " K B ", "M2 ", "SPLIT:", "NONE", "AUD  5    6", "BL ",
                 "* LOC:", "AX ", "V2", "FCM: DROP FRAME"):  # fmt: skip
        assert form in text, form


@pytest.mark.parametrize(
    ("label", "counted", "drop", "frames"),
    [
        ("01:00:00;00", 30, True, 107_892),
        ("01:00:00;00", 60, True, 215_784),
        ("24:00:00;00", 30, True, 2_589_408),
        ("24:00:00;00", 60, True, 5_178_816),
        ("00:01:00;02", 30, True, 1800),
        ("00:01:00;04", 60, True, 3600),
        ("01:00:00:00", 24, False, 86_400),
    ],
)
def test_the_second_reader_counts_as_smpte_does(
    label: str, counted: int, drop: bool, frames: int
) -> None:
    # SMPTE ST 12-1: labels left out in nine minutes of ten.
    assert frames_of(label, counted, drop) == frames
    with pytest.raises(AssertionError):
        frames_of("00:01:00;00", 30, True)
