"""`impactcut mark`, `impactcut drop` and `impactcut same`: what people say of clips."""

from __future__ import annotations

from pathlib import Path

import click

from impactcut.cli.options.common import PATH, Common, command, tell_unmatched
from impactcut.cli.options.completion import hit_names
from impactcut.cli.program import complain, outcome, printable
from impactcut.core.words import counted

_SAID = {"yes": True, "no": False, "forget": None}


@command(
    "impactcut mark S1_T1_A.mov --clock",
    "impactcut mark selects --no-clock",
    "impactcut mark S1_T1_A.mov --forget",
    takes="project",
)
@click.argument("paths", nargs=-1, required=True, metavar="PATH...", type=PATH)
@click.option("--clock", "answer", flag_value="yes", help="A clock or timecode is in the picture.")
@click.option("--no-clock", "answer", flag_value="no", help="None will be in the finished picture.")
@click.option("--forget", "answer", flag_value="forget", help="Take back what was said of it.")
def mark(paths: tuple[Path, ...], answer: str | None, common: Common) -> int:
    """Say that a clock is in a clip's picture, or none.

    PATH is a clip, its file name, or a folder of clips. A trim makes a clock jump. Of counters
    that the scan finds, burnt-in timecode for one, lists warn, and no more: copies are burnt in,
    and finished pictures are made from clean ones. Say --no-clock of such copies, and --clock where
    a clock is in the scene itself: no trim is made there then.
    """
    from impactcut.workflow.hits.names import Names
    from impactcut.workflow.takes.shots import mark_clock

    if answer is None:
        raise click.UsageError("say one of --clock, --no-clock and --forget")
    with common.project() as project:
        paths = tuple(map(Names(project).file, paths))
        missing = tell_unmatched(project, paths)
        marked = mark_clock(project, paths, _SAID[answer])
    shown = [printable(clip.name) for clip in marked if clip.clock]
    click.echo(f"{counted(len(marked), 'clip')} marked, {len(shown)} with a clock in the picture")
    return outcome(marked or not missing, missing)


@command("impactcut drop S2_T1_A.mov", "impactcut drop S2_T1_A.mov --back", takes="who project")
@click.argument("clips", nargs=-1, required=True, metavar="CLIP...", shell_complete=hit_names)
@click.option("--back", is_flag=True, help="Take clips back in that were taken out.")
def drop(clips: tuple[str, ...], back: bool, common: Common) -> int:
    """Take clips out of the project.

    CLIP is a clip's name or file, or a file that could not be measured. Nothing lists it any more,
    and no scan measures it; the file itself is left alone. Its hits and all that was said of them
    are kept, and come back with it.
    """
    from impactcut.errors import UnknownNameError
    from impactcut.workflow.hits.names import Names

    by = common.actor()
    with common.project() as project:
        names, found = Names(project, dropped=back), []
        for clip in clips:
            try:
                found.append(names.any_file(clip))
            except UnknownNameError as error:
                complain(str(error))
        if found:
            project.drop_clips([stored.id for stored in found], by, out=not back)
        for stored in found if back else ():
            project.measure_itself(stored.path)
    for stored in found:
        click.echo(f"{printable(stored.path)}: {'back in' if back else 'taken out'}")
    return outcome(found, len(found) < len(clips))


@command(
    "impactcut same selects/S1_T1_A.mov proxies/S1_T1_A.mov",
    "impactcut same --apart proxies/S1_T1_A.mov",
    takes="who project",
)
@click.argument("files", nargs=-1, required=True, metavar="ORIGINAL PROXY")
@click.option("--apart", is_flag=True, help="The file named is a take of its own after all.")
def same(files: tuple[str, ...], apart: bool, common: Common) -> None:
    """Say that an original and a proxy are one take.

    Each is a clip's name or a file; one of them must be measured, and the other need not be.
    They are one clip from then on: measured once, and named in every list by its original. Rate,
    length and start timecode must be the same, so that a frame of one is that frame of the other.
    Files that say the same reel, timecode, rate and length of themselves are taken for one by
    'impactcut scan' itself. 'impactcut undo' takes it back.
    """
    from impactcut.workflow.takes.same import make_same, part

    if len(files) != (1 if apart else 2):
        raise click.UsageError(
            "name the file that is a take of its own" if apart else "name ORIGINAL and PROXY"
        )
    by = common.actor()
    with common.project() as project:
        if apart:
            path = part(project, files[0], by)
            click.echo(printable(f"{path}: a take of its own; 'impactcut scan' measures it"))
            return
        done = make_same(project, files[0], files[1], by)
    clip = done.clip
    answers = f"; {counted(done.carried, 'answer')} went over" if done.carried else ""
    click.echo(printable(f"one take, measured on {clip.path} and named as {clip.listed}{answers}"))
