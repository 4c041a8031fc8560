"""Core values as the plain dicts that the page draws. No path of the disk is in any of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from impactcut.core.fight.entries import HitEntry, judging_note
from impactcut.core.fight.ranking import ComparedBeat
from impactcut.core.motion.curves import channel_speed
from impactcut.core.motion.measured import HitMotion
from impactcut.core.sound.sync import sync_shift
from impactcut.core.time.frames import FrameRange, milliseconds
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.reasons import shows, where
from impactcut.core.trims.splice_indices import COUNTS
from impactcut.core.trims.strip import strip_frames
from impactcut.core.trims.trim import Trim, lag_after
from impactcut.project import Clearing, StoredClip
from impactcut.workflow.hits.page_answers import Taken, version
from impactcut.workflow.hits.views import decision_dict, reading_dict
from impactcut.workflow.pictures.hit_pictures import shown_frames
from impactcut.workflow.scan.taps import TakenTap

SCHEMA: Final = 1
Dict = dict[str, Any]


@dataclass(frozen=True)
class ReviewedHit:
    """A hit with what the page needs beside it: its clip's digest."""

    entry: HitEntry
    digest: str


def review_dict(
    name: str, key: str, made: str, hits: Iterable[ReviewedHit], edition: str = ""
) -> Dict:
    """Everything that the overview shows.

    Parameters
    ----------
    name : str
        Of the project, for people.
    key : str
        Of the project, under which a browser keeps answers.
    made : str
        UTC, ISO 8601.
    edition : str
        Of the hits: another one where what was measured or said of clips is another.
    """
    shown = list(hits)
    return {
        "schema": SCHEMA,
        "project": name,
        "key": key,
        "made": made,
        "edition": edition,
        "judging": shown[0].entry.judging if shown else judging_note(None, None),
        "hits": [overview_dict(hit) for hit in shown],
    }


def overview_dict(reviewed: ReviewedHit) -> Dict:
    """What is known of a hit at a glance."""
    entry = reviewed.entry
    hit, clip, proposal = entry.impact, entry.clip, entry.proposal
    shown, strip = shown_frames(hit, clip), strip_frames(hit.contact, clip.frames)
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
        "timecode": clip.timecode(hit.contact),
        "rate": [clip.rate.numerator, clip.rate.denominator],
        "shape": [clip.width, clip.height],
        "shown": [shown.start, len(shown)],
        "strip": [strip.start, len(strip)],
        "confidence": hit.confidence,
        "by_hand": entry.by_hand or None,
        "speed": hit.peak_speed,
        "lag": _lag(hit.reaction_lag, clip.rate),
        **reading_dict(entry.reading),
        "proposed": None
        if proposal.proposed is None
        else short_trim_dict(entry, proposal.proposed),
        "approved": None if entry.approved is None else short_trim_dict(entry, entry.approved),
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
    best, shown = entry.best, shown_frames(entry.impact, entry.clip)
    return {
        "id": entry.id,
        "onset": entry.impact.onset,
        "settle": entry.impact.settle,
        "reaction": entry.impact.reaction,
        "trims": [trim_dict(entry, trim) for trim in entry.proposal.trims],
        "best": {count: best[count].first for count in COUNTS if count in best},
        "sound": entry.clip.has_sound,
        "warnings": [*entry.warnings, *entry.clip.warnings],
        "elsewhere": list(elsewhere),
        "timecodes": [entry.clip.timecode(frame) for frame in range(shown.start, shown.stop)],
        "motion": motion_chart(motion, shown),
    }


def motion_chart(motion: HitMotion, shown: FrameRange) -> dict[str, Any]:
    """How fast strike, receiver and background move between the frames shown.

    Parameters
    ----------
    shown : FrameRange
        Frames of the clip.

    Returns
    -------
    dict
        ``strike``, ``receiver`` (None where nobody was seen to receive) and ``background``: picture
        widths a second for each of the ``len(shown) - 1`` intervals, None where nothing was
        measured. Strike and receiver without the camera's movement.
    """
    return {name: _speeds(motion, name, shown) for name in ("strike", "receiver", "background")}


def _speeds(motion: HitMotion, name: str, shown: FrameRange) -> list[float | None] | None:
    speed = channel_speed(motion, name)
    if speed is None:
        return None
    measured = dict(enumerate(speed.round(4).tolist(), start=motion.first))
    return [measured.get(frame) for frame in range(shown.start, shown.stop - 1)]


def short_trim_dict(entry: HitEntry, trim: Trim) -> Dict:
    """A trim as the overview shows it."""
    return {
        "first": trim.first,
        "count": trim.count,
        "gain": trim.speed_gain,
        "visibility": trim.visibility,
        "verdict": trim.verdict,
        "shows": shows(trim),
        "uncertain": trim.confident is False,
        "flagged": bool(entry.doubts(trim)),
        "doubts": list(entry.doubts(trim)),
    }


def trim_dict(entry: HitEntry, trim: Trim) -> Dict:
    """A trim as an opened hit shows it."""
    rate = entry.clip.rate
    sync = sync_shift(trim.count, rate)
    return {
        **short_trim_dict(entry, trim),
        "where": where(entry.impact, trim),
        "reasons": list(trim.reasons),
        "vetoes": list(trim.vetoes),
        "lag": _lag(lag_after(entry.impact, trim.first, trim.count), rate),
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


def beats_dict(beats: Iterable[ComparedBeat]) -> list[Dict]:
    """The beats of the fight, each with its hits, best first, and why."""
    return [
        {
            "section": beat.section,
            "number": beat.number,
            "hits": [
                {"id": ranked.showing.entry.id, "place": ranked.place, "reason": ranked.reason}
                for ranked in beat.ranked
            ],
        }
        for beat in beats
    ]


def tap_dict(taken: TakenTap) -> Dict:
    """What came of a tap, for the page that sent it."""
    entry = taken.entry
    return {
        "act": taken.act,
        "reason": taken.reason,
        "hit": None
        if entry is None
        else {
            "id": entry.id,
            "name": entry.called,
            "contact": entry.impact.contact,
            "timecode": entry.clip.timecode(entry.impact.contact),
        },
    }


def clips_dict(clips: Iterable[StoredClip]) -> list[Dict]:
    """The clips that can be watched, and tapped along with."""
    return [
        {
            "id": stored.id,
            "name": stored.clip.name,
            "digest": stored.measured,
            "frames": stored.clip.frames,
            "rate": [stored.clip.rate.numerator, stored.clip.rate.denominator],
            "shape": [stored.clip.width, stored.clip.height],
        }
        for stored in clips
    ]


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
    return {"frames": frames, "ms": milliseconds(frames, rate)}
