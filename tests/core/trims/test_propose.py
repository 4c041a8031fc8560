"""Which frames are proposed, and why: the rules of the choice, and the words for it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from impactcut.core.motion.measured import HitMotion
from impactcut.core.trims.propose import best_for_each_count, choose, propose
from impactcut.core.trims.trim import Proposal, Trim, lag_after
from impactcut.core.viewer.judge import Judge
from tests.helpers.projects.staged_motion import CLIP_FRAMES, CONTACT, Staging, channel, staged
from tests.helpers.projects.staged_proposals import WARNING, ordinary_stagings, proposal_of, trim_at


def test_candidates_and_their_order() -> None:
    hit, motion = staged(Staging())
    trims = propose(hit, motion, CLIP_FRAMES).trims
    expected = {(CONTACT + at, count) for at in range(-4, 4) for count in (1, 2, 3)}
    assert {(trim.first, trim.count) for trim in trims} == expected
    assert len(trims) == 24
    middles = [
        (trim.count, abs(trim.first + (trim.count - 1) / 2 - hit.contact_exact)) for trim in trims
    ]
    assert middles == sorted(middles)
    assert all(trim.reasons and trim.channels for trim in trims)


def test_the_proposal_follows_the_stated_rule() -> None:
    # Largest gain under the warning line; gains within 6 % are equal, then fewer frames.
    for staging in ordinary_stagings("handheld", 20):
        proposal = proposal_of(staging)
        able = [trim for trim in proposal.trims if not trim.vetoes and trim.visibility < WARNING]
        most = max(trim.speed_gain for trim in able)
        assert proposal.proposed is not None
        assert proposal.proposed in able
        assert proposal.proposed.speed_gain >= most / 1.06
        fewer = [trim for trim in able if trim.count < proposal.proposed.count]
        assert all(trim.speed_gain < most / 1.06 for trim in fewer)


def made(count: int, gain: float, visibility: float, *vetoes: str) -> Trim:
    verdict = "clean" if visibility < 1 else "frame-step" if visibility < WARNING else "attentive"
    return Trim(50, count, gain, visibility, verdict, vetoes)  # type: ignore[arg-type]


def test_choice_among_made_up_trims() -> None:
    small, large = made(1, 1.10, 0.3), made(2, 1.30, 1.4)
    assert choose([small, large]) is large
    assert choose([small, made(2, 1.15, 0.1)]) is small
    assert choose([small, replace(large, visibility=1.6)]) is small
    assert choose([small, replace(large, vetoes=("no",))]) is small
    shown, clean = made(1, 1.20, 1.2), made(1, 1.18, 0.9)
    assert choose([shown, clean]) is clean
    assert choose([made(1, 1.04, 0.1)]) is None
    assert choose([]) is None
    strict = Judge(attentive_ratio=1.0)
    assert choose([small, large], strict) is small


def test_best_for_each_count_shows_the_price() -> None:
    proposal = proposal_of(Staging(camera="panning", pan=0.15))
    best = best_for_each_count(proposal)
    assert sorted(best) == [1, 2, 3]
    for count, trim in best.items():
        rivals = [one for one in proposal.trims if one.count == count and one.speed_gain >= 1.06]
        assert trim.visibility == min(one.visibility for one in rivals)
    proposal = proposal_of(Staging())
    assert proposal.proposed is not None
    assert best_for_each_count(proposal)[proposal.proposed.count] is proposal.proposed
    barred = Proposal((made(1, 1.2, 0.2, "no"),), None, "no")
    assert best_for_each_count(barred) == {}


def test_trims_stay_inside_the_clip() -> None:
    hit, motion = staged(Staging())
    short = propose(hit, motion, CONTACT + 3)
    assert max(trim.frames.stop for trim in short.trims) == CONTACT + 2
    assert propose(hit, motion, motion.first + 2) == Proposal(
        (), None, "the contact is too near an end of the clip for a frame to go"
    )


def test_a_truncated_window_is_judged_as_far_as_it_goes() -> None:
    hit, motion = staged(Staging())
    keep = slice(CONTACT - motion.first - 2, CONTACT - motion.first + 4)
    cut = HitMotion(
        CONTACT - 2,
        motion.rate,
        tuple(
            replace(
                one,
                displacement=one.displacement[keep],
                centre=one.centre[keep],
                area=one.area[keep],
            )
            for one in motion.channels
        ),
        motion.repeated[keep],
        motion.boundary[keep],
        motion.difference[keep],
        motion.luma[keep.start : keep.stop + 1],
    )
    trims = propose(hit, cut, CLIP_FRAMES).trims
    assert trims
    assert min(trim.first for trim in trims) == CONTACT - 1
    assert max(trim.frames.stop for trim in trims) == CONTACT + 4
    assert all(np.isfinite([trim.visibility, trim.speed_gain]).all() for trim in trims)


def test_a_late_reaction_is_closed_when_the_strike_gains_nothing() -> None:
    # Michotte's launching weakens past 100 to 150 ms (secondary source): 4 frames are 167 ms.
    hit, motion = staged(Staging(lag=4, noise=0.0))
    still = replace(motion.channels[0], displacement=0 * motion.channels[0].displacement)
    motion = replace(motion, channels=(still, *motion.channels[1:]))
    assert hit.reaction_lag is not None
    late = propose(hit, motion, CLIP_FRAMES)
    assert late.proposed is not None
    assert late.proposed.count == 3
    assert CONTACT <= late.proposed.first <= CONTACT + hit.reaction_lag - 3
    assert any("receiver reacts" in reason for reason in late.proposed.reasons)
    prompt = propose(replace(hit, reaction=CONTACT + 1), motion, CLIP_FRAMES)
    assert prompt.proposed is None
    assert prompt.no_trim is not None
    assert prompt.no_trim.startswith("nothing gained")
    frames = hit.contact - hit.onset
    assert f"it already takes {frames} frames from onset to contact at 2.4 " in prompt.no_trim


def test_of_a_limb_that_was_not_seen_no_gain_is_told() -> None:
    hit, motion = staged(Staging())
    unseen = replace(hit, peak_speed=0.0)
    proposal = propose(unseen, motion, CLIP_FRAMES)
    assert proposal.proposed is None
    assert proposal.no_trim is not None and "not seen to move" in proposal.no_trim
    assert {trim.speed_gain for trim in proposal.trims} == {1.0}
    late = propose(replace(unseen, reaction=CONTACT + 4), motion, CLIP_FRAMES).proposed
    assert late is not None and CONTACT < late.first + late.count <= CONTACT + 4


def test_a_swinging_lamp_is_named() -> None:
    hit, motion = staged(Staging())
    lamp = channel("mover 1", np.tile([0.0, 0.01], (motion.intervals, 1)), 0.02, (0.3, 0.2))
    crowded = replace(motion, channels=(*motion.channels, lamp))
    trim = trim_at(propose(hit, crowded, CLIP_FRAMES), 1, 3)
    assert trim.channels["mover 1"] == max(trim.channels.values())
    assert trim.reasons[0].startswith("mover 1 jumps 58 px at 1920")  # 3 * 0.01 * 1920


def test_reasons_say_what_to_take_instead() -> None:
    proposal = proposal_of(Staging(stop="soft"))
    shown = [trim for trim in proposal.trims if trim.visibility >= WARNING]
    assert shown
    for trim in shown:
        advice = next(reason for reason in trim.reasons if reason.startswith("take "))
        better = [one for one in proposal.trims if f": {one.visibility:.1f}" in advice]
        assert any(one.visibility < WARNING and one.count <= trim.count for one in better)
    clean = next(trim for trim in proposal.trims if trim.verdict == "clean" and not trim.vetoes)
    assert "hidden in the hit" in clean.reasons


def test_repeated_frames_are_said_to_cost_nothing() -> None:
    hit, motion = staged(Staging(noise=0.0))
    repeated = motion.repeated.copy()
    repeated[CONTACT - motion.first] = True
    channels = tuple(
        replace(one, displacement=np.where(repeated[:, None], 0, one.displacement))
        for one in motion.channels
    )
    proposal = propose(hit, replace(motion, channels=channels, repeated=repeated), CLIP_FRAMES)
    free = trim_at(proposal, 1, 1)
    assert free.visibility == 0
    assert "the frame repeats another: it costs nothing" in free.reasons


def test_a_bigger_screen_shows_more() -> None:
    hit, motion = staged(Staging(camera="handheld"))
    small, large = (propose(hit, motion, CLIP_FRAMES, judge=Judge(fov)) for fov in (20.0, 60.0))
    pairs = zip(small.trims, large.trims, strict=True)
    assert np.mean([one.visibility < other.visibility for one, other in pairs]) > 0.9


def test_rates_do_not_upset_anything() -> None:
    for rate in (Fraction(24000, 1001), Fraction(50), Fraction(60)):
        hit, motion = staged(Staging(rate=float(rate)))
        proposal = propose(hit, replace(motion, rate=rate), CLIP_FRAMES)
        assert len(proposal.trims) == 24
        assert proposal.proposed is not None


def test_a_trim_says_what_each_viewer_gets_and_what_the_front_row_sees() -> None:
    # 0.06, 0.09 and 0.18 are the viewers' just noticeable differences (McKee & Nakayama 1984,
    # de'Sperati & Baud-Bovy 2017); the strike is faster than 64 degrees a second, so all are
    # coarser by the same square root (De Bruyn & Orban 1988).
    proposal = proposal_of(Staging(camera="handheld"))
    degrees = 2.4 * 2 * np.degrees(np.tan(np.radians(16.5)))
    rise = np.sqrt(degrees / 64)
    for trim in proposal.trims:
        for name, weber in (("trained", 0.06), ("attentive", 0.09), ("casual", 0.18)):
            steps = np.log(trim.speed_gain) / np.log1p(weber * rise)
            assert trim.felt[name] == pytest.approx(steps, rel=1e-6)


def test_what_only_the_front_row_sees_is_said() -> None:
    crossing = 0
    for staging in ordinary_stagings("handheld", 10):
        hit, motion = staged(staging)
        near = propose(hit, motion, CLIP_FRAMES, judge=Judge(60.0))
        for trim, other in zip(proposal_of(staging).trims, near.trims, strict=True):
            assert trim.front_row == pytest.approx(other.visibility)
            warned = any("front row" in reason for reason in trim.reasons)
            assert warned == (trim.visibility < WARNING <= other.visibility)
            crossing += warned
    assert crossing > 0


@pytest.mark.parametrize("lag", [3, 4])
def test_a_late_reaction_is_brought_in_time_before_all_else(lag: int) -> None:
    # Michotte's launching weakens past 100 to 150 ms (secondary source): 2 frames of 24 are 83 ms.
    proposed = proposal_of(Staging(lag=lag)).proposed
    assert proposed is not None
    hit, _ = staged(Staging(lag=lag))
    after = lag_after(hit, proposed.first, proposed.count)
    assert after is not None
    assert after <= 2 < lag
    assert proposed.reasons[0].startswith("the receiver reacts after")
    assert f"instead of after {1000 * lag / 24:.0f} ms" in proposed.reasons[0]


def test_a_gain_that_is_hard_to_believe_is_not_sought() -> None:
    # Above 1.6 a gain is to be checked by eye (the model's design, no source).
    def trim(first: int, count: int, gain: float) -> Trim:
        return Trim(first, count, gain, 0.5, "clean")

    one, two, three = trim(99, 1, 1.3), trim(98, 2, 1.55), trim(97, 3, 1.9)
    assert choose((one, two, three)) == two
    assert choose((one, three)) == one
    assert choose((trim(99, 1, 1.7), three)) == three


def test_an_uncertain_trim_is_proposed_only_where_no_other_gains() -> None:
    doubted = replace(made(3, 1.4, 0.4), confident=False)
    sure, unlooked = replace(made(1, 1.1, 1.2), confident=True), made(1, 1.1, 1.2)
    assert choose([doubted, sure]) is sure
    assert choose([doubted, unlooked]) is unlooked
    assert choose([doubted, replace(sure, visibility=1.6)]) is doubted
    assert choose([doubted, replace(sure, speed_gain=1.04)]) is doubted
    assert choose([doubted, replace(sure, speed_gain=1.7)]) is doubted
