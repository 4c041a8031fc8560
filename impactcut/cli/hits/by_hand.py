"""`impactcut add` and `impactcut move`: hits by hand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import FILE, Common, command
from impactcut.cli.options.completion import hit_names
from impactcut.cli.options.executors import local_executor
from impactcut.cli.program import complain, complain_of, outcome, printable, tell_refusals

if TYPE_CHECKING:
    from impactcut.project import Project
    from impactcut.workflow.files.refusals import Refusal
    from impactcut.workflow.scan.by_hand import MarkOutcome, Place


@command(
    "impactcut add S1T1A 20 --who Anna",
    "impactcut add S1_T2_A.mov 00:00:00:20 --exact",
    takes="patience who fov project",
)
@click.argument("clip", required=False, metavar="[CLIP]", shell_complete=hit_names)
@click.argument("places", nargs=-1, metavar="[PLACE]...")
@click.option("--exact", is_flag=True, help="Take the frames as given.")
@click.option("--note", metavar="TEXT", default="", help="A note to each, for everybody.")
@click.option(
    "--from",
    "file",
    type=FILE,
    metavar="FILE",
    help="Marks made elsewhere: a .csv of columns clip or reel, timecode or frame, and note; an "
    ".edl with LOC notes; or an .otio or .otioz with markers.",
)
@click.option("--rate", metavar="R", help="Rate of an EDL.  [default: that of the clips]")
def add(
    clip: str | None,
    places: tuple[str, ...],
    exact: bool,
    note: str,
    file: Path | None,
    rate: str | None,
    common: Common,
) -> int:
    """Add hits that were not found.

    CLIP is a clip's name or file; PLACE a frame, counted from 0, or source timecode. The contact is
    put on the best frame within 4 frames of it, and which that is, and why, is said. Such a hit is
    measured like any other, is listed as "by hand" with your name, and stays whatever a later scan
    finds. What was found there but was too doubtful to be listed becomes that hit.
    """
    from impactcut.workflow.hits.deciding import Signature
    from impactcut.workflow.scan.by_hand import add_hits

    if (file is None) == (clip is None) or (clip is not None and not places):
        raise click.UsageError("name a CLIP and a PLACE in it, or a file with --from")
    if rate is not None and file is None:
        raise click.UsageError("--rate goes with --from")
    signed = Signature(common.signer())
    with common.project() as project:
        if file is not None:
            wanted, refusals = _read(project, file, rate)
        else:
            assert clip is not None
            wanted, refusals = _given(project, clip, places, note), ()
        with local_executor(1, common.patience) as executor:
            marked = add_hits(project, wanted, signed, exact, executor.call)
    tell_refusals(refusals)
    for each in marked:
        _tell(each)
    if not marked and not refusals:
        complain(f"{file}: it holds no marks")
    added = sum(each.entry is not None for each in marked)
    return outcome(added, added < len(marked) or refusals)


@command(
    "impactcut move 1 41", "impactcut move S1T1A.1 00:00:01:16", takes="patience who fov project"
)
@click.argument("hit", metavar="HIT", shell_complete=hit_names)
@click.argument("place", metavar="FRAME")
def move(hit: str, place: str, common: Common) -> None:
    """Put the contact of a hit on another frame.

    FRAME is counted from 0 in the clip, or is source timecode; it is taken as given. Trims are
    judged anew. What was approved and no longer fits is put off till later, and named.
    """
    from impactcut.workflow.hits.deciding import Signature
    from impactcut.workflow.hits.names import Names
    from impactcut.workflow.scan.by_hand import frame_of, move_hit

    signed = Signature(common.signer())
    with common.project() as project:
        number = Names(project).one(hit)
        stored = project.clip(project.hit(number).clip_id)
        frame = frame_of(stored.clip, place)
        with local_executor(1, common.patience) as executor:
            moved = move_hit(project, number, frame, signed, executor.call)
    _tell(moved)


def _given(project: Project, clip: str, places: tuple[str, ...], note: str) -> tuple[Place, ...]:
    from impactcut.workflow.hits.names import Names
    from impactcut.workflow.scan.by_hand import Place, frame_of

    stored = Names(project).clip(clip)
    return tuple(Place(stored.id, frame_of(stored.clip, place), note) for place in places)


def _read(
    project: Project, file: Path, rate: str | None
) -> tuple[tuple[Place, ...], tuple[Refusal, ...]]:
    from impactcut.core.time.timebase import parse_timebase
    from impactcut.workflow.scan.markers import read_markers

    read = read_markers(project, file, None if rate is None else parse_timebase(rate).rate)
    return read.places, read.refusals


def _tell(marked: MarkOutcome) -> None:
    from impactcut.cli.telling.tables import placed

    entry = marked.entry
    if entry is None:
        complain_of(marked.error)
        return
    contact = entry.impact.contact
    click.echo(
        printable(
            f"hit {entry.called} in {entry.clip.name}: contact on {placed(entry.clip, contact)}, "
            f"{_away(contact - marked.place.frame)}: {marked.why}; {entry.sureness}"
        )
    )
    if marked.put_off is not None and marked.put_off.trim is not None:
        trim = marked.put_off.trim
        complain(
            f"hit {entry.called}: {len(trim)} from {trim.start}, which "
            f"{marked.put_off.who or 'somebody'} approved, no longer fits and is put off; "
            f"'impactcut decide {entry.called}' again"
        )


def _away(frames: int) -> str:
    if frames == 0:
        return "the frame given"
    side = "before" if frames < 0 else "after"
    return f"{abs(frames)} {side} the frame given"
