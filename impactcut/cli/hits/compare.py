"""`impactcut compare`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import (
    CLIPS,
    FILE,
    FOLDER,
    PATH,
    Common,
    check_filter,
    command,
)
from impactcut.cli.options.completion import hit_names
from impactcut.cli.program import complain, outcome, tell_refusals
from impactcut.cli.telling.bar import propose_missing
from impactcut.cli.telling.json_text import print_json
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.core.fight.ranking import ComparedBeat
    from impactcut.project import Project
    from impactcut.workflow.files.refusals import Refusal
    from impactcut.workflow.hits.hit_filter import HitFilter
    from impactcut.workflow.takes.comparing import Comparison


@command(
    "impactcut compare",
    "impactcut compare --section 1 --csv beats.csv --sheets sheets",
    "impactcut compare --together 2 1",
    takes=f"{CLIPS} force json taste fov project",
)
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=PATH)
@click.option(
    "--together",
    nargs=2,
    multiple=True,
    metavar="HIT HIT",
    shell_complete=hit_names,
    help="Say that the first hit belongs to the beat of the second.",
)
@click.option(
    "--apart",
    multiple=True,
    metavar="HIT",
    shell_complete=hit_names,
    help="Say that a hit is a beat of its own.",
)
@click.option(
    "--as-found",
    multiple=True,
    metavar="HIT",
    shell_complete=hit_names,
    help="Take back what --together or --apart said of a hit.",
)
@click.option(
    "--csv", "csv_file", type=FILE, metavar="FILE.csv", help="Write the table as CSV, too."
)
@click.option(
    "--sheets",
    type=FOLDER,
    metavar="DIR",
    help="Write a picture of each beat, its contact frames side by side.",
)
def compare(
    wanted: HitFilter,
    together: tuple[tuple[str, str], ...],
    apart: tuple[str, ...],
    as_found: tuple[str, ...],
    csv_file: Path | None,
    sheets: Path | None,
    common: Common,
) -> int:
    """Rank the takes and angles of every beat.

    Hits of one section that fall on the same place of its rhythm are one beat; "2.3" is the third
    of section 2. Speed is the strike's on screen, smoothed as the eye does, in picture widths a
    second, with the trim out; Stops is how hard it stops, in widths a second a second. Ranked
    first are those whose receiver reacts in time, then the fastest, then the hardest stop; what an
    attentive viewer cannot tell apart counts as equal.

    It judges pictures, never whether a move was or is safe: a weak hit wants another angle, a trim
    or a take that reads better, not a harder blow.
    """
    from impactcut.core.fight.entries import judging_note
    from impactcut.workflow.hits.names import Names
    from impactcut.workflow.hits.tasting import taste_asked_for
    from impactcut.workflow.takes.comparing import compare as compared
    from impactcut.workflow.takes.comparing import put_apart, put_together

    marking = bool(together or apart or as_found)
    with common.project(reading=not marking) as project:
        number = Names(project).one
        for hit, companion in together:
            put_together(project, number(hit), number(companion))
        for hit in apart:
            put_apart(project, number(hit))
        for hit in as_found:
            project.mark_beat(number(hit), None)
        wanted, missing = check_filter(project, wanted)
        propose_missing(project, wanted)
        found, taste = compared(project, wanted), taste_asked_for(project)
        refusals = _write(project, found.beats, csv_file, sheets, common.force)
    _show(found, judging_note(found.calibration, taste), common)
    tell_refusals(refusals)
    return outcome(found.beats, missing or refusals)


def _write(
    project: Project,
    beats: tuple[ComparedBeat, ...],
    csv_file: Path | None,
    folder: Path | None,
    force: bool,
) -> tuple[Refusal, ...]:
    from impactcut.lists.tables.compare_csv import render_compare_csv
    from impactcut.workflow.files.writing import check_places, file_name, write_files
    from impactcut.workflow.takes.comparing import contact_sheet

    drawn = {} if folder is None else {f"beat_{file_name(beat.name)}.png": beat for beat in beats}
    places = [] if folder is None else [folder / name for name in drawn]
    check_places(places if csv_file is None else [csv_file, *places], force)
    refusals: list[Refusal] = []
    pictures: dict[str, bytes] = {}
    for name, beat in drawn.items():
        picture, left_out = contact_sheet(project, beat)
        refusals += left_out
        if picture is not None:
            pictures[name] = picture
    if csv_file is not None:
        content = {csv_file.name: render_compare_csv(beats).encode()}
        _tell_files(write_files(csv_file.parent, content, force))
    if folder is not None and pictures:
        _tell_files(write_files(folder, pictures, force))
    return tuple(refusals)


def _tell_files(files: tuple[Path, ...]) -> None:
    for path in files:
        click.echo(str(path), err=True)


def _show(found: Comparison, note: str, common: Common) -> None:
    from impactcut.cli.telling.tables import print_beats
    from impactcut.workflow.reports.report_views import comparison_dict

    if common.as_json:
        print_json(comparison_dict(common.project_path, found))
    elif found.beats:
        print_beats(found.beats)
        shared = sum(len(beat.ranked) > 1 for beat in found.beats)
        click.echo(
            f"{counted(len(found.beats), 'beat')}, {shared} of them in several takes or angles"
        )
        click.echo(note)
    if found.unplaced:
        complain(
            f"no section is known for {counted(len(found.unplaced), 'clip')} with hits, so they "
            "are compared with nothing; 'impactcut shots' shows and changes that"
        )
    elif not found.beats:
        complain("there is no hit to compare; 'impactcut hits' lists those there are")
