"""`impactcut decide`."""

from __future__ import annotations

import getpass
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options import debug_option, fov_option, hit_number, project_option
from impactcut.cli.program import (
    NOTHING_DONE,
    SOME_REFUSED,
    complain,
    examples,
    printable,
    show_trace,
)
from impactcut.errors import TrimError, UnknownHitError

if TYPE_CHECKING:
    from impactcut.core.time.frames import FrameRange
    from impactcut.core.viewer.viewing import Viewing
    from impactcut.project import Project
    from impactcut.workflow.hits.deciding import Signature
    from impactcut.workflow.hits.entries import HitEntry

    Act = Callable[[Project, Viewing, int, Signature], HitEntry]


@click.command(
    epilog=examples(
        "impactcut decide 1 2 --approve --who Anna",
        'impactcut decide 3 --decline --note "too small"',
        "impactcut decide 3 --clear",
    )
)
@click.argument("hits", nargs=-1, metavar="HIT...", type=hit_number)
@click.option("--approve", is_flag=True, help="Take the frames out.")
@click.option("--decline", is_flag=True, help="Leave the hit as it was shot.")
@click.option("--later", is_flag=True, help="Leave it open for now.")
@click.option("--clear", is_flag=True, help="Take back what was decided.")
@click.option("--first", type=click.IntRange(min=0), metavar="F", help="First frame to take out.")
@click.option("--count", type=click.IntRange(1, 3), metavar="N", help="How many frames, 1 to 3.")
@click.option("--note", metavar="TEXT", help="A note for everybody; an empty one takes it away.")
@click.option(
    "--who",
    metavar="NAME",
    envvar="IMPACTCUT_WHO",
    show_envvar=True,
    help="Who decides.  [default: your login name]",
)
@click.option(
    "--answers",
    "file",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Take in the answers that a page gave back, with their own names and times.",
)
@fov_option
@project_option
@debug_option
@click.pass_context
def decide(
    ctx: click.Context,
    hits: tuple[int, ...],
    approve: bool,
    decline: bool,
    later: bool,
    clear: bool,
    first: int | None,
    count: int | None,
    note: str | None,
    who: str | None,
    file: Path | None,
    fov: float,
    project_path: Path,
) -> None:
    """Approve or decline trims, or add a note.

    HIT is a number from 'impactcut hits'; several may be given. --approve alone takes the proposed
    trim, with --count the best trim of so many frames, and with --first too those frames of the
    clip; 'impactcut trims HIT' lists what there is. A note on its own leaves the answer as it is;
    an undecided hit is then put off for later. Every decision is kept with its time and its maker;
    the latest counts.

    A file from 'impactcut page' is taken in with --answers alone. An answer in it that is older
    than what was decided here meanwhile gives way to it, and is named.
    """
    from impactcut.cli.answers import take_in
    from impactcut.core.viewer.viewing import Viewing
    from impactcut.project import Project
    from impactcut.workflow.hits.deciding import Signature

    if file is not None:
        if hits or any((approve, decline, later, clear)) or (first, count, note) != (None,) * 3:
            raise click.UsageError("--answers goes without anything else to decide")
        take_in(ctx, file, project_path, Viewing(fov))
        return
    if not hits:
        raise click.UsageError("name a HIT, or a file with --answers")
    asked = {"approve": approve, "decline": decline, "later": later, "clear": clear}
    answer = _answer([name for name, given in asked.items() if given], note)
    act = _act(answer, _choice(answer, len(hits), first, count))
    signed = Signature(_login_name() if who is None else who, note)
    with Project(project_path) as project:
        done = [_carry_out(ctx, act, project, Viewing(fov), hit, signed) for hit in hits]
    if not all(done):
        ctx.exit(SOME_REFUSED if any(done) else NOTHING_DONE)


def _answer(given: list[str], note: str | None) -> str:
    if len(given) > 1:
        raise click.UsageError(f"choose one of --{' and --'.join(given)}")
    if not given and note is None:
        raise click.UsageError("say --approve, --decline, --later, --clear or --note TEXT")
    return given[0] if given else "note"


def _choice(
    answer: str, hits: int, first: int | None, count: int | None
) -> FrameRange | int | None:
    from impactcut.core.time.frames import FrameRange

    if count is None:
        if first is not None:
            raise click.UsageError("--first needs --count")
        return None
    if answer != "approve":
        raise click.UsageError("--first and --count go with --approve")
    if first is None:
        return count
    if hits > 1:
        raise click.UsageError("--first names frames of one clip: name one hit")
    return FrameRange(first, first + count)


def _act(answer: str, choice: FrameRange | int | None) -> Act:
    from impactcut.workflow.hits import deciding

    acts: dict[str, Act] = {
        "approve": partial(deciding.approve, choice=choice),
        "decline": deciding.decline,
        "later": deciding.put_off,
        "clear": deciding.clear,
        "note": deciding.add_note,
    }
    return acts[answer]


def _carry_out(
    ctx: click.Context,
    act: Act,
    project: Project,
    viewing: Viewing,
    hit: int,
    signed: Signature,
) -> bool:
    from impactcut.cli.tables import named_decision

    try:
        entry = act(project, viewing, hit, signed)
    except (TrimError, UnknownHitError) as error:
        complain(str(error))
        show_trace(ctx, error)
        return False
    said = named_decision(entry.decision) or "undecided"
    click.echo(f"hit {entry.id} in {printable(entry.clip.name)}: {said}")
    return True


def _login_name() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""
