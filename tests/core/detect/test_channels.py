"""Who moves around a hit, on fields of motion made by hand, and what the hit explains of it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from impactcut.core.detect.channels import channels_of, scene_of
from impactcut.core.detect.receiver import Struck
from impactcut.core.detect.striker import strike_path
from impactcut.core.detect.window import window_of
from impactcut.core.motion.cells import MotionCells
from impactcut.core.motion.measured import Channel, HitMotion
from impactcut.core.trims.splice_indices import Splices
from impactcut.core.trims.visibility import how_it_shows
from impactcut.core.viewer.judge import Judge
from tests.helpers.projects.staged_motion import CONTACT, Staging, channel, staged

GRID = (34, 60)
INTERVALS, AT = 28, 14  # the contact lies between interval 13 and interval 14
SHOULDER = 6
FIST, TORSO, RECOIL, PASSER = 1.5, 0.5, 0.8, 0.4  # cells an interval


def fight(passer_row: int = 26) -> MotionCells:
    """A torso with an arm that stops at the contact, one who recoils, one who walks by."""
    field = np.zeros((INTERVALS, *GRID, 2), np.float32)
    for interval in range(INTERVALS):
        field[interval, 10:20, :SHOULDER, 0] = TORSO
        if interval < AT:
            reach = 24 - round(FIST * (AT - 1 - interval))
            field[interval, 12:14, SHOULDER : max(reach, SHOULDER), 0] = TORSO
            field[interval, 12:14, max(reach, SHOULDER) : max(reach, SHOULDER) + 4, 0] = FIST
        else:
            field[interval, 8:20, 30:36, 0] = RECOIL * np.exp(-(interval - AT) / 6)
        field[interval, passer_row : passer_row + 6, 44:50, 0] = -PASSER
    return MotionCells(
        Fraction(24),
        np.arange(INTERVALS + 1),
        field / GRID[1],
        np.zeros((INTERVALS, *GRID), np.float32),
        np.zeros((INTERVALS, 4), np.float32),
    )


PLACE = (28 / GRID[1], 13 / GRID[1])
"""Where the fist ends."""


def found(cells: MotionCells) -> dict[str, Channel]:
    reacting, near = np.zeros(GRID, bool), np.zeros(GRID, bool)
    reacting[8:20, 30:36] = True
    near[:, :28] = True
    path = strike_path(window_of(cells, AT), PLACE, AT)
    scene = scene_of(path, Struck(reacting, near), cells, AT)
    return {one.name: one for one in channels_of(scene)}


def test_strike_may_land_in_the_last_interval_of_all() -> None:
    path = strike_path(fight().between(0, AT), PLACE, AT)
    assert len(path.speed) == AT and path.masks[-1].any()


def test_everybody_is_a_channel_of_his_own() -> None:
    moved = {name: one.displacement[:, 0] * GRID[1] for name, one in found(fight()).items()}
    assert set(moved) == {"strike", "striker", "receiver", "background", "mover 1"}
    assert moved["strike"][6:AT] == pytest.approx(FIST, abs=1e-5)
    assert moved["striker"] == pytest.approx(TORSO, abs=1e-5)
    assert moved["receiver"][:AT] == pytest.approx(0, abs=1e-5)
    assert moved["receiver"][AT] == pytest.approx(RECOIL, abs=1e-5)
    assert moved["mover 1"] == pytest.approx(-PASSER, abs=1e-5)
    assert moved["background"] == pytest.approx(0, abs=1e-5)


def test_the_limb_is_followed_past_the_contact() -> None:
    # Where the fist stops it stays, though the torso and the receiver go on.
    limb = found(fight())["strike"]
    assert limb.displacement[AT:, 0] == pytest.approx(0, abs=1e-5)
    assert limb.centre[AT:, 0] * GRID[1] == pytest.approx(26, abs=1.5)


@pytest.mark.parametrize("kept", [AT, AT + 1])
def test_a_clip_may_end_at_the_contact(kept: int) -> None:
    ended = found(fight().between(0, kept))
    assert ended["strike"].displacement[:AT, 0] == pytest.approx(
        found(fight())["strike"].displacement[:AT, 0], abs=1e-5
    )


def test_who_walks_by_is_no_part_of_the_hit() -> None:
    # Even when he touches the receiver for a moment, after having come alone.
    cells = fight()
    beside = cells.residual.copy()
    beside[AT + 1 : AT + 3, 20:26, 34:46, 0] = -PASSER / GRID[1]
    names = found(replace(cells, residual=beside))
    assert "mover 1" in names
    assert names["mover 1"].centre[AT, 1] * GRID[1] == pytest.approx(29, abs=1)


def with_body(motion: HitMotion, name: str, speed: float) -> HitMotion:
    """The window with one more that moves evenly, widths per interval, the size of a torso."""
    even = np.tile([speed, 0.0], (motion.intervals, 1))
    return replace(motion, channels=(*motion.channels, channel(name, even, 0.05, (0.4, 0.3))))


def shown(name: str, first: int, count: int = 1) -> float:
    hit, motion = staged(Staging(noise=0.0, peak_speed=2.4))
    motion = with_body(motion, name, 0.02)
    splices = Splices(np.array([first - motion.first]), np.array([count]), motion.intervals + 1)
    seen = how_it_shows(hit, motion, splices, Judge())
    return float(seen.ratios[seen.names.index(name), 0])


def test_the_blow_explains_the_bodies_and_nobody_else() -> None:
    # After a blow without rebound velocities lie between those before (conservation of momentum):
    # the torso may take any speed up to the fist's, 0.078 widths an interval; 2 * 0.02 is less.
    assert shown("striker", CONTACT) == pytest.approx(0, abs=1e-9)
    assert shown("mover 1", CONTACT) > 1
    # Before the fist lands nothing has changed the torso's speed.
    assert shown("striker", CONTACT - 4) == pytest.approx(shown("mover 1", CONTACT - 4), rel=0.01)


def test_a_camera_that_jumps_counts_once() -> None:
    # Bodies at rest in an even pan jump with the background, not on their own.
    hit, motion = staged(Staging(camera="panning", noise=0.0, peak_speed=1e-6, recoil_speed=1e-9))
    splices = Splices(np.array([6]), np.array([2]), motion.intervals + 1)
    seen = how_it_shows(hit, motion, splices, Judge())
    ratios = dict(zip(seen.names, seen.ratios[:, 0], strict=True))
    assert ratios["background"] > 1.5
    assert ratios["receiver"] == pytest.approx(0, abs=1e-6)
    assert seen.total[0] == pytest.approx(ratios["background"], rel=1e-3)
