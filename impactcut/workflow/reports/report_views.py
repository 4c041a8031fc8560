"""Reports on a whole project as plain dicts, in the published JSON form."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path

from impactcut.core.fight.ranking import Ranked
from impactcut.core.learn.correction import Lesson, check_note
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.published import trim_dict
from impactcut.core.viewer.judge import Judge
from impactcut.project import StoredClip
from impactcut.workflow.files.refusals import failure_of
from impactcut.workflow.hits.undo_history import Line
from impactcut.workflow.hits.views import (
    Dict,
    clip_dict,
    decision_dict,
    form_head,
    judging_dict,
    reading_dict,
)
from impactcut.workflow.reports.status import Orphan, Status
from impactcut.workflow.takes.comparing import Comparison
from impactcut.workflow.takes.shots import ShotPlan


def shots_dict(path: Path, plan: ShotPlan, kept: bool) -> Dict:
    """Section, take and angle of every clip, as shown, and what of a log found no place."""
    log = plan.log
    return {
        **form_head(path),
        "pattern": plan.pattern.text,
        "kept": kept,
        "clips": [
            {**clip_dict(shot.after), "changed": shot.before != shot.after} for shot in plan.shots
        ],
        "unmatched_lines": [] if log is None else [row.line for row in log.unmatched_rows],
        "ambiguous_lines": [] if log is None else [row.line for row in log.ambiguous_rows],
        "unmatched_clips": [] if log is None else [clip.path for clip in log.unmatched_clips],
    }


def comparison_dict(path: Path, found: Comparison) -> Dict:
    """Beats, each with its takes and angles, the best first."""
    judge = found.judge
    return {
        **form_head(path),
        "fov_degrees": judge.fov_degrees,
        **judging_dict(found.calibration),
        "beats": [
            {
                "name": beat.name,
                "section": beat.section,
                "number": beat.number,
                "showings": [_ranked_dict(each, judge) for each in beat.ranked],
            }
            for beat in found.beats
        ],
        "without_section": [clip.path for clip in found.unplaced],
    }


def _ranked_dict(ranked: Ranked, judge: Judge) -> Dict:
    showing, entry = ranked.showing, ranked.showing.entry
    return {
        "rank": ranked.place,
        "reason": ranked.reason,
        "hit": entry.id,
        "hit_name": entry.called,
        "clip": clip_dict(entry.clip),
        "contact": entry.impact.contact,
        "contact_timecode": entry.clip.timecode(entry.impact.contact),
        "camera": entry.impact.camera,
        "speed": entry.impact.peak_speed,
        "speed_trimmed": showing.speed,
        "crispness": showing.crispness,
        "reaction_lag": entry.impact.reaction_lag,
        "reaction_lag_trimmed": showing.lag,
        "trim": None if entry.taken is None else trim_dict(entry.taken, judge),
        **reading_dict(entry.reading),
    }


def status_dict(path: Path, held: Status) -> Dict:
    """What a project holds."""
    return {
        **form_head(path),
        "clips": held.clips,
        "dropped": held.dropped,
        "hits": held.hits,
        "approved": held.answers["approved"],
        "declined": held.answers["declined"],
        "later": held.answers["later"],
        "not_a_hit": held.answers["not-a-hit"],
        "failed": [_failed_dict(clip) for clip in held.failed],
        "orphans": [_orphan_dict(orphan) for orphan in held.orphans],
        "odd": [
            {"what": odd.what, "remedy": odd.remedy, "names": list(odd.names)} for odd in held.odd
        ],
        **judging_dict(held.calibration, held.taste),
        "learnt": None
        if held.lesson is None
        else {**lesson_dict(held.lesson), "in_use": held.fits},
    }


def lesson_dict(lesson: Lesson) -> Dict:
    """What was learnt from answers, and what that is worth."""
    return {
        "digest": lesson.correction.digest,
        "weights": lesson.correction.weights,
        **asdict(lesson.check),
        "note": check_note(lesson.check),
    }


def history_dict(path: Path, lines: Iterable[Line]) -> Dict:
    """Everything that was said, oldest first."""
    return {
        **form_head(path),
        "history": [
            {
                "act": line.act.id,
                "undoes": line.act.undoes,
                "undone": line.act.undone,
                "who": line.who,
                "when": line.when,
                "from": line.act.by.source or "unknown",
                "hit": None if line.hit is None else line.hit.id,
                "hit_name": line.name or None,
                "clip": None if line.clip is None else line.clip.path,
                "contact": line.contact,
                "said": line.words,
                "decision": decision_dict(line.said) if isinstance(line.said, Decision) else None,
            }
            for line in lines
        ],
    }


def _failed_dict(clip: StoredClip) -> Dict:
    why = failure_of(clip)
    return {"path": clip.path, "error": why.error, "remedy": why.remedy, "tries": clip.tries}


def _orphan_dict(orphan: Orphan) -> Dict:
    said = orphan.entry.said
    return {
        "path": orphan.clip.path,
        "contact": orphan.entry.contact,
        "contact_timecode": orphan.clip.timecode(orphan.entry.contact),
        "decision": decision_dict(said) if isinstance(said, Decision) else None,
    }
