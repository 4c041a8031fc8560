"""`impactcut shots`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from impactcut.cli.options.common import FILE, Common, command
from impactcut.cli.program import complain, outcome
from impactcut.cli.telling.json_text import print_json
from impactcut.core.words import counted

if TYPE_CHECKING:
    from impactcut.core.takes.shot_log import LogRow
    from impactcut.workflow.takes.shots import ShotPlan

_MOST_TOLD = 5


@command(
    "impactcut shots",
    'impactcut shots --pattern "{section*}/S{slate}_T{take}[_{angle}]"',
    "impactcut shots --save log.csv",
    "impactcut shots --log log.csv --apply",
    takes="force json project",
)
@click.option("--pattern", metavar="TEXT", help="How sections, takes and angles stand in names.")
@click.option(
    "--log",
    "log",
    type=FILE,
    metavar="FILE.csv",
    help="A shot log; what it says comes before what names say.",
)
@click.option("--apply", is_flag=True, help="Keep what is shown.")
@click.option(
    "--save",
    type=FILE,
    metavar="FILE.csv",
    help="Write what is shown as a shot log, to fill in and give back with --log.",
)
def shots(
    pattern: str | None, log: Path | None, apply: bool, save: Path | None, common: Common
) -> int:
    """Show the section, take and angle of each clip, or set them.

    Nothing is kept without --apply. A pattern is written as the names look: {section}, {take},
    {angle} and {slate} for what stands there, {section*} for any text, "_" for blanks, dots, dashes
    and underscores or none, "*" for any text, "[ ]" around what may be missing, "/" between
    folders, and "|" before another pattern for names that the first does not fit:
    "Section {section}/*T{take}[_{angle}]".

    A shot log is CSV with columns of these names, in any order: clip, section, slate, take, angle,
    circled (yes or no), metres (how wide the picture is at the fighters: "4" or "4+-1"), reel,
    start (timecode of the first frame) and rate; "file" in one of these three for what the file
    says. A line without a clip is about all clips of its slate, or section, and take.
    """
    from impactcut.core.takes.shot_names import parse_pattern
    from impactcut.workflow.files.writing import check_places, write_files
    from impactcut.workflow.hits.hit_filter import check_measured
    from impactcut.workflow.takes.shots import apply_shots, plan_shots, shot_log_of

    check_places([] if save is None else [save], common.force)
    chosen = None if pattern is None else parse_pattern(pattern)
    with common.project(reading=not apply) as project:
        check_measured(project)
        plan = plan_shots(project, chosen, log)
        if apply:
            apply_shots(project, plan)
    if save is not None:
        write_files(save.parent, {save.name: shot_log_of(plan)}, common.force)
    _tell(plan, apply, common)
    unread = plan.log is not None and (plan.log.unmatched_rows or plan.log.ambiguous_rows)
    return outcome(plan.log is None or plan.log.pairs or not unread, unread)


def _tell(plan: ShotPlan, applied: bool, common: Common) -> None:
    from impactcut.cli.telling.tables import print_shots
    from impactcut.workflow.reports.report_views import shots_dict

    if common.as_json:
        print_json(shots_dict(common.project_path, plan, applied))
    else:
        print_shots(plan)
        click.echo(f"Names are read as {plan.pattern.text}")
        click.echo(_outcome(plan, applied))
    _tell_log(plan)


def _outcome(plan: ShotPlan, applied: bool) -> str:
    known = f"{counted(len(plan.shots), 'clip')}, {len(plan.nameless)} of them not named"
    if not (plan.changed or plan.new_pattern or plan.to_scan):
        return f"{known}; nothing to change"
    if plan.to_scan:
        known += f"; {plan.to_scan} of another rate, which 'impactcut scan' measures again"
    verb = "changed" if applied else "would change; nothing is kept yet: add --apply"
    return f"{known}; {plan.changed} {verb}"


def _tell_log(plan: ShotPlan) -> None:
    if plan.log is None:
        return
    _tell_some("columns that mean nothing here and were passed over", list(plan.ignored))
    lines = [f"line {row.line} ({_named(row)})" for row in plan.log.unmatched_rows]
    _tell_some("lines about no clip of the project", lines)
    lines = [f"line {row.line} ({row.clip})" for row in plan.log.ambiguous_rows]
    _tell_some("lines about several clips of one name; write the folder too", lines)
    _tell_some(
        "clips about which the log has no line", [clip.name for clip in plan.log.unmatched_clips]
    )


def _tell_some(what: str, names: list[str]) -> None:
    """On one line, however many there are."""
    if names:
        more = len(names) - _MOST_TOLD
        rest = f", and {more} more" if more > 0 else ""
        complain(f"{what}: {', '.join(names[:_MOST_TOLD])}{rest}")


def _named(row: LogRow) -> str:
    if row.clip:
        return row.clip
    said = row.said
    parts = {"slate": said.slate, "section": said.section, "take": said.take, "angle": said.angle}
    return ", ".join(f"{name} {value}" for name, value in parts.items() if value)
