"""Core values as the plain dicts that the page draws. No path of the disk is in any of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from impactcut.core.motion.measured import HitMotion
from impactcut.core.sound.sync import sync_shift
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decisions import Decision
from impactcut.core.trims.reasons import shows, where
from impactcut.core.trims.splices import COUNTS
from impactcut.core.trims.trim import Trim, lag_after
from impactcut.project import Clearing
from impactcut.review.chart import motion_chart
from impactcut.workflow.hits.answers import Taken, version
from impactcut.workflow.hits.entries import HitEntry, judging_note, source_timecode
from impactcut.workflow.hits.views import decision_dict, reading_dict
from impactcut.workflow.pictures.hit_pictures import shown_frames

SCHEMA: Final = 1
Dict = dict[str, Any]


@dataclass(frozen=True)
class ReviewedHit:
    """A hit with what the page needs beside it: its clip's digest."""

    entry: HitEntry
    digest: str


def review_dict(name: str, key: str, made: str, hits: Iterable[ReviewedHit]) -> Dict:
    """Everything that the overview shows.

    Parameters
    ----------
    name : str
        Of the project, for people.
    key : str
        Of the project, under which a browser keeps answers.
    made : str
        UTC, ISO 8601.
    """
    shown = list(hits)
    return {
        "schema": SCHEMA,
        "project": name,
        "key": key,
        "made": made,
        "judging": shown[0].entry.judging if shown else judging_note(None, None),
        "hits": [overview_dict(hit) for hit in shown],
    }


def overview_dict(reviewed: ReviewedHit) -> Dict:
    """What is known of a hit at a glance."""
    entry = reviewed.entry
    hit, clip, proposal = entry.hit, entry.clip, entry.proposal
    left, top, width, height = hit.region
    shown = shown_frames(hit, clip)
    return {
        "id": entry.id,
        "name": entry.called,
        "clip": clip.name,
        "digest": reviewed.digest,
        "section": clip.section,
        "take": clip.take,
        "angle": clip.angle,
        "slate": clip.slate,
        "circled": clip.circled,
        "camera": hit.camera,
        "contact": hit.contact,
        "timecode": source_timecode(clip, hit.contact),
        "rate": [clip.rate.numerator, clip.rate.denominator],
        "shape": [clip.width, clip.height],
        "shown": [shown.start, len(shown)],
        "centre": [_part(left + width / 2), _part((top + height / 2) * clip.width / clip.height)],
        "confidence": hit.confidence,
        "by_hand": entry.by_hand or None,
        "speed": hit.peak_speed,
        "lag": _lag(hit.reaction_lag, clip.rate),
        **reading_dict(entry.reading),
        "proposed": None
        if proposal.proposed is None
        else short_trim_dict(entry, proposal.proposed),
        "trims": [short_trim_dict(entry, trim) for trim in proposal.trims if not trim.vetoes],
        "no_trim": proposal.no_trim,
        **decided_dict(entry.decision),
    }


def decided_dict(decision: Decision | None) -> Dict:
    """What is decided about a hit, and the name of that state."""
    return {
        "decision": None if decision is None else decision_dict(decision),
        "version": version(decision),
    }


def detail_dict(entry: HitEntry, motion: HitMotion, elsewhere: Iterable[str] = ()) -> Dict:
    """What is known of a hit once it is opened: every trim, what moves, what other takes allow."""
    best = entry.best
    return {
        "id": entry.id,
        "onset": entry.hit.onset,
        "settle": entry.hit.settle,
        "reaction": entry.hit.reaction,
        "trims": [trim_dict(entry, trim) for trim in entry.proposal.trims],
        "best": {count: best[count].first for count in COUNTS if count in best},
        "sound": entry.clip.has_sound,
        "warnings": [*entry.warnings, *entry.clip.warnings],
        "elsewhere": list(elsewhere),
        "timecodes": _timecodes(entry.clip, shown_frames(entry.hit, entry.clip)),
        "motion": motion_chart(motion, shown_frames(entry.hit, entry.clip)),
    }


def short_trim_dict(entry: HitEntry, trim: Trim) -> Dict:
    """A trim as the overview shows it."""
    return {
        "first": trim.first,
        "count": trim.count,
        "gain": trim.speed_gain,
        "visibility": trim.visibility,
        "verdict": trim.verdict,
        "shows": shows(trim),
        "flagged": entry.doubts(trim),
    }


def trim_dict(entry: HitEntry, trim: Trim) -> Dict:
    """A trim as an opened hit shows it."""
    rate = entry.clip.rate
    sync = sync_shift(trim.count, rate)
    return {
        **short_trim_dict(entry, trim),
        "where": where(entry.hit, trim),
        "reasons": list(trim.reasons),
        "vetoes": list(trim.vetoes),
        "lag": _lag(lag_after(entry.hit, trim.first, trim.count), rate),
        "sync": {"ms": round(float(sync.milliseconds)), "words": sync.words},
    }


def taken_dict(taken: Taken) -> Dict:
    """What came of an answer, for the page that sent it."""
    return {
        "hit": taken.hit,
        "fate": taken.fate,
        "reason": taken.reason,
        "unseen": None if taken.unseen is None else _said_dict(taken.unseen),
        **decided_dict(taken.decision),
    }


def _said_dict(said: Decision | Clearing) -> Dict:
    if isinstance(said, Decision):
        return decision_dict(said)
    return {
        "answer": "cleared",
        "first": None,
        "count": None,
        "who": said.who,
        "when": said.when,
        "note": said.note,
    }


def _lag(frames: int | None, rate: Fraction) -> Mapping[str, int] | None:
    if frames is None:
        return None
    return {"frames": frames, "ms": round(float(1000 * frames / rate))}


def _part(length: float) -> float:
    return round(min(1.0, max(0.0, length)), 3)


def _timecodes(clip: Clip, shown: FrameRange) -> list[str | None]:
    return [source_timecode(clip, frame) for frame in range(shown.start, shown.stop)]
