"""`impactcut decide --answers`: taking in what a page gave back, and saying what came of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.program import NOTHING_DONE, SOME_REFUSED, complain, printable

if TYPE_CHECKING:
    from impactcut.core.trims.decisions import Decision
    from impactcut.core.viewer.viewing import Viewing
    from impactcut.project import Clearing
    from impactcut.workflow.hits.answers import GivenAnswer, Taken


def take_in(ctx: click.Context, file: Path, project_path: Path, viewing: Viewing) -> None:
    """Take in a file of answers; each is told on a line, and what was left out on an error line."""
    from impactcut.project import Project
    from impactcut.workflow.hits.answers import take_answer
    from impactcut.workflow.hits.answers_file import load_answers

    read = load_answers(file)
    with Project(project_path) as project:
        taken = [take_answer(project, viewing, answer) for answer in read.answers]
    if not taken:
        click.echo(f"{file}: holds no answer")
    for each in taken:
        _tell(each)
    left_out = [each for each in taken if each.fate in ("older", "refused")]
    if left_out:
        ctx.exit(NOTHING_DONE if len(left_out) == len(taken) else SOME_REFUSED)


def _tell(taken: Taken) -> None:
    from impactcut.cli.tables import named_said

    given = taken.given
    name = f"hit {taken.hit or given.key.hit} in {printable(given.key.clip)}"
    said = named_said(given.said)
    unseen = (
        "" if taken.unseen is None else f"{named_said(taken.unseen)} by {_signed(taken.unseen)}"
    )
    if taken.fate == "refused":
        complain(f"left out {name}: {said}: {taken.reason}")
    elif taken.fate == "older":
        complain(
            f"left out {name}: {said} by {_signed(given)} is older than what stands: {unseen}; "
            f"'impactcut decide {taken.hit}' changes it"
        )
    else:
        already = ", as it was already" if taken.fate == "repeated" else ""
        replaced = f", in place of {unseen}, made after the page" if unseen else ""
        click.echo(f"{name}: {said}{already}{printable(replaced)}")


def _signed(said: GivenAnswer | Decision | Clearing) -> str:
    return printable(f"{said.who or 'somebody'}, {said.when or 'no time known'}")
