"""Clips kept in a project as if they had been measured."""

from __future__ import annotations

from impactcut.core.detect.hits import FoundHit, Hit
from impactcut.core.detect.trace import Trace
from impactcut.core.takes.clip import Clip
from impactcut.project import Fingerprint, Project, StoredHit
from tests.helpers.projects.project_values import SEEN, make_hit, make_motion, make_proposal


def keep_clip(
    project: Project,
    clip: Clip,
    *hits: int | Hit,
    seen: Fingerprint = SEEN,
    trace: Trace | None = None,
) -> int:
    """Keep a clip with hits, as they are or `make_hit` of their contacts; its number."""
    made = [make_hit(hit) if isinstance(hit, int) else hit for hit in hits]
    found = [FoundHit(hit, make_motion(hit.contact, clip.rate)) for hit in made]
    return project.store_clip(clip, seen, "{}", found, trace)


def keep_proposed(
    project: Project, clip: Clip, *hits: int | Hit, seen: Fingerprint = SEEN
) -> tuple[StoredHit, ...]:
    """As `keep_clip`, with `make_proposal` for each hit; the hits."""
    stored = project.hits(keep_clip(project, clip, *hits, seen=seen))
    project.store_proposals([(hit, make_proposal(hit.impact.contact)) for hit in stored])
    return stored
