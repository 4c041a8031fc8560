"""`impactcut recut`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.lists.export import CAUTION
from impactcut.cli.options.common import FILE, Common, command
from impactcut.cli.program import complain, outcome, printable, tell_refusals
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.core.programme.change_list import Adjustment, ChangeList
    from impactcut.core.recut.hold_length import Hold
    from impactcut.core.recut.sound_drift import SoundDrift
    from impactcut.workflow.export.recutting import RecutReport


@command(
    "impactcut recut cut.edl new.edl --rate 24",
    "impactcut recut cut.edl held.edl --rate 24 --hold tail",
    "impactcut recut cut.otio tighter.otio",
    takes="proposed title force taste fov project quiet",
)
@click.argument("source", metavar="CUT", type=FILE)
@click.argument("target", metavar="NEW", type=FILE)
@click.option(
    "--rate",
    metavar="R",
    help="Frame rate of an EDL, always needed, as it does not state it: 24, 23.976, 29.97 ... "
    "Not needed for a timeline.",
)
@click.option(
    "--hold",
    type=click.Choice(["tail", "head", "next"]),
    help="Hold the length instead of moving everything later up: lengthen the shot's own tail, "
    "its own head (the contact frame stays where it is), or the head of the next shot.",
)
@click.option(
    "--whole-sound", is_flag=True, help="Do not split sound; where it is then out of sync is said."
)
@click.option(
    "--reels",
    type=FILE,
    metavar="FILE.csv",
    help="Which clip a reel or clip name of the list stands for: a CSV with the columns "
    "reel_or_clip_name and project_clip.",
)
@click.option("--dry-run", is_flag=True, help="Show what would change, and write nothing.")
def recut(
    source: Path,
    target: Path,
    rate: str | None,
    hold: Hold | None,
    whole_sound: bool,
    reels: Path | None,
    proposed: bool,
    title: str | None,
    dry_run: bool,
    common: Common,
) -> int:
    """Take approved trims out of an existing cut.

    The cut is an EDL, or an OpenTimelineIO timeline (.otio, or .otioz with its media). Every use
    of a trimmed clip that shows the frames is cut, on all channels and nested tracks, and
    everything later moves up, unless --hold is given. NEW, of the same kind, is written with its
    change list (NEW_changes.csv) and the spotting list of the new cut (NEW_spotting.csv). A new
    timeline has markers on every contact and splice; markers of others are kept.

    Clips are found by file name, reel and source timecode. A trim in a time effect, under a
    transition, in a split or where events overlap is left alone and named. A transition keeps the
    frames on both of its sides; times of the programme in notes, such as "* LOC:", move along. A
    line with timecodes that is not understood stops everything, by its number. The new list is
    read back and compared with the old one, frame by frame, before it is written.
    """
    from impactcut.workflow.export.recutting import RecutOptions, recut_list
    from impactcut.workflow.files.timeline_files import ENDINGS

    if rate is None and source.suffix.lower() not in ENDINGS:
        raise click.UsageError(
            "Missing option '--rate': an EDL does not state its frame rate, so say what it "
            "counts in, such as --rate 24"
        )
    options = RecutOptions(rate, hold, whole_sound, proposed, reels, title, dry_run, common.force)
    with common.project(reading=True) as project:
        report = recut_list(project, source, target, options)
    _tell(report, source, common.quiet, dry_run)
    if not report.changes:
        complain(f"{source}: {_why_nothing(report)}; nothing was written")
    return outcome(report.changes, report.refusals)


def _tell(report: RecutReport, source: Path, quiet: bool, dry_run: bool) -> None:
    for warning in report.warnings:
        place = f"line {warning.line}" if warning.line else "the list"
        complain(f"{source}: {place}: {warning.message}")
    for note in (*report.notes, *(_drift_notes(report) if report.changes else ())):
        complain(note)
    tell_refusals(report.refusals)
    if report.absent and not quiet:
        complain(f"not in the list: {', '.join(report.absent)}")
    for path in report.files:
        click.echo(str(path))
    if report.changes is None:
        return
    if dry_run:
        for adjustment in report.changes.adjustments:
            click.echo(printable(_line(adjustment, report.changes)))
    if not quiet:
        click.echo(_summary(report, report.changes), err=True)


def _line(adjustment: Adjustment, changes: ChangeList) -> str:
    from impactcut.core.programme.sequence import named_tracks

    at = changes.timebase.label(adjustment.record.start)
    now = changes.timebase.label(adjustment.new_record)
    which = f"event {adjustment.event} {adjustment.reel} {adjustment.clip}".strip()
    return (
        f"{at} -> {now}  {adjustment.operation:<13} {counted(adjustment.frames, 'frame'):<8}  "
        f"{named_tracks(adjustment.tracks):<10} {which if adjustment.event else ''}  "
        f"({adjustment.note})"
    )


def _summary(report: RecutReport, changes: ChangeList) -> str:
    difference = changes.new_length - changes.old_length
    absent = f"; not in the list: {counted(len(report.absent), 'trim')}" if report.absent else ""
    length = _length(difference)
    if report.picture_change != difference:
        length += f", its picture {_length(report.picture_change)}"
    return f"{counted(report.made, 'trim')} made; the new cut is {length}{absent}. {CAUTION}"


def _length(difference: int) -> str:
    if not difference:
        return "as long as before"
    return f"{counted(abs(difference), 'frame')} {'longer' if difference > 0 else 'shorter'}"


def _why_nothing(report: RecutReport) -> str:
    if report.refusals:
        return "no trim could be made"
    if report.absent:
        return f"it shows none of {counted(len(report.absent), 'trim')}"
    return "there is no approved trim; use 'impactcut decide HIT --approve', or --proposed"


def _drift_notes(report: RecutReport) -> Iterator[str]:
    assert report.changes is not None
    others = [drift for drift in report.drifts if not drift.same_clip]
    for drift in report.drifts:
        if drift.same_clip:
            yield _drift_note(drift, report.changes)
    if others:
        numbers = sorted({drift.event.number for drift in others})
        most = max(abs(drift.late) for drift in others)
        yield (
            f"picture moved against sound of other sources in event{'s' * (len(numbers) > 1)} "
            f"{', '.join(map(str, numbers))}, by up to {counted(most, 'frame')}; check what was "
            "laid to the picture"
        )


def _drift_note(drift: SoundDrift, changes: ChangeList) -> str:
    from impactcut.core.programme.sequence import is_sound, named_tracks
    from impactcut.core.programme.spotting_list import sound_offset

    tracks = named_tracks(frozenset(filter(is_sound, drift.event.tracks)))
    clock = changes.timebase
    verdict = sound_offset(-drift.late, drift.record.start, clock.rate).verdict
    way = "late" if drift.late > 0 else "early"
    apart = ", which lies under other shots, is" if drift.apart else " is"
    return (
        f"sound of event {drift.event.number} ({tracks}){apart} "
        f"{counted(abs(drift.late), 'frame')} {way} from {clock.label(drift.record.start)} to "
        f"{clock.label(drift.record.stop)}: {verdict} by ITU-R BT.1359-1"
    )
