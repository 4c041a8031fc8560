"""`impactcut decide --answers`: taking in what a page gave back, and saying what came of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.program import complain, outcome, printable

if TYPE_CHECKING:
    from impactcut.cli.options.common import Common
    from impactcut.core.trims.decision import Decision
    from impactcut.project import Clearing
    from impactcut.workflow.hits.page_answers import GivenAnswer, Taken
    from impactcut.workflow.scan.taps import TakenTap


def take_in(file: Path, common: Common) -> int:
    """Take in a file of answers; each is told on a line, and what was left out on an error line.

    Answers in which no name stands are those of whoever takes them in. What one person answered is
    one act. Returns an exit code.
    """
    from impactcut.workflow.hits.answers_file import load_answers
    from impactcut.workflow.hits.names import names_of
    from impactcut.workflow.hits.page_answers import take_answer
    from impactcut.workflow.scan.taps import take_tap

    given = load_answers(file)
    answers, taps = given.answers, given.taps
    signed = [*(each.who for each in answers), *(each.who for each in taps)]
    if not all(each.strip() for each in signed):
        name = common.signer()
        answers = tuple(replace(each, who=each.who.strip() or name) for each in answers)
        taps = tuple(replace(each, who=each.who.strip() or name) for each in taps)
    with common.project() as project, project.one_act():
        taken = [take_answer(project, answer, "file") for answer in answers]
        called = names_of(project, (each.hit or each.given.key.hit for each in taken))
        tapped = [take_tap(project, tap, "file") for tap in taps]
    if not taken and not tapped:
        click.echo(f"{file}: holds no answer")
    for each, name in zip(taken, called, strict=True):
        _tell(each, name)
    for tap in tapped:
        _tell_tap(tap)
    left_out = sum(each.fate in ("older", "refused") for each in taken)
    left_out += sum(each.entry is None for each in tapped)
    return outcome(not left_out or left_out < len(taken) + len(tapped), left_out)


def _tell_tap(tap: TakenTap) -> None:
    given, entry = tap.given, tap.entry
    if entry is None:
        complain(f"left out a tap at frame {given.frame} of {printable(given.clip)}: {tap.reason}")
        return
    click.echo(
        f"hit {entry.called} in {printable(given.clip)}: by hand, contact frame "
        f"{entry.impact.contact} ({tap.reason}), by {printable(given.who)}"
    )


def _tell(taken: Taken, called: str) -> None:
    from impactcut.cli.telling.tables import named_said

    given = taken.given
    name = f"hit {called} in {printable(given.key.clip)}"
    said = named_said(given.said)
    unseen = (
        "" if taken.unseen is None else f"{named_said(taken.unseen)} by {_signed(taken.unseen)}"
    )
    if taken.fate == "refused":
        complain(f"left out {name}: {said}: {taken.reason}")
    elif taken.fate == "older":
        complain(
            f"left out {name}: {said} by {_signed(given)} is older than what stands: {unseen}; "
            f"'impactcut decide {called}' changes it"
        )
    else:
        already = ", as it was already" if taken.fate == "repeated" else ""
        replaced = f", in place of {unseen}, made after the page" if unseen else ""
        click.echo(f"{name}: {said}{already}{printable(replaced)}")


def _signed(said: GivenAnswer | Decision | Clearing) -> str:
    from impactcut.workflow.clock import as_read

    return printable(f"{said.who or 'somebody'}, {as_read(said.when) or 'no time known'}")
