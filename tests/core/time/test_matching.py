"""Pairs of frames: counted against mir_eval's maximum bipartite matching (Hopcroft and Karp)."""

from __future__ import annotations

import mir_eval
import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from impactcut.core.time.matching import count_matches, nearest_pairs

FRAMES = st.lists(st.integers(0, 60), max_size=12)


@given(FRAMES, FRAMES, st.integers(0, 5))
def test_count_is_the_greatest_there_is(known: list[int], found: list[int], within: int) -> None:
    a, b = (np.array(sorted(frames), dtype=float) for frames in (known, found))
    assert count_matches(known, found, within) == len(mir_eval.util.match_events(a, b, within))


@given(FRAMES, FRAMES, st.integers(0, 5))
def test_pairs_are_near_and_share_nothing(known: list[int], found: list[int], within: int) -> None:
    pairs = nearest_pairs(known, found, within)
    assert len(set(pairs.values())) == len(pairs)
    assert all(abs(known[i] - found[j]) <= within for i, j in pairs.items())
    for i in set(range(len(known))) - pairs.keys():
        free = set(range(len(found))) - set(pairs.values())
        assert all(abs(known[i] - found[j]) > within for j in free)


def test_nearest_comes_first() -> None:
    assert nearest_pairs([100, 103], [102], 3) == {1: 0}
    assert nearest_pairs([100, 104], [103, 101], 3) == {0: 1, 1: 0}
