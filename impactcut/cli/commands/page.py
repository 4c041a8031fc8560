"""`impactcut page`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.bar import propose_missing
from impactcut.cli.filters import check_filter, hit_filter_options
from impactcut.cli.options import (
    PATH,
    debug_option,
    fov_option,
    project_option,
    quiet_option,
    taste_option,
)
from impactcut.cli.program import NOTHING_DONE, SOME_REFUSED, complain, examples, tell_refusals
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.workflow.hits.choosing import HitFilter

_MEGABYTE = 1_000_000
_PARTS = 10
"""Lines of progress at most."""
_SUFFIXES = (".html", ".htm")


@click.command(
    epilog=examples(
        "impactcut page fight.html",
        "impactcut page open.html --undecided --limit 10",
    )
)
@click.argument("file", metavar="FILE.html", type=click.Path(dir_okay=False, path_type=Path))
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=PATH)
@hit_filter_options
@click.option(
    "--limit",
    type=click.IntRange(min=1),
    default=20,
    show_default=True,
    metavar="MB",
    help="Size to stay under by making pictures smaller, in megabytes; many mail systems carry 20.",
)
@click.option("--force", is_flag=True, help="Replace the file if it is there already.")
@taste_option
@fov_option
@project_option
@quiet_option
@debug_option
@click.pass_context
def page(
    ctx: click.Context,
    file: Path,
    wanted: HitFilter,
    limit: int,
    force: bool,
    taste: bool,
    fov: float | None,
    project_path: Path,
    quiet: bool,
) -> None:
    """Write the director's page as one file to send.

    It holds its pictures and sounds, opens in any browser, and needs no network. Answers are kept
    in that browser and saved from it as a small file, which 'impactcut decide --answers' takes in.
    PATH is a clip, its file name, or a folder of clips; without one, every hit goes in.

    It judges pictures, never whether a move was or is safe.
    """
    from impactcut.project import Project
    from impactcut.review.page import make_page
    from impactcut.workflow.files.writing import check_places, write_files

    if file.suffix.lower() not in _SUFFIXES:
        raise click.UsageError(f"{file}: the name of the page must end in .html")

    def told(done: int, hits: int) -> None:
        if not quiet and _PARTS * done // hits > _PARTS * (done - 1) // hits:
            click.echo(f"{done} of {counted(hits, 'hit')}", err=True)

    with Project(project_path, reading=True, fov=fov, by_taste=taste) as project:
        missing = check_filter(project, wanted)
        check_places([file], force)
        propose_missing(project, wanted, quiet)
        made = make_page(project, wanted, most_bytes=limit * _MEGABYTE, on_hit=told)
    tell_refusals(made.refusals)
    if not made.hits:
        if not made.refusals and not missing:
            complain("there is no such hit; 'impactcut hits' lists those there are")
        ctx.exit(NOTHING_DONE)
    content = made.html.encode()
    write_files(file.parent, {file.name: content}, force)
    click.echo(str(file))
    if len(content) > limit * _MEGABYTE:
        complain(
            f"{file}: {len(content) / _MEGABYTE:.0f} MB, more than {limit}; "
            "send fewer hits at once, by --section, --undecided or clip"
        )
    if not quiet:
        click.echo(
            f"{counted(made.hits, 'hit')}, {len(content) / _MEGABYTE:.1f} MB, "
            f"at most {made.most_bytes // 1000} KB a hit",
            err=True,
        )
    if made.refusals or missing:
        ctx.exit(SOME_REFUSED)
