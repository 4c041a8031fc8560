"""`impactcut learn`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import Common, command
from impactcut.cli.program import complain, outcome
from impactcut.cli.telling.json_text import print_json
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.workflow.scan.learning import Learnt


@command("impactcut learn", "impactcut learn --forget", takes="json project")
@click.option("--forget", is_flag=True, help="Go back to the finder as it shipped.")
def learn(forget: bool, common: Common) -> int:
    """Teach the finder by this project's answers.

    The finder's last layer is refitted a little on what was approved, left as shot, added by hand
    and said to be no hit, ten answers at least; in clips in which every listed hit was answered,
    all that was passed over counts as no hit. Nothing is decoded. It is checked on clips left out,
    and used only where it helps there. From then on, finds are judged by it, here and in every
    scan of this project; answers, names and contacts stay.
    """
    from impactcut.workflow.hits.views import form_head
    from impactcut.workflow.reports.report_views import lesson_dict
    from impactcut.workflow.scan import learning

    with common.project() as project:
        if forget:
            listed, unlisted = learning.forget(project)
            click.echo(f"forgotten; {_listed(listed, unlisted)}")
            return 0
        learnt = learning.learn(project)
    if common.as_json:
        print_json(
            {
                **form_head(common.project_path),
                **lesson_dict(learnt.lesson),
                "in_use": learnt.used,
                "listed": learnt.listed,
                "unlisted": learnt.unlisted,
            }
        )
    else:
        _tell(learnt)
    return outcome(learnt.used, False)


def _tell(learnt: Learnt) -> None:
    from impactcut.core.learn.correction import check_note

    check = learnt.lesson.check
    click.echo(check_note(check))
    if not learnt.used:
        complain(
            "not used: on answers left out it is no surer help than chance; more answers, in more "
            "clips, may change that"
        )
        return
    click.echo(
        f"in use; {_listed(learnt.listed, learnt.unlisted)}. 'impactcut scan --again' also finds "
        "what was too faint to be kept; 'impactcut learn --forget' takes it back"
    )


def _listed(listed: int, unlisted: int) -> str:
    return f"{counted(listed, 'find')} more listed, {unlisted} fewer, of those nobody answered"
