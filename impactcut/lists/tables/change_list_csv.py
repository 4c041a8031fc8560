"""The change list as CSV: one row for each adjustment, integer frames beside every timecode."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from fractions import Fraction
from typing import get_args

from impactcut.core.programme.change_list import EXTENSIONS, Adjustment, ChangeList, Operation
from impactcut.core.programme.sequence import named_tracks
from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError
from impactcut.lists.csv_text import read_csv, well_formed
from impactcut.lists.tables.cells import Row, clock_cells, count_mode, place_cells, render_table

COLUMNS = (
    "number", "operation", "tracks", "event", "reel", "clip", "record_old_in",
    "record_old_in_frame", "record_old_out", "record_old_out_frame", "record_new",
    "record_new_frame", "frames", "running_offset", "source_first", "source_first_frame",
    "source_last", "source_last_frame", "source_count_mode", "note", "version_old", "version_new",
    "rate", "count_mode", "start", "start_frame", "length_old", "length_new",
)  # fmt: skip
_OPERATIONS: Mapping[str, Operation] = {each: each for each in get_args(Operation)}


def render_change_csv(changes: ChangeList) -> str:
    """The CSV text of a change list (RFC 4180, to be stored as UTF-8), with its header row."""
    return render_table(COLUMNS, _rows(changes), "the change list")


def parse_change_csv(text: str) -> ChangeList:
    """Read the text of `render_change_csv` back.

    Raises
    ------
    ListFormatError
        If it is not such a text, has no row, its rows are of different lists, or a cell is not
        what follows from the counts of frames in its row, as a timecode beside them.
    """
    rows = [dict(zip(COLUMNS, cells, strict=True)) for cells in read_csv(text, COLUMNS)]
    if not rows:
        raise ListFormatError("the change list has no row, so there is nothing to change")
    adjustments = []
    for number, row in enumerate(rows, 2):
        with _row_named(number):
            adjustments.append(_adjustment(row))
    with _row_named(2):
        found = _changes(rows[0], tuple(adjustments))
    for number, (row, wanted) in enumerate(zip(rows, _rows(found), strict=True), 2):
        with _row_named(number):
            _compare(row, wanted)
    return found


@contextmanager
def _row_named(number: int) -> Iterator[None]:
    try:
        yield
    except (ValueError, KeyError, ZeroDivisionError) as error:
        raise ListFormatError(f"row {number}: {error}") from error


def _rows(changes: ChangeList) -> Iterator[Row]:
    clock = changes.timebase
    whole = {
        "version_old": changes.old_title,
        "version_new": changes.new_title,
        **clock_cells(clock),
        **place_cells("start", changes.record_start, clock),
        "length_old": changes.old_length,
        "length_new": changes.new_length,
    }
    for number, each in enumerate(changes.adjustments, 1):
        yield {
            "number": number,
            "operation": each.operation,
            "tracks": named_tracks(each.tracks),
            "event": each.event or "",
            "reel": each.reel,
            "clip": each.clip,
            **place_cells("record_old_in", each.record.start, clock),
            **place_cells("record_old_out", each.record.stop, clock),
            **place_cells("record_new", each.new_record, clock),
            "frames": each.frames,
            "running_offset": each.running_offset,
            **_source_cells(each),
            "note": each.note,
            **whole,
        }


def _source_cells(adjustment: Adjustment) -> Row:
    source, clock = adjustment.source, adjustment.source_clock
    if source is None or clock is None:
        return {}
    return {
        **place_cells("source_first", source.start, clock),
        **place_cells("source_last", source.stop - 1, clock),
        "source_count_mode": count_mode(clock),
    }


def _changes(row: Mapping[str, str], adjustments: tuple[Adjustment, ...]) -> ChangeList:
    return ChangeList(
        row["version_old"],
        row["version_new"],
        _clock(row, "count_mode"),
        int(row["start_frame"]),
        int(row["length_old"]),
        int(row["length_new"]),
        adjustments,
    )


def _adjustment(row: Mapping[str, str]) -> Adjustment:
    operation, frames = _OPERATIONS[row["operation"]], int(row["frames"])
    start = int(row["record_old_in_frame"])
    source = None
    if row["source_first"]:
        first = int(row["source_first_frame"])
        source = FrameRange(first, first + frames)
    return Adjustment(
        operation=operation,
        tracks=frozenset(row["tracks"].split()),
        record=FrameRange(start, start + (0 if operation in EXTENSIONS else frames)),
        new_record=int(row["record_new_frame"]),
        frames=frames,
        running_offset=int(row["running_offset"]),
        event=int(row["event"] or 0),
        reel=row["reel"],
        clip=row["clip"],
        source=source,
        source_clock=None if source is None else _clock(row, "source_count_mode"),
        note=row["note"],
    )


def _clock(row: Mapping[str, str], mode: str) -> Timebase:
    return Timebase(Fraction(row["rate"]), row[mode] == "drop-frame")


def _compare(row: Mapping[str, str], wanted: Row) -> None:
    for column in COLUMNS:
        cell = well_formed(str(wanted.get(column, "")))
        if row[column] != cell:
            raise ValueError(
                f"{column} is {row[column]}, and must be {cell}; a "
                "spreadsheet may have changed one, so export the list again"
            )
