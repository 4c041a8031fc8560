"""`impactcut preview`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import PATH, Common, command
from impactcut.cli.options.completion import hit_names
from impactcut.cli.program import outcome, tell_refusals
from impactcut.cli.telling.bar import propose_missing, shown_bar
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.workflow.pictures.previewing import PreviewReport
    from impactcut.workflow.progress import OnProgress


@command(
    "impactcut preview 1 hit1.mp4",
    "impactcut preview 1 hit1_slow.mp4 --count 1",
    takes="first count proposed record-start force taste fov project quiet",
)
@click.argument(
    "hit_and_output", nargs=-1, required=True, metavar="[HIT] OUT.mp4", shell_complete=hit_names
)
@click.option(
    "--clip",
    "clips",
    multiple=True,
    type=PATH,
    metavar="NAME",
    help="Instead of a hit, show this whole clip, or the clips of this folder; may be repeated.",
)
@click.option("--all", "whole", is_flag=True, help="Instead of a hit, show every clip.")
@click.option(
    "--slow",
    type=click.IntRange(2, 60),
    metavar="N",
    help="Show each frame of the slowed part N times.  [default: so that 6 a second are seen]",
)
def preview(
    hit_and_output: tuple[str, ...],
    clips: tuple[Path, ...],
    whole: bool,
    proposed: bool,
    slow: int | None,
    record_start: str,
    common: Common,
) -> int:
    """Render before and after as a film to look at.

    The film, H.264 with sound at the clip's own rate, shows the hit as shot, then trimmed, then
    both slowed. HIT is a name from 'impactcut hits'; its approved trim is shown, or else the
    proposed one, or with --count the best of so many frames, or with --first too those frames.

    With --clip or --all whole clips are shown, end to end, with all their trims, and then each
    splice slowed; clips of several rates in a film for each, which has the rate in its name.

    A band below the picture names frames and timecodes. Contact frames sound as scratch hits.
    """
    from impactcut.workflow.hits.hit_filter import HitFilter
    from impactcut.workflow.hits.names import Names
    from impactcut.workflow.pictures.previewing import PreviewOptions, render_cut, render_hit

    hit, output = _arguments(hit_and_output, bool(clips) or whole)
    choice = common.frames()
    options = PreviewOptions(slow, proposed, record_start, common.force)
    if hit is None and choice is not None:
        raise click.UsageError("--first and --count go with a hit")
    if hit is not None and proposed:
        raise click.UsageError("--proposed goes with --clip or --all")
    if clips and whole:
        raise click.UsageError("choose one of --clip and --all")
    with common.project(reading=True) as project:

        def render(on_progress: OnProgress) -> tuple[PreviewReport, ...]:
            if hit is None:
                return render_cut(project, clips, output, options, on_progress)
            number = Names(project).one(hit)
            return (render_hit(project, number, choice, output, options, on_progress),)

        if hit is None:
            propose_missing(project, HitFilter(paths=clips), common.quiet)
        with shown_bar("", "frames", common.quiet) as on_progress:
            reports = render(on_progress)
    for report in reports:
        _tell(report, common.quiet)
    return outcome(True, any(report.refusals for report in reports))


def _arguments(given: tuple[str, ...], whole: bool) -> tuple[str | None, Path]:
    if len(given) != (1 if whole else 2):
        raise click.UsageError(
            "with --clip or --all name only the film"
            if whole
            else "name a hit and the film, or the film and --clip or --all"
        )
    output = Path(given[-1])
    if output.suffix.lower() != ".mp4":
        raise click.UsageError(f"{output}: the name of the film must end in .mp4")
    if whole:
        return None, output
    return given[0], output


def _tell(report: PreviewReport, quiet: bool) -> None:
    click.echo(str(report.path))
    tell_refusals(report.refusals)
    if not quiet:
        tell_refusals(report.silent)
    for removal in report.removals:
        if removal.trim.vetoes:
            click.echo(
                f"hit {removal.called}: this trim is not to be made: {removal.trim.vetoes[0]}",
                err=True,
            )
    if report.flashes.too_many:
        click.echo(
            "this film flashes more than 3 times a second (WCAG 2.3.1), which can harm people who "
            "are sensitive to it: warn whoever is to see it, and ask those who are qualified; this "
            "is a first screen, not a compliance test",
            err=True,
        )
    if not quiet:
        frames = sum(len(removal.frames) for removal in report.removals)
        click.echo(
            f"{counted(frames, 'frame')} out in {counted(len(report.removals), 'place')}", err=True
        )
