"""`impactcut hits`."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import HITS, PATH, Common, check_filter, command
from impactcut.cli.program import outcome
from impactcut.cli.telling.bar import propose_missing
from impactcut.cli.telling.json_text import print_json
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.core.fight.entries import ClipEntry
    from impactcut.workflow.hits.hit_filter import HitFilter


@contextmanager
def _keeping_everything() -> Iterator[None]:
    """Nobody looks for garbage: what thousands of hits are made of lives until it is printed."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


@command(
    "impactcut hits",
    "impactcut hits --section 2 --undecided",
    "impactcut hits selects --weak --json",
    takes=f"{HITS} json taste fov project",
)
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=PATH)
@click.option("--all", "everything", is_flag=True, help="Every find, hit or not.")
@_keeping_everything()
def hits(wanted: HitFilter, common: Common) -> int:
    """List hits and the trims proposed.

    PATH is a clip, its file name, or a folder of clips; without one, every clip is listed.
    Contact is source timecode; Frame counts from 0 at the clip's first. Conf. is the chance that
    it is a hit, or who says so by hand, Speed that of the strike in picture widths a second, "weak"
    where it reads slow for this fight, and Lag the frames until the receiver reacts, "late" past
    100 ms and "early" before the contact. "2 from 237" takes out frames 237 and 238; Gain is how
    much faster the hit will look then, and "Shows" who would see the splice: with the trim that is
    approved, else with the one proposed.
    """
    from impactcut.core.fight.entries import judging_note
    from impactcut.workflow.hits.listing import count_unsure, list_chosen
    from impactcut.workflow.hits.tasting import taste_asked_for

    as_json = common.as_json
    with common.project(reading=True) as project:
        wanted, missing = check_filter(project, wanted)
        propose_missing(project, wanted)
        entries = list_chosen(project, wanted)
        whole = not (as_json or wanted.everything or wanted.by_hit)
        unsure = count_unsure(project, wanted) if whole else 0
        judge, calibration = project.judge(), project.calibration()
        taken = taste_asked_for(project)
        trims = dict(project.published_trims()) if as_json else {}
    if as_json:
        from impactcut.workflow.hits.views import project_dict

        found = project_dict(common.project_path, entries, judge, calibration, taken, trims)
        print_json(found)
    else:
        _show(entries, unsure, judging_note(calibration, taken))
    return outcome(not missing or len(missing) < len(wanted.paths), missing)


def _show(entries: tuple[ClipEntry, ...], unsure: int, note: str) -> None:
    from impactcut.cli.telling.tables import print_hits
    from impactcut.core.detect.confidence import UNSURE

    number = sum(len(entry.hits) for entry in entries)
    if number:
        print_hits(entries)
    click.echo(f"{counted(number, 'hit')} in {counted(len(entries), 'clip')}")
    if unsure:
        click.echo(f"{unsure} more that may be hits: --confidence {UNSURE} lists them too")
    if number:
        click.echo(note)
