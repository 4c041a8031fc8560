"""Which frames to take out of a hit: every candidate judged, and the one to make.

For each hit the trims of 1 to 3 frames that start from 4 frames before the contact to 3 after it
are judged. Proposed is the largest gain among those that stay under the warning line and have no
veto; a gain that is hard to believe, or a visibility that is uncertain, only where nothing else
gains: a warning is worth more than a bigger gain. Gains that a trained observer cannot tell apart
count as equal; then fewer frames win, then a clean splice, then the nearest to the contact. Where
the receiver reacts late, what brings the reaction in time comes before all else, even if the strike
gains nothing by it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from statistics import mode
from typing import Final

import numpy as np

from impactcut.core.detect.hits import Hit
from impactcut.core.motion.measured import HitMotion
from impactcut.core.time.frames import FrameRange, frames_in_words
from impactcut.core.trims.candidates import judge_candidates
from impactcut.core.trims.reasons import Finding, remedy, trim_reasons, where
from impactcut.core.trims.speed import limb_seen
from impactcut.core.trims.splice_indices import COUNTS, Splices, candidates_around
from impactcut.core.trims.trim import Proposal, Trim, lag_after
from impactcut.core.trims.vetoes import vetoes
from impactcut.core.viewer.judge import AS_PUBLISHED, Judge

MODEL_VERSION: Final = 6
"""Raised when hits are judged otherwise or more is said of a trim, so that proposals kept from
before are made again."""


def propose(
    hit: Hit,
    motion: HitMotion,
    clip_frames: int,
    *,
    judge: Judge = AS_PUBLISHED,
    keep_clear: tuple[FrameRange, ...] = (),
    clock: bool = False,
) -> Proposal:
    """Judge every trim of a hit and propose one.

    Parameters
    ----------
    motion : HitMotion
        Of a window that holds the contact.
    clip_frames : int
        Frames of the clip.
    keep_clear : tuple of FrameRange
        Trims of other hits of the clip; at least one frame stays between two trims.
    clock : bool
        Whether a clock or a counter is in the picture.

    Returns
    -------
    Proposal
        Trims by count, the nearest to the contact first. Those that would need a frame outside
        the clip or the measured window are left out.
    """
    splices = _candidates(hit, motion, clip_frames)
    if not len(splices.first):
        return Proposal((), None, "the contact is too near an end of the clip for a frame to go")
    near = FrameRange(int(splices.first.min()) - 1, motion.intervals + 2).shifted(motion.first)
    others = tuple(each for each in keep_clear if each.meets(near))
    removed = splices.removed(motion.first)
    barred = vetoes(hit, motion, removed, clip_frames, others, clock)
    drafts, findings = judge_candidates(hit, motion, splices, barred, judge)
    trims = _explained(hit, motion, drafts, findings, judge)
    closing = _closing(hit, motion, trims, judge)
    in_time = [trim for after, trim in closing if not judge.is_late(after, motion.rate)]
    nearest = next((trim for _, trim in closing), None)
    chosen = choose(in_time or trims, judge) or nearest
    return Proposal(trims, chosen, None if chosen else _no_trim(hit, trims, judge))


def choose(trims: Iterable[Trim], judge: Judge = AS_PUBLISHED) -> Trim | None:
    """The trim to propose among ``trims``, or None where none gains without showing.

    ``trims`` come in the order of `Proposal.trims`.
    """
    able = [trim for trim in _under_warning(trims, judge) if trim.speed_gain >= judge.least_gain]
    believed = [trim for trim in able if trim.speed_gain <= judge.believable_gain] or able
    sure = [trim for trim in believed if trim.confident is not False] or believed
    most = max((trim.speed_gain for trim in sure), default=0.0)
    equal = [trim for trim in sure if trim.speed_gain * judge.least_gain >= most]
    return min(equal, key=lambda trim: (trim.count, trim.verdict != "clean"), default=None)


def best_for_each_count(proposal: Proposal, judge: Judge = AS_PUBLISHED) -> Mapping[int, Trim]:
    """The best trim of each count of frames, the ones that show included.

    The one that would be proposed among its count; else, of those without a veto, the least visible
    that gains, or the least visible. A count with vetoes only has no entry.
    """
    best = {}
    for count in COUNTS:
        trims = [trim for trim in proposal.trims if trim.count == count and not trim.vetoes]
        gaining = [trim for trim in trims if trim.speed_gain >= judge.least_gain] or trims
        if gaining:
            least = min(gaining, key=lambda trim: trim.visibility)
            best[count] = choose(trims, judge) or least
    if proposal.proposed is not None:
        best[proposal.proposed.count] = proposal.proposed
    return best


def _candidates(hit: Hit, motion: HitMotion, clip_frames: int) -> Splices:
    """Every trim that leaves a frame on either side, by count, the nearest to contact first."""
    frames = min(motion.intervals + 1, clip_frames - motion.first)
    every = candidates_around(hit.contact - motion.first, frames)
    exact = hit.contact_exact - motion.first
    trims = sorted(every, key=lambda trim: (trim[1], abs(trim[0] + (trim[1] - 1) / 2 - exact)))
    table = np.array(trims, dtype=np.int64).reshape(-1, 2)
    return Splices(table[:, 0], table[:, 1], motion.intervals + 1)


def _explained(
    hit: Hit, motion: HitMotion, drafts: Sequence[Trim], findings: Sequence[Finding], judge: Judge
) -> tuple[Trim, ...]:
    instead = {count: _instead(count, drafts, judge) for count in COUNTS}
    trims = []
    for draft, finding in zip(drafts, findings, strict=True):
        words = trim_reasons(hit, motion.rate, draft, finding, judge)
        if draft.visibility >= judge.attentive_ratio or draft.vetoes:
            words = (*words[:1], remedy(hit, draft, instead[draft.count]), *words[1:])
        trims.append(replace(draft, reasons=words))
    return tuple(trims)


def _instead(count: int, trims: Sequence[Trim], judge: Judge) -> Trim | None:
    """What to take rather than a trim of ``count`` frames that shows: as many, or else fewer."""
    for fewer in range(count, 0, -1):
        found = choose([trim for trim in trims if trim.count == fewer], judge)
        if found is not None:
            return found
    return None


def _under_warning(trims: Iterable[Trim], judge: Judge) -> list[Trim]:
    line = judge.attentive_ratio
    return [trim for trim in trims if not trim.vetoes and trim.visibility < line]


def _closing(
    hit: Hit, motion: HitMotion, trims: Sequence[Trim], judge: Judge
) -> list[tuple[int, Trim]]:
    """Frames to a late reaction after each trim that brings it nearer, the fewest first."""
    lag = hit.reaction_lag
    if lag is None or not judge.is_late(lag, motion.rate):
        return []
    lags = ((lag_after(hit, trim.first, trim.count), trim) for trim in _under_warning(trims, judge))
    closing = [(after, trim) for after, trim in lags if after is not None and after < lag]
    return sorted(closing, key=lambda found: found[0])


def _no_trim(hit: Hit, trims: Sequence[Trim], judge: Judge) -> str:
    free = [trim for trim in trims if not trim.vetoes]
    if not free:
        return mode(veto for trim in trims for veto in trim.vetoes)
    if not limb_seen(hit):
        return (
            "the striking limb is not seen to move: it is too small, too dark or too blurred here "
            "for a gain to be measured; look at the trims yourself"
        )
    gaining = [trim for trim in free if trim.speed_gain >= judge.least_gain]
    if not gaining:
        most = max(trim.speed_gain for trim in free)
        return (
            f"nothing gained: no trim makes the strike look more than {most:.2f} times as fast; "
            f"it already takes {frames_in_words(hit.contact - hit.onset)} from onset to contact "
            f"at {hit.peak_speed:.1f} picture widths a second"
        )
    least = min(gaining, key=lambda trim: trim.visibility)
    return (
        f"every trim that gains shows; the least visible, {where(hit, least)}, "
        f"has visibility {least.visibility:.1f}: {least.reasons[0]}"
    )
