"""Trims that must not be made, however little they show; the rules are the project's own."""

from __future__ import annotations

from dataclasses import replace

import pytest

from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.propose import propose
from impactcut.core.trims.trim import lag_after
from tests.helpers.projects.staged_motion import CLIP_FRAMES, CONTACT, Staging, staged


def with_boundary(motion: HitMotion, frame: int) -> HitMotion:
    boundary = motion.boundary.copy()
    boundary[frame - motion.first] = True
    return replace(motion, boundary=boundary)


def test_no_trim_across_a_change_of_shot() -> None:
    hit, motion = staged(Staging())
    proposal = propose(hit, with_boundary(motion, CONTACT - 2), CLIP_FRAMES)
    for trim in proposal.trims:
        joined = range(trim.first - 1, trim.first + trim.count)
        across = any("change of shot" in veto for veto in trim.vetoes)
        assert across == (CONTACT - 2 in joined)


def test_a_consequence_stays_after_the_contact() -> None:
    # Brockhoff et al. 2016: a contact left out is filled in only if its consequence follows.
    hit, motion = staged(Staging())
    proposal = propose(hit, with_boundary(motion, CONTACT + 2), CLIP_FRAMES)
    for trim in proposal.trims:
        left = [frame for frame in (CONTACT + 1, CONTACT + 2) if frame not in trim.frames]
        vetoed = any("no frame after the contact" in veto for veto in trim.vetoes)
        assert vetoed == (not left)
    assert any(trim.vetoes == () for trim in proposal.trims)


@pytest.mark.parametrize("lag", [-9, -4, -2, -1, 0, 1, 3])
def test_no_trim_puts_a_reaction_before_the_contact(lag: int) -> None:
    # Arithmetic: without its frames two moments come no farther apart and change no places. Real
    # receivers start up to 9 frames early (bench, 30 acted blows), and that forbids no trim.
    hit, motion = staged(Staging())
    proposal = propose(replace(hit, reaction=CONTACT + lag), motion, CLIP_FRAMES)
    for trim in proposal.trims:
        after = lag_after(replace(hit, reaction=CONTACT + lag), trim.first, trim.count)
        assert after is not None and after * lag >= 0 and abs(after) <= abs(lag)
        assert trim.vetoes == ()
    assert proposal.proposed is not None


def test_reasons_say_what_becomes_of_an_early_reaction() -> None:
    hit, motion = staged(Staging())
    proposal = propose(replace(hit, reaction=CONTACT - 4), motion, CLIP_FRAMES)
    said = {(trim.first - CONTACT, trim.count): " ".join(trim.reasons) for trim in proposal.trims}
    early = "the receiver moves 4 frames before the contact"
    assert f"{early}; with this trim 3 frames" in said[-1, 1]
    assert f"{early}; with this trim 1 frame" in said[-3, 3]
    assert f"{early}: frames taken out just before the contact bring him closer" in said[1, 1]
    close = propose(replace(hit, reaction=CONTACT - 2), motion, CLIP_FRAMES)
    (trim,) = [each for each in close.trims if (each.first, each.count) == (CONTACT - 2, 2)]
    assert any(reason.endswith("with this trim at it") for reason in trim.reasons)


def test_two_trims_leave_a_frame_between() -> None:
    hit, motion = staged(Staging())
    other = FrameRange(CONTACT + 3, CONTACT + 5)
    for trim in propose(hit, motion, CLIP_FRAMES, keep_clear=(other,)).trims:
        between = max(other.start - trim.frames.stop, trim.first - other.stop)
        assert any("another hit" in veto for veto in trim.vetoes) == (between < 1)
