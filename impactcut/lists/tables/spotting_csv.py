"""The spotting list as CSV: a row for every cue and every splice, in record order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from impactcut.core.programme.spotting import SoundOffset, SpottedCue, SpottedTrim
from impactcut.core.sound.sync import sync_shift
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.reasons import COUNTER
from impactcut.lists.csv_text import well_formed, write_csv
from impactcut.lists.tables.clock_cells import count_mode, rate_cell

COLUMNS = (
    "cue", "section", "slate", "take", "angle", "circled", "tc_in", "tc_in_frame", "tc_hit",
    "tc_hit_frame", "tc_out", "tc_out_frame", "frames", "kind", "performer", "screen", "weight",
    "speed", "hit", "clip", "source", "source_frame", "frames_out", "offset_ms", "offset_samples",
    "offset_sync", "after_frames", "after_ms", "after_samples", "after_sync", "note", "rate",
    "count_mode", "timecode_source",
)  # fmt: skip
TRIM = "trim"
"""What the kind column says of a splice."""
Cells = dict[str, str | float]


@dataclass(frozen=True)
class SpottingList:
    """What a spotting list says, and the record clock it says it on."""

    timebase: Timebase
    cues: tuple[SpottedCue, ...]
    trims: tuple[SpottedTrim, ...]


def render_spotting_csv(spotting: SpottingList) -> str:
    """The CSV text of a spotting list (RFC 4180, to be stored as UTF-8), with its header row.

    ``tc_out`` is exclusive; ``speed`` is in picture widths a second. A row of kind ``trim`` stands
    at the first frame after a splice: ``frames_out`` frames went, which make sound that was not
    cut with the picture come ``offset_`` earlier (later where negative) behind it; ``after_`` is
    where such sound then lies, all trims of the shot counted. Verdicts: ITU-R BT.1359-1.
    """
    rows = [(cue.record.start, _cue_cells(cue, spotting.timebase)) for cue in spotting.cues]
    rows += [(trim.record, _trim_cells(trim, spotting.timebase)) for trim in spotting.trims]
    rows.sort(key=lambda row: row[0])
    return write_csv(
        COLUMNS,
        [_row(number, cells, spotting.timebase) for number, (_, cells) in enumerate(rows, 1)],
    )


def _row(number: int, cells: Cells, clock: Timebase) -> Sequence[str | float]:
    whole: Cells = {
        **cells,
        "cue": number,
        "rate": rate_cell(clock),
        "count_mode": count_mode(clock),
    }
    return [whole.get(column, "") for column in COLUMNS]


def _cue_cells(cue: SpottedCue, clock: Timebase) -> Cells:
    return {
        **_place("tc_in", cue.record.start, clock),
        **({} if cue.moment is None else _place("tc_hit", cue.moment, clock)),
        **_place("tc_out", cue.record.stop, clock),
        "frames": len(cue.record),
        "kind": cue.kind,
        "performer": cue.performer,
        "screen": cue.screen,
        "weight": cue.weight,
        "speed": f"{cue.speed:.3f}" if cue.speed else "",
        "hit": cue.called,
        **_source(cue.clip, cue.source_frame),
        "note": well_formed(cue.note),
    }


def _trim_cells(trim: SpottedTrim, clock: Timebase) -> Cells:
    return {
        **_place("tc_in", trim.record, clock),
        **_place("tc_out", trim.record, clock),
        "frames": 0,
        "kind": TRIM,
        "hit": " ".join(trim.hits),
        **_source(trim.clip, trim.gone.start),
        "frames_out": len(trim.gone),
        "offset_ms": _milliseconds(trim.own),
        "offset_samples": trim.own.samples,
        "offset_sync": sync_shift(len(trim.gone), clock.rate).words,
        "after_frames": trim.after.frames,
        "after_ms": _milliseconds(trim.after),
        "after_samples": trim.after.samples,
        "after_sync": trim.after.words,
        "note": "; ".join(_trim_notes(trim.clip)),
    }


def _trim_notes(clip: Clip) -> Iterator[str]:
    yield "for production sound that is not cut with the picture"
    if clip.counter_jumps:
        yield COUNTER


def _place(column: str, frame: int, clock: Timebase) -> Cells:
    return {column: clock.label(frame), f"{column}_frame": frame}


def _source(clip: Clip, frame: int) -> Cells:
    return {
        "section": well_formed(clip.section),
        "slate": well_formed(clip.slate),
        "take": well_formed(clip.take),
        "angle": well_formed(clip.angle),
        "circled": "yes" if clip.circled else "no",
        "clip": well_formed(clip.name),
        "source": clip.source_label(frame),
        "source_frame": clip.source_start + frame,
        "timecode_source": clip.timecode_source,
    }


def _milliseconds(offset: SoundOffset) -> float:
    return round(float(offset.milliseconds), 1)
