"""The change list as CSV: one row for each adjustment, integer frames beside every timecode."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import get_args

from impactcut.core.programme.change_list import Adjustment, ChangeList, Operation
from impactcut.core.programme.sequence import named_tracks
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError
from impactcut.lists.csv_text import read_csv, well_formed, write_csv
from impactcut.lists.tables.clock_cells import check_label, count_mode, is_drop, rate_cell

COLUMNS = (
    "number", "operation", "tracks", "event", "reel", "clip", "record_old_in",
    "record_old_in_frame", "record_old_out", "record_old_out_frame", "record_new",
    "record_new_frame", "frames", "running_offset", "source_first", "source_first_frame",
    "source_last", "source_last_frame", "source_count_mode", "note", "version_old", "version_new",
    "rate", "count_mode", "start", "start_frame", "length_old", "length_new",
)  # fmt: skip
_SAME_IN_ALL = COLUMNS[COLUMNS.index("version_old") :]
_OPERATIONS: Mapping[str, Operation] = {each: each for each in get_args(Operation)}
Row = Mapping[str, str]


def render_change_csv(changes: ChangeList) -> str:
    """The CSV text of a change list (RFC 4180, to be stored as UTF-8), with its header row."""
    whole = _whole(changes)
    rows = []
    for number, adjustment in enumerate(changes.adjustments, 1):
        cells = {"number": number, **_cells(adjustment, changes.timebase), **whole}
        rows.append([cells[column] for column in COLUMNS])
    return write_csv(COLUMNS, rows)


def parse_change_csv(text: str) -> ChangeList:
    """Read the text of `render_change_csv` back.

    Raises
    ------
    ListFormatError
        If it is not such a text, has no row, its rows are of different lists, or a timecode and
        the frames beside it disagree.
    """
    rows = [dict(zip(COLUMNS, cells, strict=True)) for cells in read_csv(text, COLUMNS)]
    if not rows:
        raise ListFormatError("the change list has no row, so there is nothing to change")
    adjustments = []
    for number, row in enumerate(rows, 2):
        if any(row[column] != rows[0][column] for column in _SAME_IN_ALL):
            raise ListFormatError(f"row {number} is of another change list than row 2")
        try:
            adjustments.append(_adjustment(row, _record_clock(row), number - 1))
        except (ValueError, KeyError, ZeroDivisionError) as error:
            raise ListFormatError(f"row {number}: {error}") from error
    try:
        return _changes(rows[0], tuple(adjustments))
    except ValueError as error:
        raise ListFormatError(f"row 2: {error}") from error


def _whole(changes: ChangeList) -> dict[str, str | int]:
    return {
        "version_old": well_formed(changes.old_title),
        "version_new": well_formed(changes.new_title),
        "rate": rate_cell(changes.timebase),
        "count_mode": count_mode(changes.timebase),
        "start": changes.timebase.label(changes.record_start),
        "start_frame": changes.record_start,
        "length_old": changes.old_length,
        "length_new": changes.new_length,
    }


def _cells(adjustment: Adjustment, clock: Timebase) -> dict[str, str | int]:
    record = adjustment.record
    return {
        "operation": adjustment.operation,
        "tracks": named_tracks(adjustment.tracks),
        "event": adjustment.event or "",
        "reel": well_formed(adjustment.reel),
        "clip": well_formed(adjustment.clip),
        "record_old_in": clock.label(record.start),
        "record_old_in_frame": record.start,
        "record_old_out": clock.label(record.stop),
        "record_old_out_frame": record.stop,
        "record_new": clock.label(adjustment.new_record),
        "record_new_frame": adjustment.new_record,
        "frames": adjustment.frames,
        "running_offset": adjustment.running_offset,
        **_source_cells(adjustment.source, adjustment.source_clock),
        "note": well_formed(adjustment.note),
    }


def _source_cells(source: FrameRange | None, clock: Timebase | None) -> dict[str, str | int]:
    if source is None or clock is None:
        return dict.fromkeys(
            ("source_first", "source_first_frame", "source_last", "source_last_frame",
             "source_count_mode"), ""
        )  # fmt: skip
    return {
        "source_first": clock.label(source.start),
        "source_first_frame": source.start,
        "source_last": clock.label(source.stop - 1),
        "source_last_frame": source.stop - 1,
        "source_count_mode": count_mode(clock),
    }


def _changes(row: Row, adjustments: tuple[Adjustment, ...]) -> ChangeList:
    clock = _record_clock(row)
    return ChangeList(
        row["version_old"],
        row["version_new"],
        clock,
        _place(row, "start", clock),
        int(row["length_old"]),
        int(row["length_new"]),
        adjustments,
    )


def _adjustment(row: Row, clock: Timebase, number: int) -> Adjustment:
    if int(row["number"]) != number:
        raise ListFormatError(f"number is {row['number']}, not {number}; keep rows and their order")
    source_clock = _clock(row["rate"], row["source_count_mode"]) if row["source_first"] else None
    found = Adjustment(
        operation=_operation(row["operation"]),
        tracks=frozenset(row["tracks"].split()),
        record=FrameRange(
            _place(row, "record_old_in", clock), _place(row, "record_old_out", clock)
        ),
        new_record=_place(row, "record_new", clock),
        frames=int(row["frames"]),
        running_offset=int(row["running_offset"]),
        event=int(row["event"] or 0),
        reel=row["reel"],
        clip=row["clip"],
        source=None if source_clock is None else _source(row, source_clock),
        source_clock=source_clock,
        note=row["note"],
    )
    _check_lengths(found)
    return found


def _check_lengths(adjustment: Adjustment) -> None:
    gone = 0 if adjustment.extends else adjustment.frames
    if len(adjustment.record) != gone or adjustment.frames < 1:
        raise ListFormatError(
            f"{adjustment.frames} frames do not fit the record places beside them"
        )
    source = adjustment.source
    if source is not None and len(source) != adjustment.frames:
        raise ListFormatError(
            f"{adjustment.frames} frames do not fit the source places beside them"
        )


def _operation(text: str) -> Operation:
    if text not in _OPERATIONS:
        raise ListFormatError(f"{text!r} is no operation; it is one of {', '.join(_OPERATIONS)}")
    return _OPERATIONS[text]


def _source(row: Row, clock: Timebase) -> FrameRange:
    first, last = _place(row, "source_first", clock), _place(row, "source_last", clock)
    return FrameRange(first, last + 1)


def _place(row: Row, column: str, clock: Timebase) -> int:
    frame = int(row[f"{column}_frame"])
    check_label(clock, row[column], column, frame)
    return frame


def _record_clock(row: Row) -> Timebase:
    return _clock(row["rate"], row["count_mode"])


def _clock(rate: str, counted: str) -> Timebase:
    return Timebase(Fraction(rate), is_drop(counted))
