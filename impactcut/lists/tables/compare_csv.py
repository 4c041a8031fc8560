"""Takes and angles beside one another as CSV: a row for each showing of each beat."""

from __future__ import annotations

from collections.abc import Iterable

from impactcut.core.fight.ranking import ComparedBeat, Ranked
from impactcut.core.takes.clip import Clip
from impactcut.core.trims.reasons import verdict_words
from impactcut.errors import RateError
from impactcut.lists.csv_text import well_formed, write_csv

COLUMNS = (
    "beat", "rank", "reason", "section", "take", "angle", "slate", "circled", "clip", "hit",
    "contact_tc", "contact_frame", "speed", "crispness", "trim_first", "trim_frames", "gain",
    "speed_trimmed", "visibility", "verdict", "reaction_lag", "reaction_lag_trimmed",
    "reaction_lag_ms", "camera", "weak", "late", "early",
)  # fmt: skip
"""Speeds in picture widths a second, crispness in widths a second a second, lags in frames."""


def render_compare_csv(beats: Iterable[ComparedBeat]) -> str:
    """CSV text of beats in their order, best showing first."""
    return write_csv(COLUMNS, [_row(beat, each) for beat in beats for each in beat.ranked])


def _row(beat: ComparedBeat, ranked: Ranked) -> list[str | float]:
    showing = ranked.showing
    clip, hit, trim = showing.clip, showing.hit, showing.trim
    lag = hit.reaction_lag
    trimmed: list[str | float] = ["", 0, "", "", "", ""]
    if trim is not None:
        trimmed = [trim.first, trim.count, round(trim.speed_gain, 3)]
        trimmed += [round(showing.speed, 3), round(trim.visibility, 3)]
        trimmed += [verdict_words(trim)]
    return [
        beat.name,
        ranked.place,
        ranked.reason,
        *(well_formed(text) for text in (clip.section, clip.take, clip.angle, clip.slate)),
        "yes" if clip.circled else "no",
        well_formed(clip.name),
        showing.called,
        _timecode(clip, hit.contact),
        hit.contact,
        round(showing.hit.peak_speed, 3),
        round(showing.crispness, 2),
        *trimmed,
        "" if lag is None else lag,
        "" if showing.lag is None else showing.lag,
        "" if lag is None else round(float(1000 * lag / clip.rate)),
        hit.camera,
        showing.reading.weak,
        showing.reading.late,
        showing.reading.early,
    ]


def _timecode(clip: Clip, frame: int) -> str:
    """Source timecode; empty at a rate for which there is none."""
    try:
        return clip.source_label(frame)
    except RateError:
        return ""
