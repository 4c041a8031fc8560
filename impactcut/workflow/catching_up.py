"""Proposing for all clips at once what a list of them would else propose on its way, unseen."""

from __future__ import annotations

from impactcut.core.viewing import Viewing
from impactcut.project import Project
from impactcut.workflow.listing import HitFilter, measured_clips
from impactcut.workflow.proposing import propose_for_clip
from impactcut.workflow.tasks import OnProgress


def propose_missing(
    project: Project, viewing: Viewing, wanted: HitFilter, on_progress: OnProgress
) -> None:
    """Make and keep the proposals that the clips asked for lack, clip by clip.

    All of them do after the model, the program or the calibration has changed. A project that
    cannot be written keeps nothing, so there is nothing to be done ahead.

    Parameters
    ----------
    on_progress : callable
        Called with the clips done and of all, before the first and after each.
    """
    if not project.writable:
        return
    lacking = project.clips_without_proposals(viewing, project.calibration())
    clips = [
        stored
        for stored in measured_clips(project)
        if stored.id in lacking and stored.clip is not None and wanted.takes_clip(stored.clip)
    ]
    for done, stored in enumerate(clips):
        on_progress(done, len(clips))
        propose_for_clip(project, stored, viewing)
    if clips:
        on_progress(len(clips), len(clips))
