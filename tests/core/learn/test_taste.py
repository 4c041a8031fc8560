"""Taste, on directors who are made up: what they take comes back, as surely as it is said."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from impactcut.core.learn.taste import Choice, by_taste, chosen, taste_note, taste_of
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.propose import choose
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.core.viewer.judge import AS_PUBLISHED, Judge


def trims_of(random: np.random.Generator) -> tuple[Trim, ...]:
    """Trims of one to three frames: the more go, the faster it looks and the more it shows."""
    made = []
    for count in (1, 2, 3):
        for first in (96, 98, 99):
            gain = float(np.exp(random.normal(0.09 * count, 0.03)))
            seen = float(abs(random.normal(0.4 * count, 0.15)))
            made.append(Trim(first, count, gain, seen, "clean" if seen < 1 else "frame-step"))
    return tuple(made)


def directed(seed: int, hits: int, gain: float, most: float) -> list[Choice]:
    """What a director takes who wants a gain, and sees what shows more than so much."""
    random = np.random.default_rng(seed)
    choices = []
    for _ in range(hits):
        trims = trims_of(random)
        able = [trim for trim in trims if trim.visibility < most] or [trims[0]]
        taken = min(able, key=lambda trim: abs(math.log(trim.speed_gain / gain)))
        choices.append(Choice(Proposal(trims, choose(trims, AS_PUBLISHED), None), taken, "Ines"))
    return choices


def test_ten_approvals_are_asked_for() -> None:
    with pytest.raises(ValueError, match="9 of the 10 approvals"):
        taste_of(directed(1, 9, 1.1, 1), AS_PUBLISHED)
    assert taste_of(directed(1, 10, 1.1, 1), AS_PUBLISHED).approvals == 10


def test_a_director_unlike_the_rule_is_met_more_often_by_taste() -> None:
    """On hits that no taste was taken from, and by the count of hits that it says itself."""
    taste = taste_of(directed(2, 30, 1.10, 0.8), AS_PUBLISHED)
    assert taste.gain == pytest.approx(1.10, rel=0.02)
    ruled = own = 0
    for choice in directed(3, 60, 1.10, 0.8):
        trim = chosen(choice.proposal.trims, taste, AS_PUBLISHED)
        own += trim is not None and trim.frames == choice.approved.frames
        assert choice.proposal.proposed is not None
        ruled += choice.proposal.proposed.frames == choice.approved.frames
    assert own > ruled + 10
    assert taste.alike[1] > taste.alike[0]
    assert own / 60 == pytest.approx(taste.alike[1] / 30, abs=0.25)


def test_the_error_is_that_of_many_such_samples() -> None:
    tastes = [taste_of(directed(seed, 12, 1.2, 2), AS_PUBLISHED) for seed in range(60)]
    spread = np.std([math.log(taste.gain) for taste in tastes])
    said = np.mean([math.log(taste.gain_error) for taste in tastes])
    assert said == pytest.approx(spread, rel=0.4)
    seen = np.std([taste.visibility for taste in tastes])
    assert np.mean([taste.visibility_error for taste in tastes]) == pytest.approx(seen, rel=0.4)


def test_what_must_not_go_gains_nothing_shows_more_or_meets_another_is_never_to_taste() -> None:
    taste = replace(taste_of(directed(2, 12, 1.2, 2), AS_PUBLISHED), visibility=1.4)
    good = Trim(98, 2, taste.gain, taste.visibility, "clean")
    shy = replace(taste, visibility=0.3)
    assert chosen([replace(good, visibility=0.9)], shy, AS_PUBLISHED)
    assert chosen([good], taste, AS_PUBLISHED) == good
    for bad in (
        replace(good, vetoes=("no frame of consequence",)),
        replace(good, speed_gain=1.05),
        replace(good, visibility=taste.visibility + 0.01),
    ):
        assert chosen([bad], taste, AS_PUBLISHED) is None
    assert chosen([good], taste, AS_PUBLISHED, [FrameRange(100, 101)]) is None
    assert chosen([good], taste, AS_PUBLISHED, [FrameRange(101, 102)]) == good
    assert chosen([good], taste, Judge(least_gain=taste.gain * 1.01)) is None


def test_a_proposal_to_taste_says_so_and_why_there_is_none() -> None:
    taste = taste_of(directed(2, 12, 1.2, 2), AS_PUBLISHED)
    trims = trims_of(np.random.default_rng(5))
    made = by_taste(Proposal(trims, trims[0], None), taste, AS_PUBLISHED)
    assert made.proposed is not None and made.proposed.by_taste
    assert made.proposed in made.trims and len(made.trims) == len(trims)
    assert made.proposed.reasons[0] == taste_note(taste)
    assert "12 approvals (Ines): gains of 1.2" in taste_note(taste)
    bare = by_taste(Proposal((), None, "too near an end"), taste, AS_PUBLISHED)
    assert bare.proposed is None and "12 approvals" in str(bare.no_trim)
