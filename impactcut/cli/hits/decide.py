"""`impactcut decide`."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from impactcut.cli.hits.answers import take_in
from impactcut.cli.options.common import CLIPS, FILE, Common, command
from impactcut.cli.options.completion import hit_names
from impactcut.cli.options.signing import can_ask
from impactcut.cli.program import complain_of, outcome, printable
from impactcut.core.words import counted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from impactcut.core.time.frames import FrameRange
    from impactcut.project import Project
    from impactcut.workflow.hits.answering_many import Asked, Batch, Shown
    from impactcut.workflow.hits.deciding import Decided, Wish
    from impactcut.workflow.hits.hit_filter import HitFilter
    from impactcut.workflow.hits.page_answers import Given

_ANSWERS: Final[Mapping[str, Given]] = {
    "--approve": "approved", "--as-shot": "declined", "--later": "later",
    "--not-a-hit": "not-a-hit", "--clear": "cleared",
}  # fmt: skip
_SHOWS: Final = ("nobody", "frame-by-frame", "attentive", "everybody")


@command(
    "impactcut decide S1T1A.1 S1T2A.1 --approve --who Anna",
    'impactcut decide S2T1A --as-shot --note "too small" --yes',
    "impactcut decide 3 --not-a-hit",
    "impactcut decide 3 --clear",
    takes=f"first count {CLIPS} who taste fov project",
)
@click.argument("hits", nargs=-1, metavar="[HIT]...", shell_complete=hit_names)
@click.option("--approve", is_flag=True, help="Take the frames out.")
@click.option("--as-shot", "--decline", is_flag=True, help="It is a hit, and nothing is taken out.")
@click.option("--later", is_flag=True, help="Leave it undecided, and its frames in, for now.")
@click.option("--not-a-hit", is_flag=True, help="The finder was wrong: stop listing it.")
@click.option("--clear", is_flag=True, help="Take back what was decided.")
@click.option("--note", metavar="TEXT", help="A note for everybody; an empty one takes it away.")
@click.option("--shows", type=click.Choice(_SHOWS), help="Only hits whose splice shows so far.")
@click.option(
    "--gain", type=float, metavar="G", help="Only hits that will look G times as fast or more."
)
@click.option(
    "--yes", is_flag=True, help="Ask nothing, and accept finds too doubtful to be listed, too."
)
@click.option(
    "--answers",
    "file",
    type=FILE,
    metavar="FILE",
    help="Take in the answers that a page gave back, with their own names and times.",
)
def decide(
    hits: tuple[str, ...],
    approve: bool,
    as_shot: bool,
    later: bool,
    not_a_hit: bool,
    clear: bool,
    note: str | None,
    wanted: HitFilter,
    shows: Shown | None,
    gain: float | None,
    yes: bool,
    file: Path | None,
    common: Common,
) -> int:
    """Approve trims, leave hits as shot, or say what is no hit.

    HIT is a name from 'impactcut hits', S2T1A.3; a range, S2T1A.1-4; or a clip, S2T1A, for all of
    its hits. Without HIT, all hits that pass --section, --shows and so on are meant. You are told
    how many there are, and asked, before anything is done; hits that were answered before are left
    as they are, unless they are named themselves or in a range. --approve alone takes the proposed
    trim, with --count the best trim of so many frames, and with --first as well those frames of the
    clip; 'impactcut trims HIT' lists what there is. --as-shot leaves a hit in every list, and all
    of its frames in; --not-a-hit takes it out of all of them except 'impactcut hits --all'. What
    is put off with --later is never taken by --proposed. A note on its own changes neither the
    answer nor whose it is. Every decision is kept with its time and its maker; the latest counts.

    A file from 'impactcut page' is taken in with --answers alone. An answer in it that is older
    than what has been decided here since gives way, and is named.
    """
    from impactcut.workflow.hits import deciding
    from impactcut.workflow.hits.answering_many import Asked
    from impactcut.workflow.hits.hit_filter import check_names

    said = (approve, as_shot, later, not_a_hit, clear)
    given = [name for name, is_said in zip(_ANSWERS, said, strict=True) if is_said]
    if file is not None:
        if hits or given or common.frames() is not None or note is not None:
            raise click.UsageError("--answers goes without anything else to decide")
        return take_in(file, common)
    asked = Asked(hits, wanted, shows, gain)
    if not hits and not asked.chooses:
        raise click.UsageError("name a HIT, or say --section or the like, or a file with --answers")
    wish = _wish(given, note, common.frames(), yes)
    if wish.choice is not None and wish.answer != "approved":
        raise click.UsageError("--first and --count go with --approve")
    if common.first is not None and len(hits) > 1:
        raise click.UsageError("--first names frames of one clip: name one hit")
    signed = deciding.Signature(common.signer(), note)
    with common.project() as project:
        check_names(project, wanted)
        batch, unknown = _chosen(project, asked, wish)
        if batch.many:
            _confirm(batch, wish, yes)
        done = deciding.decide(project, batch.hits, wish, signed)
    for each in done:
        _tell(each)
    decided = sum(each.entry is not None for each in done)
    return outcome(decided, unknown or decided < len(done))


def _chosen(project: Project, asked: Asked, wish: Wish) -> tuple[Batch, bool]:
    """The hits that are meant, and whether some of the names are nobody's, which are told."""
    from impactcut.errors import UnknownHitError
    from impactcut.workflow.hits.answering_many import Batch, chosen
    from impactcut.workflow.hits.names import Names

    names, known = Names(project), []
    for word in asked.words:
        try:
            names.meant(word)
            known.append(word)
        except UnknownHitError as error:
            complain_of(error)
    unknown = len(known) < len(asked.words)
    if unknown and not known:
        return Batch((), 0, many=False), unknown
    return chosen(project, replace(asked, words=tuple(known)), wish), unknown


def _confirm(batch: Batch, wish: Wish, yes: bool) -> None:
    """Say how many hits are meant, and go on only if that is wanted."""
    from impactcut.core.trims.decision import WORDS

    word = "noted" if wish.answer == "note" else WORDS[wish.answer]
    left = [
        text
        for number, text in (
            (batch.answered, "answered before"), (batch.without, "without a trim to approve"),
        )
        if number
        for text in (f"{number} {text}",)
    ]  # fmt: skip
    beside = f" (left as they are: {', '.join(left)})" if left else ""
    count = f"{counted(len(batch.hits), 'hit')} in {counted(batch.clips, 'clip')}"
    click.echo(f"{count}: {word}{beside}", err=True)
    if not batch.hits:
        raise click.UsageError("no hit is left to decide on; name the hits you mean")
    if yes:
        return
    if not can_ask():
        raise click.UsageError("nothing was done: say --yes where nobody can be asked")
    click.confirm("Do it?", abort=True, err=True)


def _wish(given: list[str], note: str | None, choice: FrameRange | int | None, yes: bool) -> Wish:
    from impactcut.workflow.hits.deciding import Wish

    if len(given) > 1:
        raise click.UsageError(f"choose one of {' and '.join(given)}")
    if not given and note is None:
        raise click.UsageError(f"say {', '.join(_ANSWERS)} or --note TEXT")
    return Wish(_ANSWERS[given[0]] if given else "note", choice, yes)


def _tell(done: Decided) -> None:
    from impactcut.cli.telling.tables import named_decision
    from impactcut.workflow.hits.deciding import was_doubtful

    entry = done.entry
    if entry is None:
        complain_of(done.error)
        return
    said = named_decision(entry.decision) or "undecided"
    doubt = ""
    if was_doubtful(entry):
        doubt = f"; it was not listed, confidence {entry.impact.confidence:.2f}"
    click.echo(f"hit {entry.called} in {printable(entry.clip.name)}: {said}{doubt}")
