"""One take in several files: measured once, and named in lists by its original."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from impactcut.core.detect.hits import FoundHit
from impactcut.core.grouping import grouped
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.same_take import original_of, why_not_same
from impactcut.core.takes.shot_log import ShotSaid
from impactcut.core.time.matching import nearest_pairs
from impactcut.core.trims.decision import Decision
from impactcut.errors import NotSameTakeError, UnknownNameError
from impactcut.media.probe.container import probe
from impactcut.project import Actor, HandMark, Project, SameTake, StoredClip, StoredHit
from impactcut.project.statements.hits import SAME_HIT_FRAMES
from impactcut.workflow.files.fingerprint import fingerprint
from impactcut.workflow.hits.names import Names, keep_names


@dataclass(frozen=True)
class Paired:
    """Files that are one clip from now on.

    Parameters
    ----------
    clip : Clip
        As lists name it.
    carried : int
        Answers that went over from the file that is measured no more.
    """

    clip: Clip
    carried: int = 0


_File = StoredClip | Clip


def make_same(project: Project, original: str, proxy: str, by: Actor) -> Paired:
    """Make one clip of an original and its proxy, in one act.

    The one that is measured stays so; where both are, the one of which somebody has said something,
    or else the original. What was said of the other goes over where nothing was said of this one.

    Parameters
    ----------
    original, proxy : str
        Name, path or file name of a clip, or the path of a file; one of them measured.

    Raises
    ------
    NotSameTakeError
        If rate, length or start differ, with both figures; or neither is measured.
    UnknownNameError
        If one of them is nothing.
    """
    names = Names(project)
    one, other = _file(names, original), _file(names, proxy)
    if isinstance(one, StoredClip) and isinstance(other, StoredClip) and one.id == other.id:
        raise NotSameTakeError(f"{original} and {proxy} are one clip already")
    why = why_not_same(_own(one), _own(other))
    if why:
        raise NotSameTakeError(why)
    if not isinstance(one, StoredClip) and not isinstance(other, StoredClip):
        raise NotSameTakeError(
            f"neither {original} nor {proxy} is measured; 'impactcut scan' the proxy first"
        )
    kept, gone = _kept_and_gone(project, one, other)
    listed = kept is other
    there = (_own(gone).path, kept.id, listed)
    if there in ((take.path, take.clip_id, take.listed) for take in project.same_takes()):
        raise NotSameTakeError(f"{original} and {proxy} are one clip already, named so")
    takes = [_taken(gone, kept.id, listed)]
    if isinstance(gone, StoredClip):
        mine = (take for take in project.same_takes() if take.clip_id == gone.id)
        takes += [replace(take, clip_id=kept.id, listed=False, original=None) for take in mine]
    dropped = [gone.id] if isinstance(gone, StoredClip) else []
    act = project.put_same_takes(takes, by, dropped)
    assert act is not None
    carried = 0
    if isinstance(gone, StoredClip):
        carried = _carry_over(project, gone, kept, by, act)
    keep_names(project)
    return Paired(project.clip(kept.id).clip, carried)


def part(project: Project, file: str, by: Actor) -> str:
    """Say that a file is a take of its own, which the next scan measures; its path.

    Raises
    ------
    NotSameTakeError
        If it is not known as the same take as a clip.
    """
    whole = str(Path(file).resolve())
    found = [
        take
        for take in project.same_takes()
        if take.clip_id is not None and (take.path == whole or Path(take.path).name == file)
    ]
    if len(found) != 1:
        what = "several files are called that" if found else "it stands for no clip of the project"
        raise NotSameTakeError(f"{file}: {what}; name the path that 'impactcut same' showed")
    project.put_same_takes([SameTake(found[0].path, None, False, found[0].fingerprint)], by)
    keep_names(project)
    return found[0].path


def _file(names: Names, text: str) -> _File:
    try:
        return names.clip(text)
    except UnknownNameError:
        path = Path(text).resolve()
        if not path.is_file():
            raise
        return probe(path)


def _own(file: _File) -> Clip:
    if isinstance(file, Clip):
        return file
    assert file.own is not None
    return file.own


def _kept_and_gone(project: Project, one: _File, other: _File) -> tuple[StoredClip, _File]:
    if not isinstance(other, StoredClip):
        assert isinstance(one, StoredClip)
        return one, other
    if not isinstance(one, StoredClip):
        return other, one
    said = {clip.id for clip in (one, other) if _answered(project, clip)}
    return (other, one) if said == {other.id} else (one, other)


def _answered(project: Project, clip: StoredClip) -> bool:
    """Whether somebody said something of a clip or of its hits."""
    hits = project.hits(clip.id)
    return clip.said != ShotSaid() or any(hit.decision or hit.by_hand for hit in hits)


def _taken(file: _File, clip_id: int, listed: bool) -> SameTake:
    own = _own(file)
    seen = file.fingerprint if isinstance(file, StoredClip) else fingerprint(Path(own.path))
    return SameTake(own.path, clip_id, listed, seen, original_of(own) if listed else None)


def _carry_over(project: Project, gone: StoredClip, kept: StoredClip, by: Actor, act: int) -> int:
    """Have what was said of one clip said of another that shows the same frames; how often."""
    merged = gone.said.merged(kept.said)
    if merged != kept.said:
        project.say_of_clips({kept.id: merged})
    said = [hit for hit in project.hits(gone.id) if hit.decision is not None or hit.by_hand]
    for author, marks in grouped(_marks(project, said, kept.id)).items():
        project.mark(marks, replace(by, who=author), act)
    there = project.hits(kept.id)
    pairs = _paired(said, there)
    answers: dict[int, Decision] = {}
    for at, hit in enumerate(said):
        if at in pairs and hit.decision is not None and there[pairs[at]].decision is None:
            answers[there[pairs[at]].id] = hit.decision
    if answers:
        project.decide_all(answers, by, act)
    return len(answers)


def _marks(project: Project, said: list[StoredHit], clip_id: int) -> Iterator[tuple[str, HandMark]]:
    """Hits that the other clip lacks, or has elsewhere than somebody put them, and who did."""
    there = project.hits(clip_id)
    pairs = _paired(said, there)
    for at, hit in enumerate(said):
        here = there[pairs[at]] if at in pairs else None
        if here is not None and (here.by_hand or not hit.by_hand):
            continue
        said_by = "" if hit.decision is None else hit.decision.who or hit.decision.note_who
        number = None if here is None else here.id
        mark = HandMark(clip_id, number, FoundHit(hit.impact, project.motion(hit.id)))
        yield hit.by_hand or said_by or "somebody", mark


def _paired(said: list[StoredHit], there: tuple[StoredHit, ...]) -> dict[int, int]:
    before, now = ([int(hit.impact.contact) for hit in hits] for hits in (said, there))
    return nearest_pairs(before, now, SAME_HIT_FRAMES)
