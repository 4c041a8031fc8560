"""Marking clips by hand."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from impactcut.core.takes.clip import Clip
from impactcut.project import Project
from impactcut.workflow.hits.choosing import measured_clips, names_clip


def mark_clock(project: Project, paths: Sequence[Path], clock: bool | None) -> tuple[Clip, ...]:
    """Say of clips whether a clock or a counter is in the picture; None leaves it to the scan.

    Parameters
    ----------
    paths : sequence of Path
        Clips, by path or by file name, or folders of clips.

    Returns
    -------
    tuple of Clip
        As they are known now.
    """
    numbers = [
        stored.id
        for stored in measured_clips(project)
        if stored.clip is not None and any(names_clip(path, stored.clip) for path in paths)
    ]
    project.mark_clock(numbers, clock)
    marked = (stored.clip for stored in measured_clips(project) if stored.id in numbers)
    return tuple(clip for clip in marked if clip is not None)
