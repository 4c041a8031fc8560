"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from impactcut.cli.program import keep_debug

Command = TypeVar("Command", bound=Callable[..., Any])

PATH = click.Path(path_type=Path)


def stated_title(_: click.Context, __: click.Parameter, text: str | None) -> str | None:
    """A title that says something, or None where none is given; a click callback."""
    if text is not None and not text.strip():
        raise click.BadParameter("the title is empty; write one, or leave the option out")
    return text


def project_option(command: Command) -> Command:
    """``--project FILE``, passed on as ``project_path``."""
    return click.option(
        "--project",
        "project_path",
        type=click.Path(dir_okay=False, path_type=Path),
        envvar="IMPACTCUT_PROJECT",
        show_envvar=True,
        default=Path("impactcut.db"),
        show_default=True,
        metavar="FILE",
        help="The project file.",
    )(command)


def fov_option(command: Command) -> Command:
    """``--fov DEG``, passed on as ``fov``; None where it is not given."""
    return click.option(
        "--fov",
        type=click.FloatRange(0, 180, min_open=True, max_open=True),
        metavar="DEG",
        help="Horizontal angle that the picture fills for the viewer, in degrees.  [default: the "
        "one that 'scan' was last given, or 33]",
    )(command)


def taste_option(command: Command) -> Command:
    """``--taste``, passed on as ``taste``."""
    return click.option(
        "--taste",
        is_flag=True,
        help="Propose what gains and shows as the trims approved in this project do: "
        "'impactcut help teaching'.",
    )(command)


def jobs_option(command: Command) -> Command:
    """``--jobs N``, passed on as ``jobs``; None where it is not given."""
    return click.option(
        "--jobs",
        type=click.IntRange(min=1),
        metavar="N",
        help="Clips measured at once, each by a process.  [default: one for each processor, "
        "at most 4]",
    )(command)


def patience_option(command: Command) -> Command:
    """``--patience SECONDS``, passed on as ``patience``; None where it is not given."""
    return click.option(
        "--patience",
        type=click.FloatRange(min=0, min_open=True),
        metavar="SECONDS",
        help="Give a clip up when none of its frames is measured for so long.  [default: 120]",
    )(command)


def quiet_option(command: Command) -> Command:
    """``--quiet``, passed on as ``quiet``."""
    return click.option("--quiet", is_flag=True, help="No progress; errors are still shown.")(
        command
    )


def debug_option(command: Command) -> Command:
    """``--debug``, which is not passed on."""
    return click.option(
        "--debug",
        is_flag=True,
        is_eager=True,
        expose_value=False,
        callback=keep_debug,
        help="Show where in the program an error arose.",
    )(command)


def json_option(command: Command) -> Command:
    """``--json``, passed on as ``as_json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON instead of a table.")(
        command
    )
