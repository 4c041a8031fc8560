"""`impactcut page`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import FILE, HITS, PATH, Common, check_filter, command
from impactcut.cli.program import complain, outcome, tell_refusals
from impactcut.cli.telling.bar import propose_missing, shown_bar
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.workflow.hits.hit_filter import HitFilter

_MEGABYTE = 1_000_000
_SUFFIXES = (".html", ".htm")


@command(
    "impactcut page fight.html",
    "impactcut page open.html --undecided --limit 10",
    takes=f"{HITS} force taste fov project quiet",
)
@click.argument("file", metavar="FILE.html", type=FILE)
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=PATH)
@click.option(
    "--limit",
    type=click.IntRange(min=1),
    default=20,
    show_default=True,
    metavar="MB",
    help="Size to stay under by making pictures smaller, in megabytes; many mail systems carry 20.",
)
def page(file: Path, wanted: HitFilter, limit: int, common: Common) -> int:
    """Write the director's page as one file to send.

    It holds its pictures and sounds, opens in any browser, and needs no network. Answers are kept
    in that browser and saved from it as a small file, which 'impactcut decide --answers' takes in.
    PATH is a clip, its file name, or a folder of clips; without one, every hit goes in.

    It judges pictures, never whether a move was or is safe.
    """
    from impactcut.review.page import make_page
    from impactcut.workflow.files.writing import check_places, write_files

    if file.suffix.lower() not in _SUFFIXES:
        raise click.UsageError(f"{file}: the name of the page must end in .html")

    with common.project(reading=True) as project:
        wanted, missing = check_filter(project, wanted)
        check_places([file], common.force)
        propose_missing(project, wanted, common.quiet)
        with shown_bar("making the page", "hits", common.quiet) as on_hit:
            made = make_page(project, wanted, most_bytes=limit * _MEGABYTE, on_hit=on_hit)
    tell_refusals(made.refusals)
    if not made.hits:
        if not made.refusals and not missing:
            complain("there is no such hit; 'impactcut hits' lists those there are")
        return outcome(False, False)
    content = made.html.encode()
    write_files(file.parent, {file.name: content}, common.force)
    click.echo(str(file))
    if len(content) > limit * _MEGABYTE:
        complain(
            f"{file}: {len(content) / _MEGABYTE:.0f} MB, more than {limit}; "
            "send fewer hits at once, by --section, --undecided or clip"
        )
    if not common.quiet:
        click.echo(
            f"{counted(made.hits, 'hit')}, {len(content) / _MEGABYTE:.1f} MB, "
            f"at most {made.most_bytes // 1000} KB a hit",
            err=True,
        )
    return outcome(made.hits, made.refusals or missing)
