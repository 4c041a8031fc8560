"""The taste of those who approved trims of a project, and proposing by it where it is asked for."""

from __future__ import annotations

from collections.abc import Iterator

from impactcut.core.learn.taste import LEAST_APPROVALS, Choice, Taste, by_taste, taste_of
from impactcut.core.takes.clip import Clip
from impactcut.core.trims.trim import Proposal
from impactcut.core.viewer.judge import Judge
from impactcut.errors import LearningError
from impactcut.project import Project, StoredClip, StoredHit
from impactcut.workflow.hits.hit_filter import ALL_HITS, measured_clips
from impactcut.workflow.hits.proposing import propose_for_clip


def taste_if_known(project: Project) -> Taste | None:
    """The taste that a project's approvals show; None of too few."""
    choices = tuple(_choices(project))
    return taste_of(choices, project.judge()) if len(choices) >= LEAST_APPROVALS else None


def taste_asked_for(project: Project) -> Taste | None:
    """The taste by which trims are proposed; None where that is not asked for.

    Raises
    ------
    LearningError
        If too few were approved for one.
    """
    if not project.by_taste:
        return None
    choices = tuple(_choices(project))
    if len(choices) < LEAST_APPROVALS:
        raise LearningError(
            f"{project.path}: {len(choices)} of the {LEAST_APPROVALS} approvals that a taste "
            "takes; approve more with 'impactcut decide', or leave --taste out"
        )
    return taste_of(choices, project.judge())


def to_taste(project: Project, stored: StoredClip, taste: Taste) -> dict[int, Proposal]:
    """Proposals for a clip's hits by taste, by hit number: those that are listed choose first.

    A hit whose receiver reacts late keeps the proposal by rule: what brings that in time comes
    before all else.
    """
    judge, made = project.judge(), propose_for_clip(project, stored)
    hits = sorted(project.hits(stored.id), key=lambda hit: not ALL_HITS.sure_enough(hit))
    taken = [hit.approved_frames for hit in hits if hit.approved_frames]
    proposals: dict[int, Proposal] = {}
    for hit in hits:
        ruled = made[hit.id]
        approved = hit.approved_frames is not None
        if approved or _is_late(hit, stored.clip, judge):
            proposals[hit.id] = ruled
        else:
            proposals[hit.id] = by_taste(ruled, taste, judge, taken)
        proposed = proposals[hit.id].proposed
        if proposed is not None and not approved:
            taken.append(proposed.frames)
    return proposals


def _is_late(hit: StoredHit, clip: Clip, judge: Judge) -> bool:
    lag = hit.impact.reaction_lag
    return lag is not None and judge.is_late(lag, clip.rate)


def _choices(project: Project) -> Iterator[Choice]:
    """What was approved, but for late reactions, which are about something else than taste."""
    judge = project.judge()
    for stored in measured_clips(project):
        approved = [
            (hit.id, hit.decision)
            for hit in project.hits(stored.id)
            if hit.decision is not None
            and hit.decision.trim is not None
            and not _is_late(hit, stored.clip, judge)
        ]
        if not approved:
            continue
        made = propose_for_clip(project, stored)
        for hit_id, said in approved:
            trim = made[hit_id].judged(said.trim)
            if trim is not None:
                yield Choice(made[hit_id], trim, said.who)
