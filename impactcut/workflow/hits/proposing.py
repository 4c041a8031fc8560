"""Proposing trims for the hits of a project, from what was measured of them."""

from __future__ import annotations

from impactcut.core.trims.propose import propose
from impactcut.core.trims.trim import Proposal
from impactcut.core.viewer.calibration import calibrated
from impactcut.core.viewer.viewing import Viewing
from impactcut.project import Project, StoredClip, StoredHit


def propose_for_clip(project: Project, clip: StoredClip, viewing: Viewing) -> dict[int, Proposal]:
    """Proposals for every hit of a clip, by hit number.

    Those that are missing are made, and kept where the project may be written. Nothing is decoded:
    a proposal is made from the stored motion around its hit. The surest hits choose first, and the
    others keep clear of their trims; what somebody said is no hit comes last.
    """
    assert clip.clip is not None
    calibration = project.calibration()
    made = project.proposals(clip.id, viewing, calibration)
    hits = sorted(project.hits(clip.id), key=_turn)
    missing: dict[int, Proposal] = {}
    for hit in hits:
        if hit.id in made:
            continue
        known = (made | missing).values()
        missing[hit.id] = propose(
            hit.hit,
            project.motion(hit.id),
            clip.clip.frames,
            viewing=viewing,
            parameters=calibrated(calibration),
            clock=clip.clip.clock_stays,
            keep_clear=tuple(each.proposed.frames for each in known if each.proposed),
        )
    if missing and project.writable:
        ordered = [(hit, missing[hit.id]) for hit in hits if hit.id in missing]
        project.store_proposals(viewing, ordered, calibration)
    return made | missing


def _turn(hit: StoredHit) -> tuple[bool, float, int]:
    none = hit.decision is not None and hit.decision.answer == "not-a-hit"
    return none, -hit.hit.confidence, hit.hit.contact
