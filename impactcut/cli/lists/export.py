"""`impactcut export`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.lists.documents import DOCUMENTS, render_documents, tell_documents
from impactcut.cli.options.common import CLIPS, FOLDER, Common, check_filter, command
from impactcut.cli.options.completion import listed_words
from impactcut.cli.program import complain, outcome, printable, tell_refusals
from impactcut.cli.telling.bar import propose_missing
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.workflow.export.exporting import ExportReport
    from impactcut.workflow.hits.hit_filter import HitFilter

FORMATS = (
    "csv",
    "edl",
    "changes",
    "spotting",
    "otio",
    "otioz",
    "marks",
    "hits",
    "guide",
    "overview",
    "summary",
)
CAUTION = (
    "The lists judge pictures, never whether a move was or is safe; faster in the cut is a reason "
    "to perform slower and safer."
)


def chosen_formats(_: click.Context, __: click.Parameter, text: str | None) -> tuple[str, ...]:
    """The names in a comma-separated list, checked."""
    if text is None:
        from impactcut.workflow.export.exporting import usual_formats

        return usual_formats()
    names = tuple(dict.fromkeys(name.strip().casefold() for name in text.split(",")))
    unknown = [name for name in names if name not in FORMATS]
    if unknown:
        raise click.BadParameter(f"{unknown[0]!r} is none of {', '.join(FORMATS)}")
    return names


@command(
    "impactcut export lists",
    "impactcut export lists --only edl,csv --proposed --force",
    "impactcut export lists --since 0 --force",
    "impactcut export rehearsal --only summary,overview",
    takes=f"{CLIPS} proposed title record-start force taste who fov project quiet",
)
@click.argument("folder", metavar="DIR", type=FOLDER)
@click.option(
    "--only",
    "formats",
    metavar="LIST",
    callback=chosen_formats,
    shell_complete=listed_words(FORMATS),
    help=f"What to write, with commas between: {', '.join(FORMATS)}.  [default: the lists]",
)
@click.option("--per-clip", is_flag=True, help="A list for each clip that is trimmed.")
@click.option(
    "--sound",
    type=click.Choice(["together", "apart"]),
    help="Production sound in the EDL and the change list, cut as the picture is: in the events "
    "of the picture, or in events of its own.  [default: picture only]",
)
@click.option(
    "--channels",
    type=click.IntRange(1, 24),
    default=2,
    show_default=True,
    metavar="N",
    help="Channels of that sound.",
)
@click.option(
    "--since",
    type=click.IntRange(min=0),
    metavar="N",
    help="Have the change list run from version N; 0 for the untrimmed clips.  [default: the "
    "version last delivered]",
)
def export(
    folder: Path,
    formats: tuple[str, ...],
    wanted: HitFilter,
    proposed: bool,
    per_clip: bool,
    title: str | None,
    record_start: str,
    sound: str | None,
    channels: int,
    since: int | None,
    common: Common,
) -> int:
    """Write EDLs, CSV lists and timelines of trims, and scratch hits.

    What was approved goes into lists in DIR; with --proposed, also what nobody has answered.
    "changes" lists what turns the version delivered last, or the untrimmed clips, into this one.
    "spotting" lists the sounds that the hits call for, and what each trim does to sound. "otio" is
    a timeline for OpenTimelineIO with picture, sound and marks, written where the package
    opentimelineio is installed; "otioz" is the same in one file with its media; "marks" is a plain
    CSV of every contact and splice. "hits" is a WAV track with a thump on every contact frame,
    "guide" a WAV of the trimmed production sound with it.
    "overview" is one picture of the whole fight, "summary" a page for people on the set: the hits
    that read weak, late or early, and what may help; both take proposals in, and say so.

    Clips lie end to end in the order of their paths, one list for each frame rate. Every list is
    read back and compared with the plan before it is written, and no file is replaced unasked.
    Each export is a version, which 'impactcut deliveries' lists; the change list of the next runs
    from it.

    The lists judge pictures, never whether a move was or is safe. Faster in the cut is a reason to
    perform slower and safer, not the reverse.
    """
    from impactcut.lists.edl.write import SoundLines
    from impactcut.project import Actor
    from impactcut.workflow.clock import now
    from impactcut.workflow.export.delivering import keep_delivery
    from impactcut.workflow.export.exporting import ExportOptions, export_lists
    from impactcut.workflow.files.writing import write_files

    named = common.project_path.stem if title is None else title
    lists = tuple(name for name in formats if name not in DOCUMENTS)
    beside = None if sound is None else SoundLines(channels, apart=sound == "apart")
    options = ExportOptions(
        named, record_start, lists, per_clip, proposed, common.force, wanted, beside, since
    )
    by = common.actor() if lists else Actor("", now())
    with common.project(reading=True) as project:
        check_filter(project, wanted)
        propose_missing(project, wanted, common.quiet)
        made = render_documents(project, folder, formats, options)
        if lists:
            report = export_lists(project, folder, options, by, made.files)
            pages = report.pages
        else:
            report, pages = None, write_files(folder, made.files, common.force)
    unkept = ""
    if report is not None and report.delivery is not None:
        with common.project() as project:
            unkept = keep_delivery(project, report.delivery)
    if unkept:
        complain(unkept)
    tell_documents(pages, made)
    if report is None:
        return outcome(True, made.left_out)
    tell_export(report, common.quiet)
    if not report.files and not report.refusals:
        complain(_nothing(report))
    left_out = not report.files or report.refusals or made.left_out or unkept
    return outcome(report.files or pages, left_out)


def tell_export(report: ExportReport, quiet: bool) -> None:
    """Name the files, and what was left out."""
    from impactcut.workflow.export.conform_lists import judging_of

    for path in report.files:
        click.echo(str(path))
    tell_refusals(report.refusals)
    for note in report.notes:
        complain(note)
    for removal in report.selection.changed_since:
        complain(
            f"hit {removal.called} in {removal.clip.name} goes out as it was approved before the "
            f"file changed; look again, and 'impactcut decide {removal.called}' again"
        )
    if report.files and not quiet:
        waiting = report.selection.undecided
        still = f"; undecided and not in them: {counted(waiting, 'proposal')}" if waiting else ""
        done = (
            f"version {report.version}: {counted(report.trims, 'trim')} in "
            f"{counted(len(report.files), 'file')}"
        )
        more = f" and {len(report.unlisted) - 1} more" if len(report.unlisted) > 1 else ""
        for clip in report.unlisted[:1]:
            still += (
                "; in no list, with nothing out and no hit as shot at their rate: "
                f"{printable(clip.name)}{more}"
            )
        click.echo(f"{done}{still}. {CAUTION}", err=True)
        click.echo(judging_of(report.selection.hits), err=True)


def _nothing(report: ExportReport) -> str:
    waiting = report.selection.undecided
    if waiting:
        return (
            f"nothing is approved, so nothing was written; undecided: "
            f"{counted(waiting, 'proposal')}; use 'impactcut decide HIT --approve', "
            "or take proposals with --proposed"
        )
    return "there is no trim to write; 'impactcut hits' shows what was found"
