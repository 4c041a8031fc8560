"""Impulses and their traits on fields of motion made by hand."""

from fractions import Fraction

import numpy as np
import pytest

from impactcut.core.cells import MotionCells
from impactcut.core.impulses import find_impulses
from impactcut.core.traits import trait_names, traits_of

GRID = (34, 60)
RATE = Fraction(24)


def cells_of(residual: np.ndarray) -> MotionCells:
    count = len(residual)
    return MotionCells(
        rate=RATE,
        frames=np.arange(count + 1),
        residual=residual.astype(np.float32),
        change=np.zeros((count, *GRID), np.float32),
        camera=np.zeros((count, 4), np.float32),
    )


def fist(speeds: list[float], row: int = 15, start: float = 10.0, sign: int = 1) -> np.ndarray:
    """A patch of 4 x 4 cells that crosses the picture at ``speeds`` (cells per interval)."""
    residual = np.zeros((len(speeds), *GRID, 2))
    at = start
    for interval, speed in enumerate(speeds):
        left = round(at)
        residual[interval, row : row + 4, left : left + 4, 0] = sign * speed / GRID[1]
        at += sign * speed
    return residual


def impulses(residual: np.ndarray, blocked: list[int] | None = None):
    cells = cells_of(residual)
    stop = np.zeros(cells.intervals, bool)
    stop[blocked or []] = True
    return find_impulses(cells, cells.velocity(), stop)


def test_an_abrupt_stop_is_found_at_its_node_and_place():
    found = impulses(fist([0, 1, 3, 4, 4, 4, 0, 0, 0, 0]))
    strongest = max(found, key=lambda impulse: impulse.strength)
    assert (strongest.kind, strongest.node) == ("stop", 6)
    assert strongest.direction == pytest.approx([1, 0], abs=0.01)
    rows, columns = np.nonzero(strongest.region)
    assert 14 < rows.mean() < 19
    assert 18 <= columns.mean() <= 27
    assert strongest.strength == pytest.approx(4 / 60 * 24, rel=0.15)


def test_a_sudden_start_is_found_at_its_node():
    found = impulses(fist([0, 0, 0, 0, 3, 3, 2, 1, 0.5, 0.2]))
    strongest = max(found, key=lambda impulse: impulse.strength)
    assert (strongest.kind, strongest.node) == ("start", 4)


def test_even_movement_is_no_impulse():
    steady = fist([3.0] * 12, start=5)
    inside = [impulse for impulse in impulses(steady) if 0 < impulse.node < 12]
    assert inside == []


def test_a_smooth_reach_is_weaker_than_an_abrupt_stop_of_the_same_speed():
    """Minimum-jerk reach over half a second (Flash & Hogan 1985) against a stop in one frame."""
    s = np.linspace(0, 1, 13)
    path = 24 * (10 * s**3 - 15 * s**4 + 6 * s**5)
    smooth = np.diff(path)
    abrupt = [*smooth[:7], 0, 0, 0, 0, 0]
    gentle = max(impulse.strength for impulse in impulses(fist(list(smooth))))
    hard = max(impulse.strength for impulse in impulses(fist(abrupt)))
    assert hard > 2 * gentle


def test_nothing_is_found_next_to_a_shot_boundary():
    speeds = [0, 1, 3, 4, 4, 4, 0, 0, 0, 0]
    assert any(impulse.node == 6 for impulse in impulses(fist(speeds)))
    assert not any(impulse.node in (6, 7) for impulse in impulses(fist(speeds), blocked=[6]))


def test_a_mirrored_strike_has_the_same_traits():
    speeds = [0, 1, 3, 4, 4, 4, 0, 0, 0, 0]
    residual = fist(speeds)
    mirrored = residual[:, :, ::-1] * [-1, 1]
    one, other = cells_of(residual), cells_of(mirrored)
    traits = []
    for cells in (one, other):
        found = find_impulses(cells, cells.velocity(), np.zeros(cells.intervals, bool))
        strongest = max(found, key=lambda impulse: impulse.strength)
        traits.append(traits_of([strongest], cells, cells.velocity()))
    assert traits[0] == pytest.approx(traits[1], rel=1e-3, abs=2e-3)


def test_every_trait_has_a_name_of_its_own():
    names = trait_names()
    assert len(set(names)) == len(names)
    cells = cells_of(fist([0, 1, 3, 4, 4, 4, 0, 0, 0, 0]))
    found = find_impulses(cells, cells.velocity(), np.zeros(cells.intervals, bool))
    traits = traits_of(found, cells, cells.velocity())
    assert traits.shape == (len(found), len(names))
    assert np.isfinite(traits).all()


def test_too_short_a_stretch_has_no_impulses():
    assert impulses(fist([4.0])) == ()
