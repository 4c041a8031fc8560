"""What a scan has to measure, and what it can leave as it is."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from impactcut.core.takes.naming import DEFAULT_PATTERN, NamePattern
from impactcut.core.takes.shot_log import AS_FILED, ShotSaid
from impactcut.core.time.timebase import parse_timebase
from impactcut.errors import LostProcessError, MediaError
from impactcut.media.probe.container import frames_stated
from impactcut.media.probe.signature import may_hold_pictures
from impactcut.project import Fingerprint, Project, SameTake, StoredClip
from impactcut.workflow.files.find import Candidate, Refusal
from impactcut.workflow.files.fingerprint import fingerprint, missing, untouched
from impactcut.workflow.files.moving import moved_clips
from impactcut.workflow.files.refusals import MOST_TRIES, failure_of, refusal_of
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.scan.one_take import Beside, NewFile, paired
from impactcut.workflow.scan.stated import (
    described,
    measure_the_same,
    said_anew,
    settings_text,
    with_earlier,
)
from impactcut.workflow.scan.tasks import Count, Task
from impactcut.workflow.takes.shots import pattern_in_force


@dataclass(frozen=True)
class Work:
    """One clip to measure: its fingerprint before, and about how many frames it has.

    ``beside``: files that hold the same take, and need no measuring.
    """

    task: Task
    before: Fingerprint
    frames: int
    beside: tuple[Beside, ...] = ()


@dataclass(frozen=True)
class Plan:
    """What a scan will do.

    Parameters
    ----------
    work : tuple of Work
    unchanged : tuple of StoredClip
        Measured earlier, and still the same.
    passed_over : int
        Files of folders that turned out not to be media.
    dropped : int
        Clips that somebody took out.
    refusals : tuple of Refusal
    moved : int
        Clips that were recognised at another place or under another name.
    same : int
        Files that hold the same take as a clip that is measured.
    pattern : NamePattern
        By which sections, takes and angles will be read from names.
    """

    work: tuple[Work, ...]
    unchanged: tuple[StoredClip, ...]
    passed_over: int
    refusals: tuple[Refusal, ...]
    moved: int = 0
    pattern: NamePattern = DEFAULT_PATTERN
    dropped: int = 0
    same: int = 0


class _SameTake:
    """A file that holds the take of a clip that is measured."""


class _Dropped:
    """A clip that somebody took out."""


class _PassedOver:
    """A file of a folder that is not media."""


@dataclass(frozen=True)
class _File:
    """A file as it is found; ``seen`` is None where it plainly holds no moving pictures."""

    candidate: Candidate
    seen: Fingerprint | MediaError | None

    @property
    def path(self) -> str:
        return str(self.candidate.path)


@dataclass(frozen=True)
class _Asked:
    """How a scan was asked for."""

    settings: AnalysisSettings
    pattern: NamePattern
    again: bool
    most_tries: int
    count: Count
    takes: Mapping[str, SameTake]
    """Files that are no clips, by path."""


def plan_scan(
    project: Project,
    candidates: Iterable[Candidate],
    settings: AnalysisSettings,
    again: bool = False,
    retry: bool = False,
    count: Count = frames_stated,
) -> Plan:
    """Sort files into those to measure, those that are unchanged, and those refused.

    Parameters
    ----------
    settings : AnalysisSettings
        A rate or reel of None stands for the one stated for a clip earlier, if any, and
        `AS_FILED` for what the file says.
    again : bool
        Measure what is unchanged too, and try again what was set aside.
    retry : bool
        Try again what was set aside after `MOST_TRIES` failures.
    count : callable
        Called with the path of each file that is new; gives about how many frames it has.

    Raises
    ------
    RateError
        If the rate in the settings is none.
    """
    if settings.rate not in (None, AS_FILED):
        parse_timebase(settings.rate)
    most = sys.maxsize if retry else MOST_TRIES
    takes = {take.path: take for take in project.same_takes()}
    asked = _Asked(settings, pattern_in_force(project), again, most, count, takes)
    clips = {clip.path: clip for clip in project.clips()}
    files = [_looked_at(each, clips.get(str(each.path))) for each in candidates]
    moves = _moves(project, clips, files)
    if moves:
        project.note_moved(moves)
        clips = {clip.path: clip for clip in project.clips()}
    results = [_plan_one(project, each, clips.get(each.path), asked) for each in files]
    work, spared = _without_same_takes(
        project, [each for each in results if isinstance(each, Work)], clips, asked
    )
    return Plan(
        work=work,
        unchanged=tuple(each for each in results if isinstance(each, StoredClip)),
        passed_over=sum(isinstance(each, _PassedOver) for each in results),
        refusals=tuple(each for each in results if isinstance(each, Refusal)),
        moved=len(moves),
        pattern=asked.pattern,
        dropped=sum(isinstance(each, _Dropped) for each in results),
        same=sum(isinstance(each, _SameTake) for each in results) + spared,
    )


def _without_same_takes(
    project: Project, work: Sequence[Work], clips: Mapping[str, StoredClip], asked: _Asked
) -> tuple[tuple[Work, ...], int]:
    """The work without files whose takes are measured or will be, and how many those are."""
    known = {path for path, clip in clips.items() if clip.clip is not None}
    new = [
        NewFile(each.task.path, each.before, each.frames)
        for each in work
        if str(each.task.path) not in known
    ]
    apart = {path for path, take in asked.takes.items() if take.clip_id is None}
    pairs = paired(new, clips.values(), apart)
    project.put_same_takes(beside.of(clip) for clip, beside in pairs.known)
    left = (each for each in work if each.task.path not in pairs.spared)
    with_beside = (replace(each, beside=pairs.new.get(each.task.path, ())) for each in left)
    return tuple(with_beside), len(pairs.spared)


def _looked_at(candidate: Candidate, known: StoredClip | None) -> _File:
    path = candidate.path
    if not candidate.expected and known is None and not may_hold_pictures(path):
        return _File(candidate, None)
    if known is not None and known.fingerprint is not None and untouched(path, known.fingerprint):
        return _File(candidate, known.fingerprint)
    try:
        return _File(candidate, fingerprint(path))
    except MediaError as error:
        return _File(candidate, error)


def _moves(
    project: Project, clips: Mapping[str, StoredClip], files: Iterable[_File]
) -> dict[int, str]:
    digests = {each.path: each.seen.digest for each in files if isinstance(each.seen, Fingerprint)}
    return moved_clips(clips, digests, project.spoken_of())


def _plan_one(
    project: Project, file: _File, known: StoredClip | None, asked: _Asked
) -> Work | StoredClip | Refusal | _PassedOver | _Dropped | _SameTake:
    if _stands_for_a_clip(project, file, asked):
        return _SameTake()
    if known is not None and known.dropped:
        return _Dropped()
    settings = with_earlier(asked.settings, known)
    anew = said_anew(asked.settings, known)
    if known is not None and anew != ShotSaid():
        project.say_of_clips({known.id: anew})
    found = file.seen if isinstance(file.seen, Fingerprint) else None
    try:
        if isinstance(file.seen, MediaError):
            raise file.seen
        if found is None:
            return _PassedOver()
        settled = None if asked.again else _settled(project, known, found, settings, asked)
        frames = 0 if settled else _counted(file.candidate.path, asked.count)
    except MediaError as error:
        if not file.candidate.expected and known is None:
            return _PassedOver()
        refusal = refusal_of(file.path, error)
        if found is not None or known is None or known.state == "failed":
            text = settings_text(settings)
            project.store_failure(file.path, found, text, refusal.error, refusal.remedy)
        return refusal
    task = Task(file.candidate.path, settings, found.digest, frames)
    return settled or Work(task, found, frames)


def _stands_for_a_clip(project: Project, file: _File, asked: _Asked) -> bool:
    """Whether a file is known as the take of a clip whose own file is there."""
    take = asked.takes.get(file.path)
    if take is None or take.clip_id is None:
        return False
    clip = next((clip for clip in project.clips() if clip.id == take.clip_id), None)
    same = isinstance(file.seen, Fingerprint) and take.fingerprint is not None
    if same and clip is not None and not missing(Path(clip.path)):
        assert isinstance(file.seen, Fingerprint) and take.fingerprint is not None
        return file.seen.digest == take.fingerprint.digest
    return False


def _counted(path: Path, count: Count) -> int:
    """Frames of a file; 0 if that cost a process, which measuring will then tell of."""
    try:
        return count(path)
    except LostProcessError:
        return 0


def _settled(
    project: Project,
    known: StoredClip | None,
    found: Fingerprint,
    settings: AnalysisSettings,
    asked: _Asked,
) -> StoredClip | Refusal | None:
    """What needs no measuring: unchanged, but perhaps for its name and reel, or given up."""
    if known is None or known.fingerprint is None or known.fingerprint.digest != found.digest:
        return None
    if not measure_the_same(known.settings, settings):
        return None
    if known.state == "failed":
        return failure_of(known) if known.tries >= asked.most_tries else None
    if known.fingerprint != found:
        project.note_touched(known.id, found)
    return _described(project, known, settings, asked.pattern)


def _described(
    project: Project, known: StoredClip, settings: AnalysisSettings, pattern: NamePattern
) -> StoredClip:
    path, text = Path(known.path), settings_text(settings)
    assert known.own is not None
    if known.settings == text and known.own.name == path.name:
        return known
    project.describe(known.id, described(known.own, path, settings, pattern), text)
    now = project.clip_at(known.path)
    assert now is not None
    return now
