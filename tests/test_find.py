"""Picking the likeliest impulse of each moment, and the start that is a receiver's reaction."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import find_peaks

from impactcut.core.find import APART_SECONDS, LEAST_CHANCE, Candidate, pick, reaction_to
from impactcut.core.impulses import Impulse, Kind

CONTACT = 100


def candidate(frame: float, chance: float, kind: Kind = "start") -> Candidate:
    right = np.array([1, 0], np.float32)
    impulse = Impulse(round(frame), kind, right, 1.0, np.ones((2, 2), bool), right, 1.0)
    return Candidate(impulse, chance, frame, frame)


@pytest.mark.parametrize("rate", [24.0, 25.0, 30.0])
def test_the_likeliest_of_each_moment_are_scipys_peaks_that_lie_apart(rate: float) -> None:
    """`scipy.signal.find_peaks` takes away lower peaks that are nearer than ``distance``."""
    random = np.random.default_rng(8)
    frames = 2 * np.sort(random.choice(np.arange(1, 400), 120, replace=False))
    chances = random.permutation(np.linspace(0.01, 0.99, 120))
    signal = np.zeros(802)
    signal[frames] = chances
    expected, _ = find_peaks(signal, height=LEAST_CHANCE, distance=APART_SECONDS * rate)
    every = [candidate(*each) for each in zip(frames.tolist(), chances.tolist(), strict=True)]
    found = pick((every[place] for place in random.permutation(120)), rate)
    assert [each.contact for each in found] == expected.tolist()


def reaction(*others: Candidate, rate: float = 24.0) -> float | None:
    chosen = candidate(CONTACT, 0.9, "stop")
    found = reaction_to(chosen, [chosen, *others], CONTACT, rate)
    return None if found is None else found.candidate.frame


def test_hits_lie_four_frames_apart_at_24() -> None:
    """0.16 s is an engineering choice without a source."""
    near, far = ([candidate(100, 0.9), candidate(100 + by, 0.8)] for by in (3, 4))
    assert len(pick(near, 24.0)) == 1 and len(pick(far, 24.0)) == 2


def test_the_likeliest_start_around_the_contact_is_the_reaction() -> None:
    """From 0.16 s before to 0.25 s after, at more than even odds: engineering choices."""
    assert reaction(candidate(102, 0.6), candidate(104, 0.8)) == 104
    assert reaction(candidate(102, 0.51)) == 102
    assert reaction(candidate(102, 0.5)) is None
    assert reaction(candidate(102, 0.9, "stop")) is None
    assert reaction(candidate(97, 0.9)) == 97
    assert reaction(candidate(96, 0.9)) is None
    assert reaction(candidate(106, 0.9)) == 106
    assert reaction(candidate(107, 0.9)) is None
    assert reaction(candidate(107, 0.9), rate=48.0) == 107


def test_a_hit_found_by_a_start_is_its_own_reaction_however_unsure() -> None:
    start = candidate(CONTACT, 0.2)
    found = reaction_to(start, [start], CONTACT, 24.0)
    assert found is not None and found.candidate is start
