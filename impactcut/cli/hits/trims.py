"""`impactcut trims`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import FILE, Common, command
from impactcut.cli.options.completion import hit_names
from impactcut.cli.program import complain, printable
from impactcut.cli.telling.json_text import print_json

if TYPE_CHECKING:
    from impactcut.core.fight.entries import HitEntry
    from impactcut.core.trims.decision import Decision
    from impactcut.project import Project


@command(
    "impactcut trims 1", "impactcut trims 1 --plot hit1.png", takes="force json taste fov project"
)
@click.argument("hit", metavar="HIT", shell_complete=hit_names)
@click.option(
    "--plot",
    "plot_path",
    type=FILE,
    metavar="FILE",
    help="Draw the hit and its trims as a picture, a PNG file.",
)
def trims(hit: str, plot_path: Path | None, common: Common) -> None:
    """List every trim of one hit.

    Shows how much faster each makes the hit look, and to whom its splice shows.

    HIT is a name from 'impactcut hits'. Visibility 1.00 is a splice that a trained observer in
    a laboratory can just tell; "?" follows it where the two pictures that meet contradict it, and
    Front row is that of somebody to whom the picture fills 60 degrees. "must not" marks a trim that
    is never made. The table gives the weightiest reason, --json all of them. Below it stands what
    three kinds of viewer make of the best trim of each count, and where another take or angle of
    the same beat would allow what shows here.

    --plot draws how fast strike, receiver and background move, when the strike begins, lands and
    is reacted to, and every trim by what it gains and how much it shows.
    """
    from impactcut.workflow.hits.listing import find_hit
    from impactcut.workflow.hits.names import Names
    from impactcut.workflow.hits.views import one_hit_dict
    from impactcut.workflow.takes.comparing import elsewhere

    if plot_path is not None and plot_path.suffix.lower() != ".png":
        raise click.UsageError(f"{plot_path}: the name of the picture must end in .png")
    with common.project(reading=True) as project:
        entry = find_hit(project, Names(project).one(hit))
        other_takes = elsewhere(project, [entry]).get(entry.id, ())
        if plot_path is not None:
            _plot(project, entry, plot_path, common.force)
    if common.as_json:
        print_json(one_hit_dict(common.project_path, entry, other_takes))
    else:
        _show(entry, other_takes)


def _plot(project: Project, entry: HitEntry, path: Path, replace: bool) -> None:
    from impactcut.errors import MediaError
    from impactcut.media.render.strip import ON_WHITE
    from impactcut.workflow.pictures.hit_plot import STRIP_WIDTH, hit_figure, write_plot
    from impactcut.workflow.pictures.hit_strip import drawn_strip

    trim, strip = entry.shown, None
    try:
        strip = drawn_strip(project, entry, trim, STRIP_WIDTH, ON_WHITE, whole=True).pixels
    except MediaError as error:
        complain(f"the picture lacks its splice strip: {error}")
    figure = hit_figure(entry, project.motion(entry.id), strip)
    write_plot(path, figure, replace)
    click.echo(str(path), err=True)


def _show(entry: HitEntry, other_takes: Sequence[str]) -> None:
    from impactcut.cli.telling.tables import named_decision, placed, print_trims, print_viewers

    contact = entry.impact.contact
    place = f"contact {placed(entry.clip, contact)}"
    click.echo(
        f"Hit {entry.called} in {printable(entry.clip.name)}, {place}, {entry.impact.camera} camera"
    )
    for warning in entry.warnings:
        click.echo(f"Warning: {warning}")
    if entry.proposal.no_trim:
        click.echo(f"Nothing proposed: {entry.proposal.no_trim}")
    if entry.decision is not None:
        click.echo(f"Decision: {_signed(named_decision(entry.decision), entry.decision)}")
    print_trims(entry)
    print_viewers(entry)
    for words in other_takes:
        click.echo(f"Elsewhere: {printable(words)}")
    click.echo(entry.judging)


def _signed(text: str, said: Decision) -> str:
    from impactcut.workflow.clock import as_read

    author = f" ({said.note_who})" if said.note_who not in ("", said.who) else ""
    parts = [text, said.who, as_read(said.when), f"{said.note}{author}" if said.note else ""]
    return printable(", ".join(part for part in parts if part))
