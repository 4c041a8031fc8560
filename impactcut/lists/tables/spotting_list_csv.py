"""The spotting list as CSV: a row for every cue and every splice, in record order."""

from __future__ import annotations

from collections.abc import Sequence

from impactcut.core.programme.spotting_list import SoundOffset, SpottedCue, SpottedTrim
from impactcut.core.sound.sync import sync_shift
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.reasons import COUNTER
from impactcut.lists.tables.cells import Row, clock_cells, place_cells, render_table, shot_cells

COLUMNS = (
    "cue", "section", "slate", "take", "angle", "circled", "tc_in", "tc_in_frame", "tc_hit",
    "tc_hit_frame", "tc_out", "tc_out_frame", "frames", "kind", "performer", "screen", "weight",
    "speed", "hit", "clip", "source", "source_frame", "frames_out", "offset_ms", "offset_samples",
    "offset_sync", "after_frames", "after_ms", "after_samples", "after_sync", "note", "rate",
    "count_mode", "timecode_source",
)  # fmt: skip
TRIM = "trim"
"""What the kind column says of a splice."""


def render_spotting_csv(
    clock: Timebase, cues: Sequence[SpottedCue], trims: Sequence[SpottedTrim]
) -> str:
    """The CSV text of a spotting list (RFC 4180, to be stored as UTF-8), with its header row.

    ``tc_out`` is exclusive; ``speed`` is in picture widths a second. A row of kind ``trim`` stands
    at the first frame after a splice: ``frames_out`` frames went, which make sound that was not
    cut with the picture come ``offset_`` earlier (later where negative) behind it; ``after_`` is
    where such sound then lies, all trims of the shot counted. Verdicts: ITU-R BT.1359-1.

    Parameters
    ----------
    clock : Timebase
        Of the record places.
    """
    rows = [(cue.record.start, _cue_cells(cue, clock)) for cue in cues]
    rows += [(trim.record, _trim_cells(trim, clock)) for trim in trims]
    rows.sort(key=lambda row: row[0])
    numbered = (
        {**cells, "cue": number, **clock_cells(clock)} for number, (_, cells) in enumerate(rows, 1)
    )
    return render_table(COLUMNS, numbered, "the spotting list")


def _cue_cells(cue: SpottedCue, clock: Timebase) -> Row:
    return {
        **place_cells("tc_in", cue.record.start, clock),
        **({} if cue.moment is None else place_cells("tc_hit", cue.moment, clock)),
        **place_cells("tc_out", cue.record.stop, clock),
        "frames": len(cue.record),
        "kind": cue.kind,
        "performer": cue.performer,
        "screen": cue.screen,
        "weight": cue.weight,
        "speed": f"{cue.speed:.3f}" if cue.speed else "",
        "hit": cue.hit.called,
        **_source(cue.hit.clip, cue.source_frame),
        "note": cue.note,
    }


def _trim_cells(trim: SpottedTrim, clock: Timebase) -> Row:
    counter = f"; {COUNTER}" if trim.clip.counter_jumps else ""
    return {
        **place_cells("tc_in", trim.record, clock),
        **place_cells("tc_out", trim.record, clock),
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
        "note": f"for production sound that is not cut with the picture{counter}",
    }


def _source(clip: Clip, frame: int) -> Row:
    return {
        **shot_cells(clip),
        **place_cells("source", clip.source_start + frame, clip.timebase),
        "timecode_source": clip.timecode_source,
    }


def _milliseconds(offset: SoundOffset) -> float:
    return round(float(offset.milliseconds), 1)
