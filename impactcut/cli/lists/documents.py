"""The pages and pictures that `impactcut export` writes about a whole fight."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.program import tell_refusals

if TYPE_CHECKING:
    from impactcut.project import Project
    from impactcut.workflow.export.exporting import ExportOptions
    from impactcut.workflow.files.refusals import Refusal
    from impactcut.workflow.files.writing import Made

DOCUMENTS = ("overview", "summary")


def render_documents(
    project: Project, folder: Path, names: Sequence[str], options: ExportOptions
) -> Made:
    """Those of `DOCUMENTS` that are named, to be written into ``folder``.

    Raises
    ------
    OutputError
        If one cannot be written there, which is asked before any work is put into it.
    """
    from impactcut.core.fight.overview import fight_overview
    from impactcut.review.summary import render_summary
    from impactcut.workflow.clock import now
    from impactcut.workflow.files.writing import Made, check_places, file_name
    from impactcut.workflow.hits.listing import list_chosen
    from impactcut.workflow.pictures.fight_picture import render_overview
    from impactcut.workflow.reports.summarising import summarise

    name = file_name(options.title)
    overview, page = f"{name}_overview.svg", f"{name}_summary.html"
    wanted = {"overview": overview, "summary": page}
    check_places([folder / wanted[each] for each in names if each in wanted], options.force)
    files: dict[str, bytes] = {}
    refusals: list[Refusal] = []
    if "overview" in names:
        fight = fight_overview(list_chosen(project, options.wanted))
        files[overview] = render_overview(options.title, fight).encode()
    if "summary" in names:
        summary = summarise(project, options.wanted, options.title, now())
        files[page] = render_summary(summary).encode()
        refusals += summary.refusals
    return Made(files, refusals)


def tell_documents(files: Sequence[Path], made: Made) -> None:
    """Name the files, and what they lack."""
    for path in files:
        click.echo(str(path))
    tell_refusals(tuple(made.left_out))
