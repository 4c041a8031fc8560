"""Which section, take and angle each clip is: read from names by a pattern, or from a shot log."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Final

from impactcut.core.takes.clip import Clip
from impactcut.core.takes.shot_log import (
    AS_FILED,
    LogMatch,
    LogRow,
    match_log,
    starting,
    with_said,
)
from impactcut.core.takes.shot_names import (
    DEFAULT_PATTERN,
    NamePattern,
    ShotName,
    parse_pattern,
    read_shot_name,
)
from impactcut.core.time.timebase import parse_timebase
from impactcut.errors import ListFormatError, TimeError
from impactcut.lists.tables.shot_log import parse_shot_log, render_shot_log
from impactcut.project import Project, StoredClip
from impactcut.workflow.files.list_files import blaming, read_text
from impactcut.workflow.hits.hit_filter import measured_clips, names_clip
from impactcut.workflow.hits.names import keep_names

LARGEST_LOG: Final = 10_000_000


@dataclass(frozen=True)
class Shot:
    """A clip as it is known, and as it would be.

    Parameters
    ----------
    named : ShotName
        What its names say by the pattern that would be in force.
    """

    stored: StoredClip
    before: Clip
    after: Clip
    named: ShotName


@dataclass(frozen=True)
class ShotPlan:
    """What a pattern and a log would make of every clip.

    Parameters
    ----------
    new_pattern : bool
        Whether it is another than the one in force.
    shots : tuple of Shot
        In natural order of their paths.
    log : LogMatch or None
        None where no log was given.
    ignored : tuple of str
        Columns of the log that mean nothing here.
    """

    pattern: NamePattern
    new_pattern: bool
    shots: tuple[Shot, ...]
    log: LogMatch | None
    ignored: tuple[str, ...]

    @property
    def changed(self) -> int:
        """Clips that would be known otherwise than now."""
        return sum(shot.before != shot.after for shot in self.shots)

    @property
    def to_scan(self) -> int:
        """Clips that the next scan would measure again, as another rate is stated."""
        rows = {} if self.log is None else {clip.path: row for clip, row in self.log.pairs}
        return sum(
            rate_waits(replace(shot.stored, said=shot.stored.said.merged(row.said)))
            for shot in self.shots
            if (row := rows.get(shot.before.path)) is not None
        )

    @property
    def nameless(self) -> tuple[Clip, ...]:
        """Clips of which neither names nor people say section, take, angle or slate."""
        clips = (shot.after for shot in self.shots)
        return tuple(c for c in clips if not (c.section or c.take or c.angle or c.slate))


def rate_waits(stored: StoredClip) -> bool:
    """Whether a rate is said of a clip that it was not measured at."""
    said = stored.said.rate
    measured = json.loads(stored.settings).get("rate")
    wanted = None if said == AS_FILED else said
    return said is not None and wanted != measured and not runs_at(stored.own, wanted)


def runs_at(clip: Clip | None, rate: str | None) -> bool:
    """Whether a clip was measured at that rate, whoever said so; not where its file leaves it open.

    A file leaves it open where a warning asks for ``--rate``.
    """
    if clip is None or rate is None or any("--rate" in each for each in clip.warnings):
        return False
    return parse_timebase(rate) == clip.timebase


def pattern_in_force(project: Project) -> NamePattern:
    """The pattern that was chosen for a project, or the default."""
    chosen = project.name_pattern()
    return DEFAULT_PATTERN if chosen is None else parse_pattern(chosen)


def with_names(clip: Clip, pattern: NamePattern) -> Clip:
    """A clip with what its path says."""
    return replace(clip, **asdict(read_shot_name(clip.path, pattern)))


def plan_shots(project: Project, pattern: NamePattern | None, log: Path | None) -> ShotPlan:
    """What a pattern, and a log over it, would make of every clip. Nothing is changed.

    Raises
    ------
    ListFormatError
        Naming file and line, if the log cannot be read.
    """
    now = pattern_in_force(project)
    pattern = pattern or now
    named = [_named(stored, pattern) for stored in measured_clips(project)]
    match, ignored = (None, ()) if log is None else _match(log, [shot.after for shot in named])
    rows = {} if match is None else {clip.path: row for clip, row in match.pairs}
    for shot in named:
        _check_start(log, shot, rows.get(shot.after.path))
    shots = tuple(_with_row(shot, rows.get(shot.after.path)) for shot in named)
    return ShotPlan(pattern, pattern.text != now.text, shots, match, ignored)


def apply_shots(project: Project, plan: ShotPlan) -> None:
    """Keep what a plan makes of every clip."""
    if plan.new_pattern:
        names = {shot.stored.id: shot.named for shot in plan.shots}
        project.store_name_pattern(plan.pattern.text, names)
    if plan.log is not None:
        numbers = {shot.before.path: shot.stored.id for shot in plan.shots}
        project.say_of_clips({numbers[clip.path]: row.said for clip, row in plan.log.pairs})
    keep_names(project)


def shot_log_of(plan: ShotPlan) -> bytes:
    """A log of what a plan knows, to be filled in and given back."""
    return render_shot_log(shot.after for shot in plan.shots).encode("utf-8-sig")


def mark_clock(project: Project, paths: Sequence[Path], clock: bool | None) -> tuple[Clip, ...]:
    """Say of clips whether a clock or a counter is in the picture; None leaves it to the scan.

    Parameters
    ----------
    paths : sequence of Path
        Clips, by path or by file name, or folders of clips.

    Returns
    -------
    tuple of Clip
        As they are known now.
    """
    numbers = [
        stored.id
        for stored in measured_clips(project)
        if any(names_clip(path, stored.clip) for path in paths)
    ]
    project.mark_clock(numbers, clock)
    return tuple(stored.clip for stored in measured_clips(project) if stored.id in numbers)


def _named(stored: StoredClip, pattern: NamePattern) -> Shot:
    named = read_shot_name(stored.path, pattern)
    after = with_said(replace(stored.clip, **asdict(named)), stored.said)
    return Shot(stored, stored.clip, after, named)


def _check_start(log: Path | None, shot: Shot, row: LogRow | None) -> None:
    """Refuse a start that is no timecode at the rate that is stated with it, or that there is."""
    start = None if row is None else row.said.start
    if row is None or start in (None, AS_FILED):
        return
    assert start is not None
    rate = row.said.rate or shot.stored.said.rate or AS_FILED
    clip = shot.after
    if rate != AS_FILED:
        clip = replace(clip, rate=parse_timebase(rate).rate)
    try:
        starting(clip, start)
    except TimeError as error:
        raise ListFormatError(f"{log}: line {row.line}: {clip.name}: {error}") from error


def _with_row(shot: Shot, row: LogRow | None) -> Shot:
    return shot if row is None else replace(shot, after=with_said(shot.after, row.said))


def _match(path: Path, clips: Sequence[Clip]) -> tuple[LogMatch, tuple[str, ...]]:
    text, _ = read_text(path, "a shot log", LARGEST_LOG)
    if "\0" in text:
        raise ListFormatError(f"{path}: not plain text; save the log as CSV in UTF-8")
    with blaming(path):
        log = parse_shot_log(text)
        return match_log(log.rows, clips), log.ignored
