"""Putting into the project what came of measuring a clip."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from impactcut.core.detect.confidence import SURE
from impactcut.project import Fingerprint, Project, StoredClip
from impactcut.weights import weights
from impactcut.workflow.files.fingerprint import untouched
from impactcut.workflow.files.refusals import refusal_of
from impactcut.workflow.hits.names import Names
from impactcut.workflow.hits.proposing import propose_for_clip
from impactcut.workflow.scan.analyse import ClipAnalysis
from impactcut.workflow.scan.by_hand import measure_again, put_off_unfitting, scan_actor
from impactcut.workflow.scan.clips_to_measure import Call, Work, here
from impactcut.workflow.scan.learning import judged_by, taught
from impactcut.workflow.scan.one_take import again_elsewhere, kept_beside
from impactcut.workflow.scan.stated import settings_text
from impactcut.workflow.takes.shots import pattern_in_force, with_names


@dataclass(frozen=True)
class Kept:
    """A clip that was measured and kept.

    Parameters
    ----------
    hits : int
        Found in it with confidence `SURE` or more.
    notes : tuple of str
        What a person should look at.
    """

    clip: StoredClip
    hits: int
    notes: tuple[str, ...]


def keep_measured(project: Project, work: Work, analysis: ClipAnalysis, call: Call = here) -> Kept:
    """Keep a measured clip with its hits, and propose trims for them."""
    clip = with_names(analysis.clip, pattern_in_force(project))
    found_again = _found_again(project, analysis)
    project.measure_itself(clip.path)
    earlier = project.clip_at(clip.path)
    text = settings_text(work.settings)
    hits = () if earlier is None else project.hits(earlier.id)
    before = frozenset(hit.id for hit in hits if hit.by_hand)
    clip_id = project.store_clip(clip, work.before, text, analysis.hits, analysis.trace)
    project.store_brightness(clip_id, analysis.brightness)
    stored = project.clip_at(clip.path)
    assert stored is not None
    if work.beside:
        project.put_same_takes(kept_beside(stored, each) for each in work.beside)
        stored = project.clip_at(clip.path)
        assert stored is not None
    _judge(project, stored)
    again = (*_became_by_hand(project, clip_id, before), *measure_again(project, stored, call))
    propose_for_clip(project, stored)
    return Kept(
        stored,
        sum(hit.confidence >= SURE for hit, _ in analysis.hits),
        (
            *found_again,
            *_still_written(work),
            *_notes(project, earlier, clip_id, work.before),
            *(f"{clip.path}: {note}" for note in again),
            *_put_off(project, stored),
        ),
    )


def _still_written(work: Work) -> tuple[str, ...]:
    if untouched(work.path, work.before):
        return ()
    return (
        f"{work.path}: changed while it was measured, as a file does that is still being copied; "
        "scan again when it is whole",
    )


def _found_again(project: Project, analysis: ClipAnalysis) -> tuple[str, ...]:
    """Have a clip whose file is gone go to the one that shows its pictures, encoded anew."""
    path = analysis.clip.path
    if project.clip_at(path) is not None:
        return ()
    found = again_elsewhere(analysis.clip, analysis.brightness, project)
    if found is None:
        return ()
    gone, told = found
    project.note_moved({gone.id: path})
    return (
        f"{path}: is {gone.path}, which is gone, encoded anew, as {told} tell: it keeps its name, "
        "hits by hand and answers",
    )


def _judge(project: Project, stored: StoredClip) -> None:
    """Judge finds by what was learnt, from what is kept, so that every machine says the same."""
    correction, trace = taught(project), project.trace(stored.id, weights().digest)
    if correction is not None and trace is not None:
        project.judge_again(
            stored.id,
            judged_by(trace, float(stored.clip.rate), project.hits(stored.id), correction),
        )


def _became_by_hand(project: Project, clip_id: int, before: frozenset[int]) -> Iterator[str]:
    """Hits that are kept on somebody's word, because the scan does not find them any more."""
    names = Names(project)
    for hit in project.hits(clip_id):
        if hit.by_hand and hit.id not in before:
            yield (
                f"hit {names.of(hit.id)} is no longer found and stays, by hand, {hit.by_hand}; "
                f"'impactcut decide {names.of(hit.id)} --not-a-hit' takes it out"
            )


def _put_off(project: Project, stored: StoredClip) -> Iterator[str]:
    names = Names(project)
    for hit_id, said in put_off_unfitting(project, stored, scan_actor()).items():
        assert said.trim is not None
        yield (
            f"{stored.path}: hit {names.of(hit_id)}: {len(said.trim)} from {said.trim.start}, "
            f"which {said.who or 'somebody'} approved, no longer fits and is put off; "
            f"'impactcut decide {names.of(hit_id)}' again"
        )


def _notes(
    project: Project, earlier: StoredClip | None, clip_id: int, now: Fingerprint
) -> tuple[str, ...]:
    decided = sum(hit.decision is not None for hit in project.hits(clip_id))
    orphans = len(project.orphans(clip_id))
    if earlier is None or not decided + orphans:
        return ()
    notes = []
    if earlier.measured != now.digest and decided:
        notes.append(f"{earlier.path}: the file has changed; look again at what was decided on it")
    if orphans:
        notes.append(
            f"{earlier.path}: decisions that no longer find their hit: {orphans}; "
            "'impactcut status' lists them"
        )
    return tuple(notes)


def keep_failed(project: Project, work: Work, error: Exception) -> StoredClip:
    """Keep that a clip failed, and count the try."""
    refusal = refusal_of(str(work.path), error)
    text = settings_text(work.settings)
    project.store_failure(refusal.name, work.before, text, refusal.error, refusal.remedy)
    stored = project.clip_at(refusal.name)
    assert stored is not None
    return stored
