"""`impactcut status`, `impactcut history` and `impactcut undo`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.bar import propose_missing
from impactcut.cli.completion import hit_names
from impactcut.cli.json_text import print_json
from impactcut.cli.options import debug_option, json_option, project_option
from impactcut.cli.program import NOTHING_DONE, complain, examples, printable
from impactcut.cli.signing import signer, who_option
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.cli.layout import Column
    from impactcut.workflow.files.files_since import Oddity
    from impactcut.workflow.hits.history import Line
    from impactcut.workflow.reports.status import Orphan, Status


_COLUMNS: tuple[Column, ...] = (
    ("Act", "right", False),
    ("When", "left", False),
    ("Who", "left", True),
    ("From", "left", True),
    ("Hit", "left", False),
    ("Clip", "left", True),
    ("Said", "left", True),
    ("", "left", True),
)

_MOST_NAMES = 5


@click.command(
    epilog=examples(
        "impactcut status",
        "impactcut status --json",
    )
)
@json_option
@project_option
@debug_option
def status(as_json: bool, project_path: Path) -> None:
    """Say what the project holds, what failed and why.

    The place to look when something is odd: files that failed or are gone, decisions whose hit or
    frames are no more, warnings about clips, clips without hits or names, hits that read weak, late
    or early, each with what to do about it.
    """
    from impactcut.project import Project
    from impactcut.workflow.reports.report_views import status_dict
    from impactcut.workflow.reports.status import project_status

    with Project(project_path, reading=True) as project:
        propose_missing(project)
        held = project_status(project)
    if as_json:
        print_json(status_dict(project_path, held))
    else:
        _show(held, project_path)


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
    from impactcut.cli.tables import named_said
    from impactcut.workflow.hits.entries import source_timecode

    entry = orphan.entry
    label = source_timecode(orphan.clip, entry.contact)
    place = f"contact frame {entry.contact}" + (f" ({label})" if label else "")
    said = ", ".join(part for part in (entry.said.who, entry.said.when, entry.said.note) if part)
    return (
        f"decision without its hit: {orphan.clip.name}, {place}: {named_said(entry.said)}"
        f"{f' ({said})' if said else ''}; the latest scan finds no hit there"
    )


@click.command(
    epilog=examples("impactcut history", "impactcut history 1", "impactcut history --json")
)
@click.argument("hit", required=False, metavar="[HIT]", shell_complete=hit_names)
@json_option
@project_option
@debug_option
def history(hit: str | None, as_json: bool, project_path: Path) -> None:
    """List every answer: who, when, what, and from where.

    The oldest comes first. What was done in one go has one number under Act, and 'impactcut undo'
    takes it back as a whole; that, too, is listed, and nothing is ever lost.
    """
    from impactcut.cli.layout import print_table
    from impactcut.project import Project
    from impactcut.workflow.hits.history import history as history_of
    from impactcut.workflow.hits.names import Names
    from impactcut.workflow.reports.report_views import history_dict

    with Project(project_path, reading=True) as project:
        lines = history_of(project, None if hit is None else Names(project).one(hit))
    if as_json:
        print_json(history_dict(project_path, lines))
    elif lines:
        print_table(_COLUMNS, [_row(line) for line in lines])
    else:
        click.echo("nothing has been decided yet")


@click.command(epilog=examples("impactcut undo"))
@who_option
@project_option
@debug_option
@click.pass_context
def undo(ctx: click.Context, who: str | None, project_path: Path) -> None:
    """Take back the last thing that was done, whole.

    Many hits decided at once are one thing. Said again, it takes back what was done before that,
    and so on. 'impactcut history' keeps all of it.
    """
    from impactcut.project import Actor, Project
    from impactcut.workflow.hits import history
    from impactcut.workflow.hits.deciding import now

    name = signer(who)
    with Project(project_path) as project:
        lines = history.undo(project, Actor(name, now()))
    for line in lines:
        place = " in ".join(part for part in (_hit(line), _clip(line)) if part)
        click.echo(printable(f"{place}: {line.words}"))
    if not lines:
        complain("nothing is left to take back; 'impactcut history' shows what was done")
        ctx.exit(NOTHING_DONE)


def _row(line: Line) -> list[str]:
    from impactcut.workflow.hits.history import PLACES

    act = line.act
    return [
        str(act.id),
        line.when.replace("T", " ").removesuffix("Z"),
        line.who or "somebody",
        PLACES[act.by.source],
        _hit(line).removeprefix("hit "),
        _clip(line),
        line.words,
        "taken back" if act.undone else f"takes back {act.undoes}" if act.undoes else "",
    ]


def _hit(line: Line) -> str:
    if line.contact is None:
        return ""
    return f"frame {line.contact}" if line.hit is None else f"hit {line.name}"


def _clip(line: Line) -> str:
    return "a clip that is no more" if line.clip is None else line.clip.name
