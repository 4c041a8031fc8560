"""What sure finds nearby say of a find: counted by hand and beside SciPy's tree of neighbours."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import KDTree

from impactcut.core.hits import SURE
from impactcut.core.neighbours import NEAR_SECONDS, NeighbourWeights, sure_nearby
from impactcut.workflow.finding import LIKELY
from impactcut.workflow.hit_weights import neighbour_weights

RATE = 25.0
REACH = NEAR_SECONDS * RATE


def test_sure_finds_within_reach_are_counted_and_a_find_is_none_of_its_own() -> None:
    contact = np.array([0.0, REACH, REACH + 1, 500.0])
    chance = np.array([0.9, SURE, 0.69, 0.99])
    assert sure_nearby(chance, contact, RATE).tolist() == [1, 1, 1, 0]


def test_nothing_found_has_no_neighbours() -> None:
    assert sure_nearby(np.zeros(0), np.zeros(0), RATE).tolist() == []


@given(
    st.lists(
        st.tuples(st.integers(0, 2000).map(lambda at: at / 4), st.floats(0.05, 1.0)), max_size=40
    )
)
def test_the_count_is_that_of_scipys_tree_of_neighbours(finds: list[tuple[float, float]]) -> None:
    contact = np.array([at for at, _ in finds])
    chance = np.array([each for _, each in finds])
    sure = chance >= SURE
    expected = np.zeros(len(finds), int)
    if sure.any():
        near = KDTree(contact[sure, None]).query_ball_point(contact[:, None], REACH)
        expected = np.array([len(each) for each in near]) - sure
    assert sure_nearby(chance, contact, RATE).tolist() == expected.tolist()


def test_a_chance_is_weighed_by_its_odds_and_those_around() -> None:
    # By hand: odds of 4 to 1, squared, are 16; each doubling of (1 + others) doubles; shift halves.
    weights = NeighbourWeights(own=2.0, others=1.0, shift=-float(np.log(2)))
    chances = weights.chances(np.full(3, 0.8), np.array([0, 1, 3]))
    assert chances == pytest.approx([8 / 9, 16 / 17, 32 / 33])


@given(st.floats(0.05, 0.9999), st.integers(0, 30))
def test_more_neighbours_make_it_likelier_and_none_less_likely(chance: float, others: int) -> None:
    fewer, more = neighbour_weights().chances(np.full(2, chance), np.array([others, others + 1]))
    assert fewer < more
    (alone,) = neighbour_weights().chances(np.array([chance]), np.array([0]))
    assert alone < chance


def test_what_is_surely_so_stays_so() -> None:
    assert neighbour_weights().chances(np.ones(1), np.zeros(1, np.int64)).tolist() == [1.0]


def test_just_the_likely_become_sure_among_four() -> None:
    below, likely = neighbour_weights().chances(np.array([LIKELY - 0.01, LIKELY]), np.full(2, 4))
    assert below < SURE <= likely
