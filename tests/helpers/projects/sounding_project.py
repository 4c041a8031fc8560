"""Projects of real small clips whose hits, proposals and sound are known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from impactcut.core.trims.trim import Trim
from impactcut.media.probe.container import probe
from impactcut.project import Project
from impactcut.workflow.files.fingerprint import fingerprint
from impactcut.workflow.hits.deciding import Signature
from tests.helpers.projects.answering import approve
from tests.helpers.projects.kept_clips import keep_proposed


def add_clip(
    project: Project, path: Path, contacts: Sequence[int], **changes: object
) -> dict[int, int]:
    """Take in a clip with hits on those frames, `make_proposal` for each; hit numbers by frame."""
    clip = replace(probe(path), **changes)  # type: ignore[arg-type]
    hits = keep_proposed(project, clip, *contacts, seen=fingerprint(path))
    return {hit.impact.contact: hit.id for hit in hits}


def approved(project: Project, hit_id: int, count: int) -> Trim:
    """Approve the best trim of so many frames."""
    trim = approve(project, hit_id, Signature("Ines"), count).approved
    assert trim is not None
    return trim
