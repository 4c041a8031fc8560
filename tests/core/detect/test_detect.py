"""From a spot to a hit, on fields of motion made by hand: limb, receiver, reaction, times, region.

By construction: an arm thrusts to the right and stops dead at the contact, somebody recoils to the
right from a known frame on, somebody else walks behind them. Half a frame is all that a start or
an end can be told to, as the fields change between frames.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from impactcut.core.detect.hits import Hit
from impactcut.core.detect.landing import Landing, follow, hit_of
from impactcut.core.detect.spot import Spot
from impactcut.core.motion.cells import MotionCells
from impactcut.core.motion.pictures import Pictures

GRID = (34, 60)
INTERVALS, CONTACT = 60, 30
PLACE = (32 / 60, 13 / 60)
SPOT = Spot(CONTACT - 0.4, CONTACT, 0.8, PLACE)
FIST, TORSO, RECOIL, PASSER = 1.2, 0.3, 0.5, 0.4
"""Cells an interval: 0.6, 0.15, 0.25 and 0.2 widths a second at 30 frames a second."""


def fight(start: int = 0, onset: int = -8, lag: int = 0, rate: int = 30) -> MotionCells:
    """The fist reaches column 32; the receiver stands from there on."""
    field = np.zeros((INTERVALS, *GRID, 2), np.float32)
    for interval in range(INTERVALS):
        since = interval - CONTACT
        if onset <= since < 0:
            tip = round(32 + FIST * since)
            field[interval, 8:26, 14:20, 0] = TORSO
            field[interval, 12:15, 20 : tip - 3, 0] = TORSO
            field[interval, 12:15, tip - 3 : tip + 1, 0] = FIST
        if since >= lag:
            field[interval, 6:28, 33:40, 0] = RECOIL * np.exp(-(since - lag) / 12)
        field[interval, 24:30, 50:56, 0] = -PASSER
    return MotionCells(
        Fraction(rate),
        np.arange(start, start + INTERVALS + 1),
        field / GRID[1],
        np.zeros((INTERVALS, *GRID), np.float32),
        np.zeros((INTERVALS, 4), np.float32),
    )


def pictures(repeated: tuple[int, ...] = (), cuts: tuple[int, ...] = ()) -> Pictures:
    every = np.arange(INTERVALS)
    return Pictures(
        difference=np.full(INTERVALS, 0.02, np.float32),
        log_luma=np.full(INTERVALS + 1, -1.0, np.float32),
        repeated=np.isin(every, repeated),
        boundary=np.isin(every, cuts),
    )


def landed(
    cells: MotionCells, spot: Spot = SPOT, seen: Pictures | None = None
) -> tuple[Landing, Hit]:
    landing = follow(spot, cells, seen or pictures())
    return landing, hit_of(spot, landing, cells)


def test_limb_and_receiver_are_who_they_are() -> None:
    landing, _ = landed(fight())
    limb = landing.path.masks[CONTACT - 1 - landing.path.first]
    assert limb[13, 31] and not limb[:, 33:].any() and not limb[:, :20].any()
    receiver = landing.struck.receiver
    assert receiver is not None
    assert receiver[8:26, 34:39].all() and not receiver[:, :32].any()
    assert not receiver[:, 50:].any()


@pytest.mark.parametrize("onset", [-4, -8, -12])
def test_strike_begins_and_ends_when_the_arm_does(onset: int) -> None:
    _, hit = landed(fight(onset=onset))
    assert abs(hit.onset - (CONTACT + onset)) <= 1
    assert hit.settle == CONTACT
    assert hit.peak_speed == pytest.approx(FIST / GRID[1] * 30, rel=0.01)
    assert (hit.contact, hit.contact_exact, hit.confidence) == (CONTACT, CONTACT - 0.4, 0.8)


@pytest.mark.parametrize("lag", [-9, -4, -2, -1, 0, 3, 9])
def test_a_reaction_is_found_early_and_late(lag: int) -> None:
    # A frame before the contact is at the contact, as the README says.
    _, hit = landed(fight(lag=lag))
    assert hit.reaction_lag == (0 if lag == -1 else lag)


@pytest.mark.parametrize("rate", [60, 120, 240])
def test_high_speed_footage_is_read_as_if_it_were_not(rate: int) -> None:
    # Every movement of the fight at 30 a second in as many smaller steps: the same in seconds.
    more = rate // 30
    cells = fight(lag=3)
    fine = replace(
        cells,
        rate=Fraction(rate),
        frames=np.arange(INTERVALS * more + 1),
        residual=np.repeat(cells.residual / more, more, axis=0),
        change=np.repeat(cells.change, more, axis=0),
        camera=np.repeat(cells.camera, more, axis=0),
    )
    seen = pictures()
    seen = Pictures(
        *(np.repeat(part, more) for part in (seen.difference, seen.log_luma[1:])),
        repeated=np.repeat(seen.repeated, more),
        boundary=np.repeat(seen.boundary, more),
    )
    spot = Spot(CONTACT * more, CONTACT * more, 0.8, PLACE)
    hit, plain = landed(fine, spot, seen)[1], landed(cells)[1]
    assert hit.reaction_lag == 3 * more
    assert (hit.onset, hit.settle) == (plain.onset * more, plain.settle * more)
    assert hit.peak_speed == pytest.approx(plain.peak_speed, rel=1e-3)


def test_nobody_reacts_where_nobody_moves() -> None:
    landing, hit = landed(fight(lag=INTERVALS))
    assert hit.reaction is None and landing.struck.receiver is None


def test_the_ground_does_not_react() -> None:
    landing, hit = landed(fight(), replace(SPOT, kind="fall"))
    assert hit.reaction is None and landing.struck.receiver is None


def test_of_two_starts_the_spotters_own_is_taken() -> None:
    cells = fight(lag=6)
    twice = cells.residual.copy()
    twice[CONTACT - 7 : CONTACT - 2, 6:28, 33:40, 0] = RECOIL / GRID[1]
    cells = replace(cells, residual=twice)
    assert landed(cells)[1].reaction_lag == -7
    assert landed(cells, replace(SPOT, lag=5))[1].reaction_lag == 6


def test_what_flashes_past_is_no_reaction() -> None:
    # A tenth of a second is an engineering choice without a source.
    cells = fight(lag=INTERVALS)
    brief = cells.residual.copy()
    brief[CONTACT + 4 : CONTACT + 6, 6:28, 33:40, 0] = RECOIL / GRID[1]
    assert landed(replace(cells, residual=brief))[1].reaction is None


def test_the_region_holds_the_place_and_both_bodies_but_no_passer_by() -> None:
    _, hit = landed(fight())
    left, top, width, height = hit.region
    assert left < PLACE[0] < left + width and top < PLACE[1] < top + height
    assert left * 60 < 30 and (left + width) * 60 > 35
    assert (left + width) * 60 < 50
    still = replace(fight(), residual=np.zeros((INTERVALS, *GRID, 2), np.float32))
    corner = replace(SPOT, place=(0.001, 0.001))
    unseen = landed(still, corner)[1]
    assert unseen.region[:2] == (0, 0) and min(unseen.region[2:]) > 0
    assert unseen.peak_speed == 0 and unseen.onset == unseen.settle == CONTACT


@pytest.mark.parametrize("at", [(0, 0), (59, 33)])
def test_a_region_stays_in_the_picture(at: tuple[int, int]) -> None:
    place = ((at[0] + 0.5) / 60, (at[1] + 0.5) / 60)
    left, top, width, height = landed(fight(), replace(SPOT, place=place))[1].region
    assert left >= 0 and left + width <= 1 + 1e-6
    assert top >= 0 and top + height <= 34 / 60 + 1e-6


def test_a_mirror_mirrors_the_hit() -> None:
    cells = fight(lag=2)
    flipped = cells.residual[:, :, ::-1] * np.array([-1, 1], np.float32)
    mirrored = replace(SPOT, place=(1 - PLACE[0], PLACE[1]))
    plain, other = landed(cells)[1], landed(replace(cells, residual=flipped), mirrored)[1]
    assert (plain.onset, plain.settle, plain.reaction) == (
        other.onset,
        other.settle,
        other.reaction,
    )
    assert other.region[0] == pytest.approx(1 - plain.region[0] - plain.region[2], abs=2e-4)


def test_repeated_frames_change_neither_onset_nor_reaction() -> None:
    # Every third picture shown twice, as 16 pictures a second in 24 frames are.
    cells = fight(lag=3)
    repeated = tuple(range(2, INTERVALS, 3))
    residual = cells.residual.copy()
    residual[list(repeated)] = 0
    for frame in repeated:
        if frame + 1 < INTERVALS:
            residual[frame + 1] = cells.residual[frame] + cells.residual[frame + 1]
    _, hit = landed(replace(cells, residual=residual), seen=pictures(repeated))
    _, plain = landed(cells)
    assert abs(hit.onset - plain.onset) <= 1
    assert hit.reaction is not None and plain.reaction is not None
    assert abs(hit.reaction - plain.reaction) <= 1


def test_what_lies_beyond_a_cut_counts_for_nothing() -> None:
    cells = fight()
    wild = cells.residual.copy()
    wild[CONTACT + 5 :] = 0.2
    wild[: CONTACT - 12] = -0.2
    cut = pictures(cuts=(CONTACT - 13, CONTACT + 5))
    _, plain = landed(cells)
    _, hit = landed(replace(cells, residual=wild), seen=cut)
    assert (hit.onset, hit.settle, hit.reaction) == (plain.onset, plain.settle, plain.reaction)
    assert (hit.region, hit.peak_speed) == (plain.region, plain.peak_speed)


@pytest.mark.parametrize("contact", [0, 1, INTERVALS - 1, INTERVALS])
def test_a_contact_may_lie_at_either_end_of_a_clip(contact: int) -> None:
    spot = Spot(contact, contact, 0.8, PLACE)
    _, hit = landed(fight(), spot)
    assert 0 <= hit.onset <= hit.contact == contact <= hit.settle <= INTERVALS


@pytest.mark.parametrize(
    "wrong",
    [
        {"chance": 1.2},
        {"chance": float("nan")},
        {"contact": -1},
        {"kind": "kick"},
        {"place": (1.2, 0.1)},
    ],
)
def test_a_spot_is_checked_at_birth(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"chance|contact|spot|place"):
        replace(SPOT, **wrong)  # type: ignore[arg-type]
