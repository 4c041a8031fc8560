"""A bar on a terminal for work whose length is known, and proposing trims under one."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from impactcut.project import Project
    from impactcut.workflow.hits.hit_filter import HitFilter
    from impactcut.workflow.progress import OnProgress


@contextmanager
def shown_bar(name: str, things: str, quiet: bool = False) -> Iterator[OnProgress]:
    """A bar, named, that counts things on a terminal and is gone at the end; none elsewhere."""
    if quiet or not sys.stderr.isatty():
        yield lambda done, total: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = (name, BarColumn(), MofNCompleteColumn(), things, TimeRemainingColumn(), "left")
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("", total=None)
        yield lambda done, total: progress.update(task, completed=done, total=total)


def propose_missing(project: Project, wanted: HitFilter | None = None, quiet: bool = False) -> None:
    """Make, with a bar, the proposals that the clips asked for lack, or all clips."""
    from impactcut.workflow.hits.hit_filter import ALL_HITS
    from impactcut.workflow.hits.proposing import clips_to_propose_for, propose_ahead

    clips = clips_to_propose_for(project, wanted or ALL_HITS)
    if clips:
        with shown_bar("proposing trims", "clips", quiet) as on_progress:
            propose_ahead(project, clips, on_progress)
