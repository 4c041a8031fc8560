"""`impactcut history` and `impactcut undo`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.json_text import print_json
from impactcut.cli.options import debug_option, json_option, project_option
from impactcut.cli.program import NOTHING_DONE, complain, examples, printable
from impactcut.cli.signing import signer, who_option

if TYPE_CHECKING:
    from impactcut.cli.layout import Column
    from impactcut.workflow.hits.history import Line

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


@click.command(
    epilog=examples("impactcut history", "impactcut history 1", "impactcut history --json")
)
@click.argument("hit", required=False, metavar="[HIT]")
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

    with Project(project_path) as project:
        lines = history_of(project, None if hit is None else Names(project).one(hit))
    if as_json:
        print_json(history_dict(project_path, lines))
    elif lines:
        print_table(_COLUMNS, [_row(line) for line in lines])
    else:
        click.echo("nothing was said yet")


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
        click.echo(printable(f"{_hit(line)} in {_clip(line)}: {line.words}"))
    if not lines:
        complain("there is nothing left to take back; 'impactcut history' shows what was done")
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
    return f"frame {line.contact}" if line.hit is None else f"hit {line.name}"


def _clip(line: Line) -> str:
    return "a clip that is no more" if line.clip is None else line.clip.name
