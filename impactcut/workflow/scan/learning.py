"""Teaching the finder by a project's answers, from what is stored; nothing is decoded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from impactcut.core.detect.confidence import SURE
from impactcut.core.detect.contact import peaks
from impactcut.core.detect.hits import DECIMALS
from impactcut.core.detect.trace import Trace
from impactcut.core.learn.correction import LEAST_ANSWERS, Correction, Lesson, Moments, lesson
from impactcut.errors import LearningError
from impactcut.project import Project, StoredHit
from impactcut.weights import weights
from impactcut.workflow.hits.hit_filter import ALL_HITS, measured_clips

BESIDE_SECONDS: Final = 0.1
"""How far from a contact that somebody told the spotter may see it, engineering choice: two frames
at 24 a second and some."""
CLEAR_SECONDS: Final = 0.2
"""How far from all told contacts a moment lies that was passed over, engineering choice."""
FAINTEST: Final = -99.0
"""Log odds below anything that is said."""


@dataclass(frozen=True)
class Learnt:
    """What came of learning.

    Parameters
    ----------
    used : bool
        Whether it is in force: it is not where it does not help.
    listed, unlisted : int
        Finds nobody answered that are listed from now on, and that are not any more.
    """

    lesson: Lesson
    used: bool
    listed: int = 0
    unlisted: int = 0


def taught(project: Project) -> Correction | None:
    """The correction in force; None where there is none, or it is of other weights."""
    known = project.lesson()
    if known is None or known.correction.weights != weights().digest:
        return None
    return known.correction


def learn(project: Project) -> Learnt:
    """Learn from all answers of a project, and judge its finds by it where that helps.

    Raises
    ------
    LearningError
        If there are too few answers, or only of one kind.
    """
    from impactcut.workflow.scan.spotting import fitted_calibration

    digest = weights().digest
    clips = [
        moments(trace, float(stored.clip.rate), project.hits(stored.id))
        for stored in measured_clips(project)
        if (trace := project.trace(stored.id, digest)) is not None
    ]
    _check_enough(project, clips)
    found = lesson(clips, fitted_calibration(), digest)
    if not found.check.helps:
        return Learnt(found, used=False)
    listed, unlisted = _put_in_force(project, found)
    return Learnt(found, True, listed, unlisted)


def forget(project: Project) -> tuple[int, int]:
    """Judge a project's finds as the shipped weights do: how many are listed, and no more are.

    Raises
    ------
    LearningError
        If nothing was learnt.
    """
    if project.lesson() is None:
        raise LearningError(f"{project.path}: nothing was learnt, so there is nothing to forget")
    return _put_in_force(project, None)


def judged_by(
    trace: Trace, rate: float, hits: tuple[StoredHit, ...], correction: Correction | None
) -> dict[int, float]:
    """How sure each find of a clip is, by number, from the trace alone; not those by hand."""
    from impactcut.workflow.scan.spotting import fitted_calibration

    odds = trace.odds if correction is None else correction.corrected(trace.odds, trace.rows)
    sure, seen = fitted_calibration().confidence, _Peaks(trace, rate).at
    return {
        hit.id: round(sure(float(odds[seen(hit.impact.contact)])), DECIMALS)
        for hit in hits
        if not hit.by_hand
    }


def _put_in_force(project: Project, found: Lesson | None) -> tuple[int, int]:
    correction = None if found is None else found.correction
    confidences: dict[int, dict[int, float]] = {}
    listed = unlisted = 0
    for stored in measured_clips(project):
        trace = project.trace(stored.id, weights().digest)
        if trace is None:
            continue
        hits = project.hits(stored.id)
        confidences[stored.id] = judged_by(trace, float(stored.clip.rate), hits, correction)
        for hit in hits:
            if hit.decision is None and hit.id in confidences[stored.id]:
                now = confidences[stored.id][hit.id] >= SURE
                listed += now and hit.impact.confidence < SURE
                unlisted += hit.impact.confidence >= SURE and not now
    project.store_lesson(found, confidences)
    return listed, unlisted


def moments(trace: Trace, rate: float, hits: tuple[StoredHit, ...]) -> Moments:
    """The moments of a clip of which something is known.

    They are those that somebody answered or marked; and, where everything that is listed was
    answered, all others at which the spotter's odds have a peak, too: whoever went through such a
    clip passed them over.
    """
    nodes: list[int] = []
    right: list[bool] = []
    seen = _Peaks(trace, rate)
    for hit in hits:
        if hit.denied or hit.by_hand or hit.affirmed:
            nodes.append(seen.near(hit.impact.contact, BESIDE_SECONDS * rate))
            right.append(not hit.denied)
    answered = len(nodes)
    if answered and not any(_is_open(hit) and not hit.by_hand for hit in hits):
        told = np.array([hit.impact.contact for hit in hits if _told(hit)])
        for peak in seen.peaks:
            if np.abs(told - peak.contact).min() > CLEAR_SECONDS * rate:
                nodes.append(peak.node)
                right.append(False)
    return Moments(
        said=trace.odds[nodes],
        rows=trace.rows[nodes],
        right=np.array(right, np.bool_),
        answered=np.arange(len(nodes)) < answered,
    )


def _told(hit: StoredHit) -> bool:
    return bool(hit.by_hand) or hit.decision is not None


def _is_open(hit: StoredHit) -> bool:
    """Whether a hit is listed, and it is still to be said what becomes of it."""
    return ALL_HITS.sure_enough(hit) and hit.undecided


class _Peaks:
    """Where the odds of a trace have peaks, the very ones that a scan finds contacts by."""

    def __init__(self, trace: Trace, rate: float) -> None:
        self.trace = trace
        self.peaks = peaks(trace.odds, trace.frames, rate, FAINTEST)
        self._nodes = {peak.contact: peak.node for peak in self.peaks}

    def at(self, contact: int) -> int:
        """The frame of the trace at which a contact was found."""
        nearest = min(max(0, round(contact / self.trace.stride)), len(self.trace) - 1)
        return self._nodes.get(contact, nearest)

    def near(self, contact: int, reach: float) -> int:
        """The frame at which a contact that somebody told is seen: that of the likeliest peak."""
        near = [peak for peak in self.peaks if abs(peak.contact - contact) <= reach]
        best = max(near, key=lambda peak: peak.odds, default=None)
        return self.at(contact) if best is None else best.node


def _check_enough(project: Project, clips: list[Moments]) -> None:
    answers = sum(int(clip.answered.sum()) for clip in clips)
    if answers < LEAST_ANSWERS:
        told = sum(_told(hit) for hits in project.all_hits().values() for hit in hits)
        old = (
            "; answers about clips that were measured by an earlier program do not count until "
            "'impactcut scan' has measured them again"
            if told >= LEAST_ANSWERS
            else ""
        )
        raise LearningError(
            f"{project.path}: {answers} of {LEAST_ANSWERS} answers that learning takes; say of "
            f"hits with 'impactcut decide' whether they are, and 'impactcut add' those missed{old}"
        )
    right = np.concatenate([clip.right for clip in clips])
    if right.all() or not right.any():
        kind = "hits" if right.all() else "finds that are none"
        raise LearningError(
            f"{project.path}: all answers are about {kind}, so there is nothing to tell apart; "
            "'impactcut decide HIT --not-a-hit' says what is none, 'impactcut add' what is one"
        )
