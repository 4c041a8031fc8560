"""Core values as plain dicts, in the published JSON form.

Fields may be added to a form; none is changed or taken away without a new `SCHEMA` number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from impactcut.core.fight.entries import ClipEntry, HitEntry, judging_note
from impactcut.core.fight.reading import Reading
from impactcut.core.learn.taste import Taste
from impactcut.core.takes.clip import Clip
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.published import trim_dict
from impactcut.core.viewer.calibration import Calibration
from impactcut.core.viewer.judge import Judge

SCHEMA = 1
Dict = dict[str, Any]


def form_head(project: Path) -> Dict:
    """What every form begins with: its number, and of which project it is."""
    return {"schema": SCHEMA, "project": str(project.resolve())}


def project_dict(
    path: Path,
    clips: Iterable[ClipEntry],
    judge: Judge,
    calibration: Calibration | None,
    taste: Taste | None = None,
    trims: Mapping[int, bytes] | None = None,
) -> Dict:
    """Clips of a project with their hits.

    ``trims``: all trims of hits, by number, where they are JSON already, a line each.
    """
    known = trims or {}
    return {
        **form_head(path),
        "fov_degrees": judge.fov_degrees,
        **judging_dict(calibration, taste),
        "clips": [
            {
                **clip_dict(entry.clip),
                "hits": [hit_dict(hit, known.get(hit.id)) for hit in entry.hits],
            }
            for entry in clips
        ],
    }


def one_hit_dict(path: Path, entry: HitEntry, elsewhere: Iterable[str]) -> Dict:
    """One hit of a project with its clip, and what other takes of its beat would allow."""
    return {
        **form_head(path),
        "fov_degrees": entry.judge.fov_degrees,
        **judging_dict(entry.calibration, entry.taste),
        "clip": clip_dict(entry.clip),
        "hit": hit_dict(entry),
        "elsewhere": list(elsewhere),
    }


def judging_dict(calibration: Calibration | None, taste: Taste | None = None) -> Dict:
    """By whose eyes and whose taste hits are judged, in words and in numbers."""
    return {
        "judging": judging_note(calibration, taste),
        "calibration": None if calibration is None else asdict(calibration),
        "taste": None if taste is None else asdict(taste),
    }


def clip_dict(clip: Clip) -> Dict:
    """What is known of a clip, without its hits."""
    return {
        "path": clip.path,
        "name": clip.name,
        "original": clip.original or None,
        "reel": clip.reel,
        "reel_source": clip.reel_source,
        "section": clip.section,
        "take": clip.take,
        "angle": clip.angle,
        "slate": clip.slate,
        "circled": clip.circled,
        "clock": clip.clock,
        "picture_metres": None
        if clip.scale is None
        else [round(clip.scale.metres, 3), round(clip.scale.error, 3)],
        "rate": str(clip.rate),
        "frames": clip.frames,
        "drop_frame": clip.drop_frame,
        "variable_rate": clip.variable_rate,
        "start_timecode": clip.timecode(0),
        "timecode_source": clip.timecode_source,
        "width": clip.width,
        "height": clip.height,
        "warnings": list(clip.warnings),
    }


def hit_dict(entry: HitEntry, trims: bytes | None = None) -> Dict:
    """One hit: frames counted from 0 at its clip's first, region in pixels as shown.

    ``trims``: as in `project_dict`.
    """
    hit, proposal, proposed = entry.impact, entry.proposal, entry.proposal.proposed
    return {
        "id": entry.id,
        "name": entry.called,
        "onset": hit.onset,
        "peak": hit.peak,
        "contact": hit.contact,
        "contact_exact": hit.contact_exact,
        "settle": hit.settle,
        "reaction": hit.reaction,
        "reaction_lag": hit.reaction_lag,
        "confidence": hit.confidence,
        "by_hand": entry.by_hand or None,
        "peak_speed": hit.peak_speed,
        "region": [round(length * entry.clip.width) for length in hit.region],
        "camera": hit.camera,
        "contact_timecode": entry.clip.timecode(hit.contact),
        "flagged": entry.flagged,
        "warnings": list(entry.warnings),
        **reading_dict(entry.reading),
        "proposed": None if proposed is None else trim_dict(proposed, entry.judge),
        "no_trim": proposal.no_trim,
        "trims": [trim_dict(trim, entry.judge) for trim in proposal.trims]
        if trims is None
        else trims,
        "decision": None if entry.decision is None else decision_dict(entry.decision),
    }


def reading_dict(reading: Reading) -> Dict:
    """How a hit reads beside its fight, and why."""
    speed = reading.limb_speed
    return {
        "weak": bool(reading.weak),
        "late": bool(reading.late),
        "early": bool(reading.early),
        "remarks": list(reading.remarks),
        "metres_per_second": None
        if speed is None
        else {name: round(value, 1) for name, value in asdict(speed).items()},
    }


def decision_dict(decision: Decision) -> Dict:
    """What was decided about a hit."""
    trim = decision.trim
    return {
        "answer": decision.answer,
        "first": None if trim is None else trim.start,
        "count": None if trim is None else len(trim),
        "who": decision.who,
        "when": decision.when,
        "note": decision.note,
        "note_who": decision.note_who,
    }
