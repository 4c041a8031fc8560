"""What a project holds."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from impactcut.core.learn.correction import Lesson
from impactcut.core.learn.taste import Taste
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.names import natural_order
from impactcut.core.viewer.calibration import Calibration
from impactcut.project import DecisionEntry, Project, StoredClip
from impactcut.weights import weights
from impactcut.workflow.files.files_since import Oddity
from impactcut.workflow.hits.hit_filter import ALL_HITS, measured_clips
from impactcut.workflow.hits.tasting import taste_if_known
from impactcut.workflow.reports.oddities import oddities


@dataclass(frozen=True)
class Orphan:
    """A decision in force about a hit that its clip no longer has."""

    clip: Clip
    entry: DecisionEntry


@dataclass(frozen=True)
class Status:
    """What a project holds.

    Parameters
    ----------
    clips : int
        Measured.
    dropped : int
        Taken out.
    hits : int
        Found in them with confidence `SURE` or more, or said to be hits.
    answers : mapping of str to int
        How many are approved, as shot (``declined``), left for later, or no hits.
    failed : tuple of StoredClip
        Files that could not be measured.
    odd : tuple of Oddity
        What else a person should look at.
    lesson : Lesson or None
        What the finder was taught; ``fits`` says whether by the weights that are in use.
    taste : Taste or None
        Of those who approved; None of fewer than ten approvals.
    """

    clips: int
    hits: int
    answers: Counter[str]
    failed: tuple[StoredClip, ...]
    orphans: tuple[Orphan, ...]
    odd: tuple[Oddity, ...] = ()
    calibration: Calibration | None = None
    dropped: int = 0
    lesson: Lesson | None = None
    fits: bool = True
    taste: Taste | None = None


def project_status(project: Project) -> Status:
    """Count what a project holds, and name what failed or hangs in the air."""
    measured = measured_clips(project)
    by_clip = project.all_hits()
    found = [hit for clip in measured for hit in by_clip.get(clip.id, ())]
    hits = [hit for hit in found if ALL_HITS.sure_enough(hit)]
    clips = project.clips()
    lesson = project.lesson()
    answers: Counter[str] = Counter(
        hit.decision.answer for hit in found if hit.decision is not None
    )
    failed = [clip for clip in clips if clip.state == "failed" and not clip.dropped]
    return Status(
        clips=len(measured),
        dropped=sum(clip.dropped for clip in clips),
        hits=len(hits),
        answers=answers,
        failed=tuple(sorted(failed, key=lambda clip: natural_order(clip.path))),
        orphans=tuple(
            Orphan(clip.clip, entry) for clip in measured for entry in project.orphans(clip.id)
        ),
        odd=oddities(project),
        calibration=project.calibration(),
        lesson=lesson,
        fits=lesson is None or lesson.correction.weights == weights().digest,
        taste=taste_if_known(project),
    )
