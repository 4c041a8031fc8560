"""Trims that must not be made, however little they show; the rules are the project's own."""

from __future__ import annotations

from dataclasses import replace

from impactcut.core.frames import FrameRange
from impactcut.core.motion import HitMotion
from impactcut.core.propose import propose
from staged_motion import CLIP_FRAMES, CONTACT, Staging, staged


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


def test_the_receiver_never_starts_before_the_contact() -> None:
    hit, motion = staged(Staging())
    proposal = propose(replace(hit, reaction=CONTACT - 1), motion, CLIP_FRAMES)
    for trim in proposal.trims:
        closes = trim.first <= CONTACT - 1 < trim.first + trim.count
        early = any("would start before the contact" in veto for veto in trim.vetoes)
        assert early != closes
    hopeless = propose(replace(hit, reaction=CONTACT - 6), motion, CLIP_FRAMES)
    assert hopeless.proposed is None
    assert hopeless.no_trim is not None
    assert "would start before the contact" in hopeless.no_trim


def test_two_trims_leave_a_frame_between() -> None:
    hit, motion = staged(Staging())
    other = FrameRange(CONTACT + 3, CONTACT + 5)
    for trim in propose(hit, motion, CLIP_FRAMES, keep_clear=(other,)).trims:
        between = max(other.start - trim.frames.stop, trim.first - other.stop)
        assert any("another hit" in veto for veto in trim.vetoes) == (between < 1)
