"""Proposing trims for the hits of a project, from what was measured of them."""

from __future__ import annotations

from collections.abc import Sequence

from impactcut.core.trims.propose import propose
from impactcut.core.trims.trim import Proposal
from impactcut.project import Project, StoredClip, StoredHit
from impactcut.workflow.hits.hit_filter import HitFilter, measured_clips
from impactcut.workflow.progress import OnProgress


def propose_for_clip(project: Project, clip: StoredClip) -> dict[int, Proposal]:
    """Proposals for every hit of a clip, by hit number.

    Those that are missing are made, and kept where the project is not only read. Nothing is
    decoded: a proposal is made from the stored motion around its hit. The surest hits choose first,
    and the others keep clear of their trims; what somebody said is no hit comes last.
    """
    judge = project.judge()
    made = project.proposals(clip.id)
    hits = sorted(project.hits(clip.id), key=_turn)
    missing: dict[int, Proposal] = {}
    for hit in hits:
        if hit.id in made:
            continue
        known = (made | missing).values()
        missing[hit.id] = propose(
            hit.impact,
            project.motion(hit.id),
            clip.clip.frames,
            judge=judge,
            clock=clip.clip.clock_stays,
            keep_clear=tuple(each.proposed.frames for each in known if each.proposed),
        )
    if missing:
        project.store_proposals((hit, missing[hit.id]) for hit in hits if hit.id in missing)
    return made | missing


def clips_to_propose_for(project: Project, wanted: HitFilter) -> tuple[StoredClip, ...]:
    """Those of the clips asked for that lack proposals, in natural order of their paths.

    All of them do after the model, the program or who judges has changed.
    """
    lacking = project.clips_without_proposals()
    return tuple(
        stored
        for stored in (measured_clips(project) if lacking else ())
        if stored.id in lacking and wanted.takes_clip(stored.clip)
    )


def propose_ahead(project: Project, clips: Sequence[StoredClip], on_progress: OnProgress) -> None:
    """Make the proposals that clips lack, telling of each clip that is done."""
    for done, stored in enumerate(clips, start=1):
        propose_for_clip(project, stored)
        on_progress(done, len(clips))


def _turn(hit: StoredHit) -> tuple[bool, float, int]:
    return hit.denied, -hit.impact.confidence, hit.impact.contact
