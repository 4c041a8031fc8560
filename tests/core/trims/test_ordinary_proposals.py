"""What editors find of ordinary hits (common practice, no published source), on staged motion."""

from __future__ import annotations

import numpy as np
import pytest

from impactcut.core.time.frames import FrameRange
from tests.helpers.projects.staged_motion import CONTACT, Staging
from tests.helpers.projects.staged_proposals import WARNING, ordinary_stagings, proposal_of, trim_at


@pytest.mark.parametrize("camera", ["locked", "handheld"])
def test_an_abrupt_hit_gets_a_trim_that_does_not_show(camera: str) -> None:
    # Common practice: almost every staged hit gains from losing a frame at contact.
    proposal = proposal_of(Staging(camera=camera))
    assert proposal.no_trim is None
    assert proposal.proposed is not None
    assert proposal.proposed.visibility < WARNING
    assert proposal.proposed.speed_gain >= 1.06
    assert proposal.proposed.frames.meets(FrameRange(CONTACT - 3, CONTACT + 1))


@pytest.mark.parametrize(("camera", "least_share"), [("locked", 0.95), ("handheld", 0.85)])
def test_one_frame_out_at_contact_is_clean_on_nearly_all(camera: str, least_share: float) -> None:
    # Common practice: at or just before contact.
    least = [
        min(trim_at(proposal, offset, 1).visibility for offset in (-1, 0))
        for proposal in map(proposal_of, ordinary_stagings(camera))
    ]
    assert np.mean(np.array(least) < 1) >= least_share


@pytest.mark.parametrize("camera", ["locked", "handheld"])
def test_most_ordinary_hits_get_an_unflagged_trim(camera: str) -> None:
    # Common practice; three frames only on some.
    proposals = [proposal_of(staging) for staging in ordinary_stagings(camera)]
    counts = [0 if one.proposed is None else one.proposed.count for one in proposals]
    assert np.mean(np.array(counts) > 0) >= 0.9
    assert np.mean(np.array(counts) == 3) <= 0.2
    assert {1, 2} <= set(counts)


def test_three_frames_out_of_an_even_pan_are_flagged() -> None:
    # Common practice: an even pan hides nothing.
    for staging in ordinary_stagings("panning", 20):
        proposal = proposal_of(staging)
        three = [trim for trim in proposal.trims if trim.count == 3]
        assert min(trim.visibility for trim in three) > WARNING
    assert any("pans evenly" in reason for reason in three[0].reasons)


def test_a_hit_in_an_even_pan_says_why_it_gets_nothing() -> None:
    proposal = proposal_of(Staging(camera="panning", pan=0.15))
    assert proposal.proposed is None
    assert proposal.no_trim is not None
    assert "the camera pans evenly" in proposal.no_trim
    assert "px at 1920" in proposal.no_trim


@pytest.mark.parametrize("stop", ["dead", "soft", "through"])
def test_mid_swing_is_dearer_than_contact(stop: str) -> None:
    # Common practice: frames taken from mid-swing show more.
    proposal = proposal_of(Staging(stop=stop, swing=0.45))
    for count in (1, 2):
        contact = min(trim_at(proposal, 1 - count - at, count).visibility for at in (0, 1))
        assert trim_at(proposal, -2 - count, count).visibility > contact
