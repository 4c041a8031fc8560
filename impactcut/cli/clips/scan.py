"""`impactcut scan`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import PATH, Common, command
from impactcut.cli.options.executors import chosen_executor
from impactcut.cli.program import INTERRUPTED, NOTHING_DONE, complain, outcome, tell_refusals
from impactcut.cli.telling.bar import propose_missing
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.project import Project
    from impactcut.workflow.scan.clips_to_measure import Order
    from impactcut.workflow.scan.scanning import ScanOptions, ScanReport
_NO_MEDIA = "no media found; name a file, or a folder with media files in it"


@command(
    "impactcut scan selects",
    "impactcut scan selects/S1_T1_A.mov --rate 24 --reel A001",
    "impactcut scan selects --cluster tcp://depot:8786 --map selects=/mnt/selects",
    takes="jobs patience fov project quiet",
)
@click.argument("paths", nargs=-1, required=True, metavar="PATH...", type=PATH)
@click.option(
    "--rate",
    metavar="R",
    help="Count the clips at this rate, whatever they say: 23.976, 24000/1001, 29.97df; 'file' "
    "for what they say. Kept for later scans.",
)
@click.option(
    "--reel", metavar="NAME", help="Source name of the one clip named; 'file' for the file's own."
)
@click.option("--again", is_flag=True, help="Measure clips again even if they have not changed.")
@click.option("--retry", is_flag=True, help="Try again clips that were set aside after 3 tries.")
@click.option(
    "--order",
    type=click.Choice(["smallest", "largest", "name", "given"]),
    default="smallest",
    show_default=True,
    help="Which clips come first; 'given': those of the PATH given first.",
)
@click.option(
    "--memory",
    type=click.FloatRange(min=0, min_open=True),
    metavar="GIB",
    help="Give up on a clip whose measuring takes more.  [default: three quarters of the "
    "machine's, shared by the jobs]",
)
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Have clips measured by the workers of the Dask scheduler at tcp://HOST:PORT.",
)
@click.option(
    "--map",
    "mappings",
    multiple=True,
    metavar="HERE=THERE",
    help="With --cluster: workers see the folder HERE as THERE. May be repeated.",
)
def scan(
    paths: tuple[Path, ...],
    rate: str | None,
    reel: str | None,
    again: bool,
    retry: bool,
    order: str,
    memory: float | None,
    cluster: str | None,
    mappings: tuple[str, ...],
    common: Common,
) -> int:
    """Find the hits in clips and propose trims.

    PATH is a media file, or a folder that is searched at any depth. Clips that were measured
    earlier and have not changed are left as they are. A scan that is interrupted goes on where it
    stopped when it is started again; a clip that fails is named and does not stop the others. After
    three tries a clip is set aside, until it changes or you say --retry. Films that 'preview' and
    'calibrate' made are no footage and are left out.
    """
    from impactcut.core.takes.shot_log import AS_FILED
    from impactcut.core.time.timebase import parse_timebase
    from impactcut.project import Project
    from impactcut.workflow.scan.analyse import AnalysisSettings
    from impactcut.workflow.scan.scanning import ScanOptions

    if reel is not None and (len(paths) > 1 or not paths[0].is_file()):
        raise click.UsageError("--reel names the source of one clip: name one file")
    if rate not in (None, AS_FILED):
        parse_timebase(rate)
    settings = AnalysisSettings(rate=rate, reel=reel)
    executor = chosen_executor(cluster, mappings, memory, common)
    options = ScanOptions(settings, executor, _order(order, paths), again, retry)
    if not common.project_path.exists():
        _check_there_is_media(paths)
    with Project(common.project_path, create=True) as project:
        report = run_scan(project, paths, options, common)
    done = report.measured or report.plan.unchanged or report.plan.same or report.plan.dropped
    if not done and not report.refusals:
        complain(_NO_MEDIA)
    return outcome(done, report.refusals)


def _check_there_is_media(paths: tuple[Path, ...]) -> None:
    """Leave before a project comes to be for a name that was mistyped."""
    from impactcut.workflow.files.find import find_media

    found = find_media(paths)
    if not found.candidates:
        for note in found.notes:
            complain(note)
        tell_refusals(found.refusals)
        if not found.refusals:
            complain(_NO_MEDIA)
        raise click.exceptions.Exit(NOTHING_DONE)


def run_scan(
    project: Project, paths: tuple[Path, ...], options: ScanOptions, common: Common
) -> ScanReport:
    """Scan with progress, and say what came of it; ``--fov`` is kept."""
    from impactcut.cli.telling.progress import ScanProgress
    from impactcut.workflow.scan import scanning as workflow

    if common.fov is not None:
        project.keep_fov(common.fov)
    watcher = ScanProgress(common.quiet)
    try:
        with watcher:
            report = workflow.scan(project, paths, options, watcher)
        propose_missing(project, quiet=common.quiet)
    except KeyboardInterrupt:
        complain(
            f"stopped; {watcher.kept} of {watcher.total} clips are measured and kept in "
            f"{project.path}; run the same command to go on"
        )
        raise click.exceptions.Exit(INTERRUPTED) from None
    _tell(report, project, common.quiet)
    return report


def _own_films(paths: Sequence[Path]) -> str:
    more = f" and {len(paths) - 1} more" if len(paths) > 1 else ""
    films = counted(len(paths), "film")
    return f"{films} that impactcut made left out, as no footage: {paths[0].name}{more}"


def _order(name: str, paths: Sequence[Path]) -> Order:
    from impactcut.workflow.scan.clips_to_measure import (
        by_name,
        in_order_of,
        largest_first,
        smallest_first,
    )

    named = {
        "smallest": smallest_first,
        "largest": largest_first,
        "name": by_name,
        "given": in_order_of(paths),
    }
    return named[name]


def _tell(report: ScanReport, project: Project, quiet: bool) -> None:
    from impactcut.workflow.hits.hit_filter import count_listed

    for note in report.notes:
        complain(note)
    tell_refusals(report.refusals)
    if quiet:
        return
    measured = counted(len(report.measured), "clip")
    parts = [f"{measured} measured, {counted(report.hits, 'hit')} found"]
    if report.plan.unchanged:
        parts.append(f"{counted(len(report.plan.unchanged), 'clip')} unchanged")
    if report.plan.moved:
        parts.append(f"{counted(report.plan.moved, 'clip')} found again elsewhere")
    if report.plan.passed_over:
        parts.append(f"{counted(report.plan.passed_over, 'file')} passed over: not media")
    if report.plan.same:
        parts.append(f"{counted(report.plan.same, 'file')} of takes measured on another file")
    if report.plan.own_films:
        parts.append(_own_films(report.plan.own_films))
    if report.plan.dropped:
        parts.append(f"{counted(report.plan.dropped, 'clip')} taken out with 'impactcut drop'")
    if report.refusals:
        parts.append(f"{len(report.refusals)} left out")
    clips, hits = count_listed(project)
    holds = f"{counted(clips, 'clip')}, {counted(hits, 'hit')}"
    click.echo("; ".join(parts) + f". Project: {project.path}, which holds {holds}")
    if report.plan.same:
        click.echo(
            "one take in several files is one clip, named by the original; 'impactcut same' joins "
            "files that do not say so themselves, and --apart parts them"
        )
    clocks = sum(each.clip.clock for each in report.measured)
    if clocks:
        click.echo(
            f"{counted(clocks, 'clip')} with a clock or timecode in the picture, which jumps at "
            "every trim unless the finished picture is made from clean ones; 'impactcut mark' says "
            "which it is"
        )
