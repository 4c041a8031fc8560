"""`impactcut status`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import Common, command
from impactcut.cli.program import printable
from impactcut.cli.telling.bar import propose_missing
from impactcut.cli.telling.json_text import print_json
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.workflow.files.files_since import Oddity
    from impactcut.workflow.reports.status import Orphan, Status

_MOST_NAMES = 5


@command("impactcut status", "impactcut status --json", takes="json project")
def status(common: Common) -> None:
    """Say what the project holds, what failed and why.

    The place to look when something is odd: files that failed or are gone, decisions whose hit or
    frames are no more, warnings about clips, clips without hits or names, hits that read weak, late
    or early, each with what to do about it.
    """
    from impactcut.workflow.reports.report_views import status_dict
    from impactcut.workflow.reports.status import project_status

    with common.project(reading=True) as project:
        propose_missing(project)
        held = project_status(project)
    if common.as_json:
        print_json(status_dict(common.project_path, held))
    else:
        _show(held, common.project_path)


def _show(held: Status, project_path: Path) -> None:
    from impactcut.core.learn.correction import check_note
    from impactcut.core.learn.taste import taste_note
    from impactcut.core.viewer.calibration import calibration_note
    from impactcut.workflow.files.refusals import MOST_TRIES, failure_of

    out = f" ({held.dropped} taken out)" if held.dropped else ""
    click.echo(
        f"{project_path}: {counted(held.clips, 'clip')} measured{out}, {counted(held.hits, 'hit')}"
    )
    click.echo(_answers(held))
    click.echo(calibration_note(held.calibration))
    if held.lesson is not None:
        click.echo(check_note(held.lesson.check))
        if not held.fits:
            click.echo("That was for other weights and is not in use; 'impactcut learn' does again")
    if held.taste is not None:
        rule, own = held.taste.alike
        click.echo(
            f"With --taste: {taste_note(held.taste)}. Of those, the rule proposes {rule}, "
            f"and the taste of the others {own}."
        )
    for clip in held.failed:
        why = failure_of(clip)
        tries = f" ({clip.tries} tries)" if 1 < clip.tries < MOST_TRIES else ""
        click.echo(printable(f"failed{tries}: {why.name}: {why.error}; {why.remedy}"))
    for orphan in held.orphans:
        click.echo(printable(_orphan(orphan)))
    for oddity in held.odd:
        click.echo(printable(_odd(oddity)))
    if not (held.failed or held.orphans or held.odd):
        click.echo("nothing odd" if held.clips else "'impactcut scan FOLDER' takes clips in")


def _odd(oddity: Oddity) -> str:
    """What is odd, how often, the first few, and what to do."""
    number = len(oddity.names)
    some = ", ".join(oddity.names[:_MOST_NAMES])
    more = f" and {number - _MOST_NAMES} more" if number > _MOST_NAMES else ""
    remedy = f"; {oddity.remedy}" if oddity.remedy else ""
    return f"{number} {oddity.what}: {some}{more}{remedy}"


def _answers(held: Status) -> str:
    approved, declined = held.answers["approved"], held.answers["declined"]
    undecided = held.hits - approved - declined
    later = f", {held.answers['later']} put off" if held.answers["later"] else ""
    none = held.answers["not-a-hit"]
    wrong = f"; {counted(none, 'find')} said to be no hit" if none else ""
    return f"{approved} approved, {declined} as shot, {undecided} undecided{later}{wrong}"


def _orphan(orphan: Orphan) -> str:
    from impactcut.cli.telling.tables import named_said, placed
    from impactcut.workflow.clock import as_read

    entry = orphan.entry
    place = f"contact {placed(orphan.clip, entry.contact)}"
    parts = (entry.said.who, as_read(entry.said.when), entry.said.note)
    said = ", ".join(part for part in parts if part)
    return (
        f"decision without its hit: {orphan.clip.name}, {place}: {named_said(entry.said)}"
        f"{f' ({said})' if said else ''}; the latest scan finds no hit there"
    )
