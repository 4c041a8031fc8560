"""`impactcut history` and `impactcut undo`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import Common, command
from impactcut.cli.options.completion import hit_names
from impactcut.cli.program import complain, outcome, printable
from impactcut.cli.telling.json_text import print_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from impactcut.workflow.hits.undo_history import Line


@command(
    "impactcut history", "impactcut history 1", "impactcut history --json", takes="json project"
)
@click.argument("hit", required=False, metavar="[HIT]", shell_complete=hit_names)
def history(hit: str | None, common: Common) -> None:
    """List every answer: who, when, what, and from where.

    The oldest comes first. What was done in one go has one number under Act, and 'impactcut undo'
    takes it back as a whole; that, too, is listed, and nothing is ever lost.
    """
    from impactcut.workflow.hits.names import Names
    from impactcut.workflow.hits.undo_history import history as history_of
    from impactcut.workflow.reports.report_views import history_dict

    with common.project(reading=True) as project:
        lines = history_of(project, None if hit is None else Names(project).one(hit))
    if common.as_json:
        print_json(history_dict(common.project_path, lines))
    elif lines:
        _print(lines)
    else:
        click.echo("nothing has been decided yet")


@command("impactcut undo", takes="who project")
def undo(common: Common) -> int:
    """Take back the last thing in the history, whole.

    Many hits decided at once are one thing. Said again, it takes back what was done before that,
    and so on. 'impactcut history' keeps all of it. What 'shots' and 'mark' state is not in it:
    state it again.
    """
    from impactcut.workflow.hits.undo_history import undo as undo_last

    by = common.actor()
    with common.project() as project:
        lines = undo_last(project, by)
    for line in lines:
        place = " in ".join(part for part in (_hit(line), _clip(line)) if part)
        click.echo(printable(f"{place}: {line.words}"))
    if not lines:
        complain("nothing is left to take back; 'impactcut history' shows what was done")
    return outcome(lines, False)


def _print(lines: Sequence[Line]) -> None:
    from impactcut.cli.telling.layout import Column, column_of_times, print_table
    from impactcut.workflow.hits.undo_history import PLACES

    columns: tuple[Column[Line], ...] = (
        Column("Act", lambda line: str(line.act.id), "right"),
        column_of_times(lambda line: line.when),
        Column("Who", lambda line: line.who or "somebody", breaks=True),
        Column("From", lambda line: PLACES[line.act.by.source], breaks=True),
        Column("Hit", lambda line: _hit(line).removeprefix("hit ")),
        Column("Clip", _clip, breaks=True),
        Column("Said", lambda line: line.words, breaks=True),
        Column("", _undone, breaks=True),
    )
    print_table(columns, lines)


def _undone(line: Line) -> str:
    if line.act.undone:
        return "taken back"
    return f"takes back {line.act.undoes}" if line.act.undoes else ""


def _hit(line: Line) -> str:
    if line.contact is None:
        return ""
    return f"frame {line.contact}" if line.hit is None else f"hit {line.name}"


def _clip(line: Line) -> str:
    return "a clip that is no more" if line.clip is None else line.clip.name
