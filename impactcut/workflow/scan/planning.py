"""What a scan has to measure, and what it can leave as it is; nothing is written here."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Literal

from impactcut.core.takes.shot_log import AS_FILED, ShotSaid
from impactcut.core.takes.shot_names import DEFAULT_PATTERN, NamePattern
from impactcut.core.time.timebase import parse_timebase
from impactcut.errors import LostProcessError, MediaError, OwnFilmError
from impactcut.media.probe.signature import may_hold_pictures
from impactcut.project import Fingerprint, Project, SameTake, StoredClip
from impactcut.workflow.files.find import Candidate
from impactcut.workflow.files.fingerprint import fingerprint, missing, untouched
from impactcut.workflow.files.moved_files import moved_clips
from impactcut.workflow.files.refusals import MOST_TRIES, Refusal, failure_of, refusal_of
from impactcut.workflow.scan.analyse import AnalysisSettings
from impactcut.workflow.scan.clips_to_measure import Call, Work, count_frames, here
from impactcut.workflow.scan.one_take import Pairing, kept_beside, paired
from impactcut.workflow.scan.stated import (
    described,
    measure_the_same,
    said_anew,
    settings_text,
    with_earlier,
)
from impactcut.workflow.takes.shots import pattern_in_force

Note = Callable[[Project], None]
"""Something to keep in the project."""


@dataclass(frozen=True)
class Plan:
    """What a scan will do.

    Parameters
    ----------
    unchanged : tuple of StoredClip
        Measured earlier, and still the same.
    passed_over : int
        Files of folders that turned out not to be media.
    dropped : int
        Clips that somebody took out.
    moved : int
        Clips that were recognised at another place or under another name.
    same : int
        Files that hold the same take as a clip that is measured.
    own_films : tuple of Path
        Files that this program made to be looked at.
    notes : tuple of callable
        What became known of files that need no measuring, to be kept in this order.
    pattern : NamePattern
        By which sections, takes and angles will be read from names.
    """

    work: tuple[Work, ...]
    unchanged: tuple[StoredClip, ...]
    passed_over: int
    refusals: tuple[Refusal, ...]
    moved: int = 0
    notes: tuple[Note, ...] = ()
    pattern: NamePattern = DEFAULT_PATTERN
    dropped: int = 0
    same: int = 0
    own_films: tuple[Path, ...] = ()


Left = Literal["passed over", "dropped", "same take", "own film"]
"""Why a file is left alone: it is not media, or somebody took the clip out, or it holds the take of
a clip that is measured, or this program made it to be looked at."""


@dataclass(frozen=True)
class _Settled:
    """A file that needs no measuring."""

    result: StoredClip | Refusal
    notes: tuple[Note, ...] = ()


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
    call: Call
    takes: Mapping[str, SameTake]
    """Files that are no clips, by path."""


def plan_scan(
    project: Project,
    candidates: Iterable[Candidate],
    settings: AnalysisSettings,
    again: bool = False,
    retry: bool = False,
    call: Call = here,
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
    call : callable
        Opens the files that are new.

    Raises
    ------
    RateError
        If the rate in the settings is none.
    """
    if settings.rate not in (None, AS_FILED):
        parse_timebase(settings.rate)
    most = sys.maxsize if retry else MOST_TRIES
    takes = {take.path: take for take in project.same_takes()}
    asked = _Asked(settings, pattern_in_force(project), again, most, call, takes)
    clips = {clip.path: clip for clip in project.clips()}
    files = [_looked_at(each, clips.get(str(each.path))) for each in candidates]
    moves = _moves(project, clips, files)
    clips = _after(clips, moves)
    results = [_plan_one(each, clips, asked) for each in files]
    settled = [each for each in results if isinstance(each, _Settled)]
    moved = (partial(Project.note_moved, moves=moves),) if moves else ()
    work, pairs = _without_same_takes(
        [each for each in results if isinstance(each, Work)], clips, asked
    )
    spared = [kept_beside(clip, each) for clip, each in pairs.known]
    taken = partial(Project.put_same_takes, takes=spared)
    said = (*_said_anew(files, clips, settings), *((taken,) if pairs.known else ()))
    return Plan(
        work=work,
        unchanged=tuple(each.result for each in settled if isinstance(each.result, StoredClip)),
        passed_over=results.count("passed over"),
        refusals=tuple(each.result for each in settled if isinstance(each.result, Refusal)),
        moved=len(moves),
        notes=(*moved, *(note for each in settled for note in each.notes), *said),
        pattern=asked.pattern,
        dropped=results.count("dropped"),
        same=results.count("same take") + len(pairs.spared),
        own_films=tuple(
            file.candidate.path
            for file, result in zip(files, results, strict=True)
            if result == "own film"
        ),
    )


def _without_same_takes(
    work: Sequence[Work], clips: Mapping[str, StoredClip], asked: _Asked
) -> tuple[tuple[Work, ...], Pairing]:
    """The work without files whose takes are measured or will be, and which those are."""
    known = {path for path, clip in clips.items() if clip.own is not None}
    new = [each for each in work if str(each.path) not in known]
    apart = {path for path, take in asked.takes.items() if take.clip_id is None}
    pairs = paired(new, clips.values(), apart, asked.call)
    left = (each for each in work if each.path not in pairs.spared)
    return tuple(replace(each, beside=pairs.new.get(each.path, ())) for each in left), pairs


def _said_anew(
    files: Iterable[_File], clips: Mapping[str, StoredClip], settings: AnalysisSettings
) -> Iterator[Note]:
    """What a scan says of clips otherwise than people did before."""
    for file in files:
        known = clips.get(file.path)
        anew = said_anew(settings, known)
        if known is not None and anew != ShotSaid():
            yield partial(Project.say_of_clips, heard={known.id: anew})


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


def _after(clips: Mapping[str, StoredClip], moves: Mapping[int, str]) -> dict[str, StoredClip]:
    """The clips by path as they will be once those are moved; what is in the way is forgotten."""
    stay = {path: clip for path, clip in clips.items() if clip.id not in moves}
    there = {clip.id: clip for clip in clips.values()}
    return stay | {path: _moved(there[number], path) for number, path in moves.items()}


def _moved(stored: StoredClip, path: str) -> StoredClip:
    assert stored.own is not None
    return replace(stored, path=path, own=replace(stored.own, path=path))


def _plan_one(
    file: _File, clips: Mapping[str, StoredClip], asked: _Asked
) -> Work | _Settled | Left:
    known = clips.get(file.path)
    if _stands_for_a_clip(file, clips, asked):
        return "same take"
    if known is not None and known.dropped:
        return "dropped"
    settings = with_earlier(asked.settings, known)
    found = file.seen if isinstance(file.seen, Fingerprint) else None
    try:
        if isinstance(file.seen, MediaError):
            raise file.seen
        if found is None:
            return "passed over"
        settled = None if asked.again else _settled(known, found, settings, asked)
        frames = 0 if settled else _counted(file.candidate.path, asked.call)
    except MediaError as error:
        if isinstance(error, OwnFilmError) and known is None:
            return "own film"
        if not file.candidate.expected and known is None:
            return "passed over"
        return _refused(file.path, found, known, settings, error)
    return settled or Work(file.candidate.path, settings, found, frames)


def _stands_for_a_clip(file: _File, clips: Mapping[str, StoredClip], asked: _Asked) -> bool:
    """Whether a file is known as the take of a clip whose own file is there."""
    take = asked.takes.get(file.path)
    if take is None or take.clip_id is None or take.fingerprint is None:
        return False
    clip = next((clip for clip in clips.values() if clip.id == take.clip_id), None)
    return (
        isinstance(file.seen, Fingerprint)
        and file.seen.digest == take.fingerprint.digest
        and clip is not None
        and not missing(Path(clip.path))
    )


def _counted(path: Path, call: Call) -> int:
    """Frames of a file; 0 if that cost a process, which measuring will then tell of."""
    try:
        counted: int = call(path, count_frames, (path,))
        return counted
    except LostProcessError:
        return 0


def _refused(
    path: str,
    found: Fingerprint | None,
    known: StoredClip | None,
    settings: AnalysisSettings,
    error: MediaError,
) -> _Settled:
    """A file that cannot be measured; a clip whose file only cannot be read now stays measured."""
    refusal = refusal_of(path, error)
    if found is None and known is not None and known.state != "failed":
        return _Settled(refusal)
    note = partial(
        Project.store_failure,
        path=path,
        fingerprint=found,
        settings=settings_text(settings),
        error=refusal.error,
        remedy=refusal.remedy,
    )
    return _Settled(refusal, (note,))


def _settled(
    known: StoredClip | None, found: Fingerprint, settings: AnalysisSettings, asked: _Asked
) -> _Settled | None:
    """What needs no measuring: unchanged, but perhaps for its name and reel, or given up."""
    if known is None or known.fingerprint is None or known.fingerprint.digest != found.digest:
        return None
    if not measure_the_same(known.settings, settings, known.own):
        return None
    if known.state == "failed":
        return _Settled(failure_of(known)) if known.tries >= asked.most_tries else None
    touched = partial(Project.note_touched, clip_id=known.id, fingerprint=found)
    notes = () if known.fingerprint == found else (touched,)
    described = _described(known, settings, asked.pattern)
    return _Settled(described.result, (*notes, *described.notes))


def _described(known: StoredClip, settings: AnalysisSettings, pattern: NamePattern) -> _Settled:
    path, text = Path(known.path), settings_text(settings)
    assert known.own is not None
    if known.settings == text and known.own.name == path.name:
        return _Settled(known)
    own = described(known.own, path, settings, pattern)
    note = partial(Project.describe, clip_id=known.id, clip=own, settings=text)
    return _Settled(replace(known, own=own, settings=text), (note,))
