"""Marks as a plain CSV that any program can read which takes marks: a row for each, in order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from impactcut.core.programme.programme_marks import ProgrammeMark
from impactcut.core.time.frames import frames_in_words
from impactcut.core.time.timebase import Timebase
from impactcut.core.trims.reasons import verdict_words
from impactcut.lists.tables.cells import Row, clock_cells, place_cells, render_table

COLUMNS = (
    "mark", "kind", "hit", "clip", "reel", "timecode", "frame", "record", "record_frame", "note",
    "rate", "count_mode",
)  # fmt: skip


def render_marks_csv(marks: Sequence[ProgrammeMark], clock: Timebase) -> str:
    """The CSV text of marks (RFC 4180, to be stored as UTF-8), with its header row.

    ``timecode`` is the source's, ``frame`` counts from the clip's first frame as 0, ``record`` and
    ``record_frame`` are in the programme.
    """
    return render_table(COLUMNS, _rows(marks, clock), "the list of marks")


def mark_name(mark: ProgrammeMark) -> str:
    """What a mark is called."""
    name = f"hit {mark.hit.called}"
    return name if mark.kind == "contact" else f"splice of {name}"


def _rows(marks: Sequence[ProgrammeMark], clock: Timebase) -> Iterator[Row]:
    for number, mark in enumerate(marks, 1):
        yield {
            "mark": number,
            "kind": mark.kind,
            "hit": mark.hit.called,
            "clip": mark.hit.clip.name,
            "reel": mark.hit.clip.reel,
            "timecode": mark.hit.clip.source_label(mark.frame),
            "frame": mark.frame,
            **place_cells("record", mark.record, clock),
            "note": "; ".join(_notes(mark)),
            **clock_cells(clock),
        }


def _notes(mark: ProgrammeMark) -> Iterator[str]:
    """What a trim takes, gives and shows, and what was said of it."""
    if mark.moved:
        yield "contact frame taken out: the nearest that is left"
    removal = mark.removal
    if removal is None:
        return
    trim = removal.trim
    taste = ", proposed by taste" if removal.standing == "proposed by taste" else ""
    yield (
        f"{frames_in_words(trim.count)} out, {trim.speed_gain:.2f}x as fast, "
        f"{verdict_words(trim)}{taste}"
    )
    if removal.hit.decision and removal.hit.decision.note:
        yield removal.hit.decision.note
