"""`impactcut demo`."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.clips.scan import run_scan
from impactcut.cli.lists.documents import DOCUMENTS, render_documents, tell_documents
from impactcut.cli.lists.export import tell_export
from impactcut.cli.options.common import FOLDER, Common, command
from impactcut.cli.options.executors import local_executor
from impactcut.cli.program import outcome

if TYPE_CHECKING:
    from impactcut.project import Project
    from impactcut.workflow.demo import DemoScore
    from impactcut.workflow.export.exporting import ExportReport

_IN_SOURCE_TREE = Path("samples/footage")
_ELSEWHERE = Path("impactcut-demo")
_TITLE = "QUAY WAREHOUSE"


@command("impactcut demo", "impactcut demo night", takes="jobs fov quiet")
@click.argument("folder", metavar="[DIR]", required=False, type=FOLDER)
def demo(folder: Path | None, common: Common) -> int:
    """Try everything on sample footage.

    It shows a made-up night fight at a harbour warehouse. Renders the footage into DIR if it is
    not there, scans it, lists the hits with the trims proposed, writes lists, the director's page,
    a summary and an overview picture, and counts how many of the staged hits were found. DIR is
    samples/footage in a source tree, else impactcut-demo.
    """
    from impactcut.project import Project
    from impactcut.review.page import MOST_PER_MAIL, make_page
    from impactcut.workflow.export.exporting import ExportOptions
    from impactcut.workflow.files.writing import write_files
    from impactcut.workflow.scan.analyse import AnalysisSettings
    from impactcut.workflow.scan.scanning import ScanOptions

    folder = folder or (_IN_SOURCE_TREE if Path("samples/warehouse").is_dir() else _ELSEWHERE)
    _render(folder, common.quiet)
    options = ScanOptions(AnalysisSettings(), local_executor(common.jobs))
    with Project(folder / "demo.db", create=True) as project:
        scanned = run_scan(project, (folder,), options, common)
        exported = _export(project, folder / "lists")
        _show(project, folder)
        made = render_documents(project, folder, DOCUMENTS, ExportOptions(_TITLE, force=True))
        html = make_page(project, most_bytes=MOST_PER_MAIL).html.encode()
        page, *pages = write_files(folder, {"review.html": html, **made.files}, replace=True)
    tell_export(exported, common.quiet)
    click.echo(f"Footage: {folder}  Project: {folder / 'demo.db'}  Lists: {folder / 'lists'}")
    click.echo(f"Page to judge the hits on, in any browser: {page}")
    tell_documents(pages, made)
    click.echo(f"Go on: {_program()} review --project {folder / 'demo.db'}")
    return outcome(exported.files, scanned.refusals or exported.refusals)


def _program() -> str:
    """How this program is called from here."""
    return "impactcut" if shutil.which("impactcut") else sys.argv[0]


def _render(folder: Path, quiet: bool) -> None:
    from impactcut.workflow.demo import is_rendered, render_samples

    if is_rendered(folder):
        return
    if not quiet:
        click.echo(f"rendering the samples into {folder}", err=True)
    render_samples(folder, lambda line: None if quiet else click.echo(line, err=True))


def _export(project: Project, folder: Path) -> ExportReport:
    from impactcut.project import Actor
    from impactcut.workflow.clock import now
    from impactcut.workflow.export.delivering import keep_delivery
    from impactcut.workflow.export.exporting import ExportOptions, export_lists

    options = ExportOptions(_TITLE, proposed=True, force=True)
    report = export_lists(project, folder, options, Actor("the demo", now()))
    if report.delivery is not None:
        keep_delivery(project, report.delivery)
    return report


def _show(project: Project, folder: Path) -> None:
    from impactcut.cli.telling.tables import print_hits
    from impactcut.workflow.demo import score_demo
    from impactcut.workflow.hits.hit_filter import HitFilter
    from impactcut.workflow.hits.listing import list_chosen

    entries = list_chosen(project, HitFilter(paths=(folder,)))
    print_hits(entries)
    click.echo(_told(score_demo(folder, entries)))


def _told(score: DemoScore) -> str:
    return (
        f"{score.matched} of {score.staged} staged hits found to within a frame; "
        f"{score.found - score.matched} other hits found"
    )
