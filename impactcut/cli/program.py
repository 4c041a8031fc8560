"""The command group: turns every error into a line of text and an exit code."""

from __future__ import annotations

import traceback
from typing import TYPE_CHECKING, Any

import click

from impactcut.errors import ImpactcutError

if TYPE_CHECKING:
    from impactcut.workflow.files.refusals import Refusal

SOME_REFUSED = 1
NOTHING_DONE = 2
INTERRUPTED = 130
_DEBUG = "impactcut.debug"


class Program(click.Group):
    """A group of commands that never shows a traceback unasked."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; what goes wrong is said in a line on standard error."""
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.Abort, click.exceptions.Exit, BrokenPipeError):
            raise
        except KeyboardInterrupt:
            complain("stopped; what was done before is kept")
            ctx.exit(INTERRUPTED)
        except ImpactcutError as error:
            complain(str(error))
            show_trace(error)
            ctx.exit(NOTHING_DONE)
        except Exception as error:
            complain(
                f"a fault of this program, not of yours ({type(error).__name__}: {error}); "
                "run the same command with --debug and report what it says"
            )
            show_trace(error)
            ctx.exit(NOTHING_DONE)


def complain(text: str) -> None:
    """A line on standard error in the program's name."""
    click.echo(f"impactcut: {printable(text)}", err=True)


def tell_refusals(refusals: tuple[Refusal, ...]) -> None:
    """Name what was left out, why, and what to do."""
    for refusal in refusals:
        remedy = f"; {refusal.remedy}" if refusal.remedy else ""
        complain(f"left out {refusal.name}: {refusal.error}{remedy}")


def printable(text: str) -> str:
    """Text in which nothing can steer a terminal: control characters are spelled out."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def keep_debug(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    """Remember that tracebacks are wanted."""
    if wanted:
        ctx.meta[_DEBUG] = True


def complain_of(error: BaseException | None) -> None:
    """What went wrong with one of several things, on standard error."""
    assert error is not None
    complain(str(error))
    show_trace(error)


def show_trace(error: BaseException) -> None:
    """The traceback of an error on standard error, where it is wanted."""
    if click.get_current_context().meta.get(_DEBUG):
        click.echo("".join(traceback.format_exception(error)), err=True, nl=False)


def outcome(done: object, left_out: object) -> int:
    """The exit code: whether anything was done, and whether anything was left out."""
    return NOTHING_DONE if not done else SOME_REFUSED if left_out else 0
