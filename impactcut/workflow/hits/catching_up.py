"""Proposing for all clips at once what a list of them would else propose on its way, unseen."""

from __future__ import annotations

from collections.abc import Sequence

from impactcut.project import Project, StoredClip
from impactcut.workflow.hits.choosing import HitFilter, measured_clips
from impactcut.workflow.hits.proposing import propose_for_clip
from impactcut.workflow.progress import OnProgress


def clips_to_propose_for(project: Project, wanted: HitFilter) -> tuple[StoredClip, ...]:
    """Those of the clips asked for that lack proposals, in natural order of their paths.

    All of them do after the model, the program or who judges has changed.
    """
    lacking = project.clips_without_proposals()
    return tuple(
        stored
        for stored in (measured_clips(project) if lacking else ())
        if stored.id in lacking and stored.clip is not None and wanted.takes_clip(stored.clip)
    )


def propose_ahead(project: Project, clips: Sequence[StoredClip], on_progress: OnProgress) -> None:
    """Make the proposals that clips lack, telling of each clip that is done."""
    for done, stored in enumerate(clips, start=1):
        propose_for_clip(project, stored)
        on_progress(done, len(clips))
