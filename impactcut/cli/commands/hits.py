"""`impactcut hits`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.bar import propose_missing
from impactcut.cli.filters import check_filter, hit_filter_options
from impactcut.cli.json_text import print_json
from impactcut.cli.options import (
    PATH,
    debug_option,
    fov_option,
    json_option,
    project_option,
    taste_option,
)
from impactcut.cli.program import NOTHING_DONE, SOME_REFUSED, examples
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.workflow.hits.choosing import HitFilter
    from impactcut.workflow.hits.entries import ClipEntry


@click.command(
    epilog=examples(
        "impactcut hits",
        "impactcut hits --section 2 --undecided",
        "impactcut hits selects --weak --json",
    )
)
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=PATH)
@hit_filter_options
@click.option("--all", "everything", is_flag=True, help="Every find, hit or not.")
@json_option
@taste_option
@fov_option
@project_option
@debug_option
@click.pass_context
def hits(
    ctx: click.Context,
    wanted: HitFilter,
    everything: bool,
    as_json: bool,
    taste: bool,
    fov: float | None,
    project_path: Path,
) -> None:
    """List hits and the trims proposed.

    PATH is a clip, its file name, or a folder of clips; without one, every clip is listed.
    Contact is source timecode; Frame counts from 0 at the clip's first. Conf. is the chance that
    it is a hit, or who says so by hand, Speed that of the strike in picture widths a second, "weak"
    where it reads slow for this fight, and Lag the frames until the receiver reacts, "late" past
    100 ms and "early" before the contact. "2 from 237" takes out frames 237 and 238; Gain is how
    much faster the hit will look then, and "Shows" who would see the splice: with the trim that is
    approved, else with the one proposed.
    """
    from dataclasses import replace

    from impactcut.project import Project
    from impactcut.workflow.hits.entries import judging_note
    from impactcut.workflow.hits.listing import count_unsure, list_chosen, list_hits
    from impactcut.workflow.hits.tasting import taste_asked_for

    wanted = replace(wanted, everything=everything)
    with Project(project_path, reading=True, fov=fov, by_taste=taste) as project:
        missing = check_filter(project, wanted)
        propose_missing(project, wanted)
        listed = list_hits if as_json else list_chosen
        entries = listed(project, wanted)
        unsure = 0 if as_json or everything or wanted.by_hit else count_unsure(project, wanted)
        judge, calibration = project.judge(), project.calibration()
        taken = taste_asked_for(project)
    if as_json:
        from impactcut.workflow.hits.views import project_dict

        found = project_dict(project_path, entries, judge, calibration, taken)
        print_json(found)
    else:
        _show(entries, unsure, judging_note(calibration, taken))
    if missing:
        ctx.exit(NOTHING_DONE if len(missing) == len(wanted.paths) else SOME_REFUSED)


def _show(entries: tuple[ClipEntry, ...], unsure: int, note: str) -> None:
    from impactcut.cli.tables import print_hits
    from impactcut.core.detect.confidence import UNSURE

    number = sum(len(entry.hits) for entry in entries)
    if number:
        print_hits(entries)
    click.echo(f"{counted(number, 'hit')} in {counted(len(entries), 'clip')}")
    if unsure:
        click.echo(f"{unsure} more that may be hits: --confidence {UNSURE} lists them too")
    if number:
        click.echo(note)
