"""Options that choose clips and hits, shared by the commands that list, show or hand on some."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from impactcut.cli.completion import names_of
from impactcut.cli.program import complain
from impactcut.core.detect.confidence import SURE

if TYPE_CHECKING:
    from impactcut.project import Project
    from impactcut.workflow.hits.choosing import HitFilter

_CLIPS = (
    *(
        click.option(f"--{kind}", metavar="NAME", help=about, shell_complete=names_of(kind))
        for kind, about in (
            ("section", "Only clips of this section of the fight."),
            ("take", "Only clips of this take."),
            ("angle", "Only clips from this angle."),
        )
    ),
    click.option("--circled", is_flag=True, help="Only takes marked as ones to use."),
)
_HITS = (
    click.option(
        "--flagged",
        is_flag=True,
        help="Only hits without a trim, or with one that may show, or is hard to believe.",
    ),
    click.option("--weak", is_flag=True, help="Only hits that read slow for this fight."),
    click.option("--late", is_flag=True, help="Only hits whose receiver reacts late."),
    click.option("--early", is_flag=True, help="Only hits whose receiver moves before contact."),
    click.option(
        "--undecided", is_flag=True, help="Only hits of which it is still to be said what becomes."
    ),
    click.option(
        "--confidence",
        type=click.FloatRange(0, 1),
        default=SURE,
        show_default=True,
        metavar="C",
        help="Finds from this confidence on. On real people that it had never seen, the default "
        "found four of five acted blows, and 1.9 finds a minute where nobody strikes; 0.6 is "
        "strict (seven of ten; 0.7 a minute), 0.25 generous (five of six; 3.9).",
    ),
)

Command = Callable[..., Any]


def check_filter(project: Project, wanted: HitFilter) -> tuple[Path, ...]:
    """The paths that match no clip, each named on an error line.

    Raises
    ------
    ProjectError
        If no clip is measured yet, or none is of the section, take or angle asked for.
    """
    from impactcut.workflow.hits.choosing import check_measured, check_names, unmatched_paths

    check_measured(project)
    check_names(project, wanted)
    missing = unmatched_paths(project, wanted.paths)
    for path in missing:
        complain(f"{path}: no measured clip of the project; 'impactcut scan' takes it in")
    return missing


def hit_filter_options(command: Command) -> Command:
    """Options that choose clips and hits, passed on with ``paths`` as ``wanted``, a `HitFilter`."""

    @wraps(command)
    def filtered(
        *arguments: Any,
        wanted: HitFilter,
        flagged: bool,
        weak: bool,
        late: bool,
        early: bool,
        undecided: bool,
        confidence: float,
        **others: Any,
    ) -> Any:
        chosen = replace(
            wanted,
            flagged=flagged,
            weak=weak,
            late=late,
            early=early,
            undecided=undecided,
            confidence=confidence,
        )
        return command(*arguments, wanted=chosen, **others)

    return clip_filter_options(_with(filtered, _HITS))


def clip_filter_options(command: Command) -> Command:
    """Options that choose clips, passed on with ``paths`` as ``wanted``, a `HitFilter`."""

    @wraps(command)
    def filtered(
        *arguments: Any,
        section: str | None,
        take: str | None,
        angle: str | None,
        circled: bool,
        paths: tuple[Path, ...] = (),
        **others: Any,
    ) -> Any:
        from impactcut.workflow.hits.choosing import HitFilter

        return command(*arguments, wanted=HitFilter(paths, section, take, angle, circled), **others)

    return _with(filtered, _CLIPS)


def _with(command: Command, options: tuple[Callable[[Command], Command], ...]) -> Command:
    for option in reversed(options):
        command = option(command)
    return command
