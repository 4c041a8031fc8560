"""Takes and angles beside one another as CSV: a row for each showing of each beat."""

from __future__ import annotations

from collections.abc import Iterable

from impactcut.core.fight.ranking import ComparedBeat, Ranked
from impactcut.core.time.frames import milliseconds
from impactcut.core.trims.reasons import verdict_words
from impactcut.lists.tables.cells import Row, render_table, shot_cells

COLUMNS = (
    "beat", "rank", "reason", "section", "take", "angle", "slate", "circled", "clip", "hit",
    "contact_tc", "contact_frame", "speed", "crispness", "trim_first", "trim_frames", "gain",
    "speed_trimmed", "visibility", "verdict", "reaction_lag", "reaction_lag_trimmed",
    "reaction_lag_ms", "camera", "weak", "late", "early",
)  # fmt: skip
"""Speeds in picture widths a second, crispness in widths a second a second, lags in frames."""


def render_compare_csv(beats: Iterable[ComparedBeat]) -> str:
    """CSV text of beats in their order, best showing first."""
    rows = (_row(beat, each) for beat in beats for each in beat.ranked)
    return render_table(COLUMNS, rows, "the comparison")


def _row(beat: ComparedBeat, ranked: Ranked) -> Row:
    showing, entry = ranked.showing, ranked.showing.entry
    clip, hit, trim = entry.clip, entry.impact, entry.taken
    cells: dict[str, str | float] = {
        "beat": beat.name,
        "rank": ranked.place,
        "reason": ranked.reason,
        **shot_cells(clip),
        "hit": entry.called,
        "contact_tc": clip.timecode(hit.contact) or "",
        "contact_frame": hit.contact,
        "speed": round(hit.peak_speed, 3),
        "crispness": round(showing.crispness, 2),
        "trim_frames": 0,
        "camera": hit.camera,
        "weak": entry.reading.weak,
        "late": entry.reading.late,
        "early": entry.reading.early,
    }
    if trim is not None:
        cells |= {
            "trim_first": trim.first,
            "trim_frames": trim.count,
            "gain": round(trim.speed_gain, 3),
            "speed_trimmed": round(showing.speed, 3),
            "visibility": round(trim.visibility, 3),
            "verdict": verdict_words(trim),
        }
    if hit.reaction_lag is not None:
        cells["reaction_lag"] = hit.reaction_lag
        cells["reaction_lag_ms"] = milliseconds(hit.reaction_lag, clip.rate)
    if showing.lag is not None:
        cells["reaction_lag_trimmed"] = showing.lag
    return cells
