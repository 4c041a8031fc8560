"""What a scan has to measure, and what it can leave as it is."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from impactcut.core.naming import DEFAULT_PATTERN, NamePattern
from impactcut.core.timebase import parse_timebase
from impactcut.errors import ImpactcutError, MediaError
from impactcut.media.open import open_video
from impactcut.project import Fingerprint, Project, StoredClip
from impactcut.workflow.analyse import AnalysisSettings
from impactcut.workflow.find import Candidate, Refusal
from impactcut.workflow.fingerprint import fingerprint, untouched
from impactcut.workflow.shots import pattern_in_force
from impactcut.workflow.tasks import Task

MOST_TRIES = 3
FROM_FILE = "file"
"""Given as rate or reel: what the file says, whatever was stated earlier."""


@dataclass(frozen=True)
class Work:
    """One clip to measure: its fingerprint before, and about how many frames it has."""

    task: Task
    before: Fingerprint
    frames: int


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
    refusals : tuple of Refusal
    pattern : NamePattern
        By which sections, takes and angles will be read from names.
    """

    work: tuple[Work, ...]
    unchanged: tuple[StoredClip, ...]
    passed_over: int
    refusals: tuple[Refusal, ...]
    pattern: NamePattern = DEFAULT_PATTERN


class _PassedOver:
    """A file of a folder that is not media."""


def plan_scan(
    project: Project,
    candidates: Iterable[Candidate],
    settings: AnalysisSettings,
    again: bool = False,
    retry: bool = False,
) -> Plan:
    """Sort files into those to measure, those that are unchanged, and those refused.

    Parameters
    ----------
    settings : AnalysisSettings
        A rate or reel of None stands for the one stated for a clip earlier, if any, and
        `FROM_FILE` for what the file says.
    again : bool
        Measure what is unchanged too, and try again what was set aside.
    retry : bool
        Try again what was set aside after `MOST_TRIES` failures.

    Raises
    ------
    RateError
        If the rate in the settings is none.
    """
    if settings.rate not in (None, FROM_FILE):
        parse_timebase(settings.rate)
    most = sys.maxsize if retry else MOST_TRIES
    results = [_plan_one(project, each, settings, again, most) for each in candidates]
    return Plan(
        work=tuple(each for each in results if isinstance(each, Work)),
        unchanged=tuple(each for each in results if isinstance(each, StoredClip)),
        passed_over=sum(isinstance(each, _PassedOver) for each in results),
        refusals=tuple(each for each in results if isinstance(each, Refusal)),
        pattern=pattern_in_force(project),
    )


def refusal_of(path: str, error: Exception) -> Refusal:
    """An error about a file, cut into what is wrong and what to do about it."""
    if not isinstance(error, ImpactcutError):
        return Refusal(
            path,
            f"a fault of this program ({type(error).__name__}: {error})",
            "run again with --debug and report what it says",
        )
    wrong, _, remedy = str(error).removeprefix(f"{path}: ").partition("; ")
    return Refusal(path, wrong, remedy)


def given_up(known: StoredClip) -> Refusal:
    """A file that is not tried again unasked."""
    error = f"set aside after {known.tries} tries: {known.error}"
    return Refusal(known.path, error, f"{known.remedy}; 'impactcut scan --retry' tries once more")


def settings_text(settings: AnalysisSettings) -> str:
    """Settings as they are kept with a clip."""
    return json.dumps(asdict(settings), sort_keys=True)


def _plan_one(
    project: Project,
    candidate: Candidate,
    settings: AnalysisSettings,
    again: bool,
    most_tries: int,
) -> Work | StoredClip | Refusal | _PassedOver:
    path = str(candidate.path)
    known = project.clip_at(path)
    settings = _with_earlier(settings, known)
    text = settings_text(settings)
    found: Fingerprint | None = None
    try:
        found = _fingerprint(candidate.path, known)
        known = known or _moved(project, path, found)
        settled = None if again else _settled(project, known, found, text, most_tries)
        frames = 0 if settled else _frames_expected(candidate.path)
    except MediaError as error:
        if not candidate.expected and known is None:
            return _PassedOver()
        refusal = refusal_of(path, error)
        if found is not None or known is None or known.state == "failed":
            project.store_failure(path, found, text, refusal.error, refusal.remedy)
        return refusal
    return settled or Work(Task(candidate.path, settings, found.digest), found, frames)


def _settled(
    project: Project,
    known: StoredClip | None,
    found: Fingerprint,
    settings: str,
    most_tries: int,
) -> StoredClip | Refusal | None:
    if known is None or known.fingerprint is None or known.settings != settings:
        return None
    if known.fingerprint.digest != found.digest:
        return None
    if known.state == "failed":
        return given_up(known) if known.tries >= most_tries else None
    if known.clip is None or known.clip.name != Path(known.path).name:
        return None
    if known.fingerprint != found:
        project.note_touched(known.id, found)
    return known


def _fingerprint(path: Path, known: StoredClip | None) -> Fingerprint:
    if known is not None and known.fingerprint is not None and untouched(path, known.fingerprint):
        return known.fingerprint
    return fingerprint(path)


def _moved(project: Project, path: str, found: Fingerprint) -> StoredClip | None:
    """The clip measured from the same content, if its file is no longer where it was."""
    for clip in project.clips_with_digest(found.digest):
        if not Path(clip.path).exists():
            project.note_moved(clip.id, path)
            return replace(clip, path=path)
    return None


def _with_earlier(settings: AnalysisSettings, known: StoredClip | None) -> AnalysisSettings:
    earlier = {} if known is None else json.loads(known.settings)
    return replace(
        settings,
        rate=_stated(settings.rate, earlier.get("rate")),
        reel=_stated(settings.reel, earlier.get("reel")),
    )


def _stated(now: str | None, earlier: str | None) -> str | None:
    if now == FROM_FILE:
        return None
    return earlier if now is None else now


def _frames_expected(path: Path) -> int:
    with open_video(path) as (_, stream):
        if stream.frames:
            return stream.frames
        if stream.duration and stream.time_base and stream.average_rate:
            return int(stream.duration * stream.time_base * stream.average_rate)
    return 0
