"""The cut list as CSV: one row for each removed range, integer frames beside every timecode."""

from __future__ import annotations

from collections.abc import Mapping

from impactcut.core.programme.assemble import ClipPlace, place_clips, splice_events
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.sound.sync import sync_shift
from impactcut.core.takes.clip import Clip
from impactcut.core.trims.reasons import COUNTER, verdict_words
from impactcut.lists.edl.write import SoundLines, lines_of, split_events
from impactcut.lists.reels import reel_names
from impactcut.lists.tables.cells import (
    Row,
    clock_cells,
    place_cells,
    render_table,
    shot_cells,
)

COLUMNS = (
    "version", "part", "event", "section", "slate", "take", "angle", "circled", "reel", "clip",
    "hit", "first_frame", "last_frame", "source_in", "source_in_frame", "source_out",
    "source_out_frame", "record_old", "record_old_frame", "record_new", "record_new_frame",
    "frames", "running_offset", "speed_gain", "visibility", "verdict", "decision", "who", "note",
    "rate", "count_mode", "timecode_source", "sync_early", "sync_late",
)  # fmt: skip


def cut_rows(cut: CutList, sound: SoundLines | None = None) -> tuple[Row, ...]:
    """Everything a person is told about each removed range, by column, in record order.

    ``part`` is the EDL with ``sound``, counted from 1, and ``event`` in it the event that begins
    at the splice (where the end of a clip was removed: the clip's last). ``first_frame`` and
    ``last_frame`` are counted from 0 at the clip's first; outs are exclusive. ``record_old`` is
    where the range began in the untrimmed programme, ``record_new`` where its splice lies in the
    trimmed one; ``running_offset`` counts removed frames so far with these. ``sync_early`` and
    ``sync_late`` are of production sound that is not cut along, by as many frames early, or late
    (ITU-R BT.1359-1).
    """
    reels, places, numbers = reel_names(cut.clips), place_clips(cut), _event_numbers(cut, sound)
    return tuple(
        _row(cut, removal, numbers[index], reels, places[removal.clip])
        for removal, index in zip(cut.removals, splice_events(cut), strict=True)
    )


def render_cut_csv(cut: CutList, sound: SoundLines | None = None) -> str:
    """The CSV text of a cut list (RFC 4180, to be stored as UTF-8), with its header row."""
    return render_table(COLUMNS, cut_rows(cut, sound), f"the CSV cut list of {cut.title!r}")


def _event_numbers(cut: CutList, sound: SoundLines | None) -> list[tuple[int, int]]:
    """Part and number of the line of each event's picture."""
    found = []
    for part, events in enumerate(split_events(cut, sound), 1):
        number = 1
        for event in events:
            found.append((part, number))
            number += len(lines_of(event, sound))
    return found


def _row(
    cut: CutList,
    removal: Removal,
    event: tuple[int, int],
    reels: Mapping[Clip, str],
    place: ClipPlace,
) -> Row:
    clip, gap, decision, clock = removal.clip, removal.frames, removal.hit.decision, cut.timebase
    sync = sync_shift(len(gap), clip.rate)
    jumps = f"; {COUNTER}" if clip.counter_jumps else ""
    return {
        "version": cut.version,
        "part": event[0],
        "event": event[1],
        **shot_cells(clip),
        "reel": reels[clip],
        "hit": removal.called,
        "first_frame": gap.start,
        "last_frame": gap.stop - 1,
        **place_cells("source_in", clip.source_start + gap.start, clip.timebase),
        **place_cells("source_out", clip.source_start + gap.stop, clip.timebase),
        **place_cells("record_old", place.old_record(gap.start), clock),
        **place_cells("record_new", place.new_record(gap.start), clock),
        "frames": len(gap),
        "running_offset": place.old_record(gap.stop) - place.new_record(gap.stop),
        "speed_gain": f"{removal.trim.speed_gain:.3f}",
        "visibility": f"{removal.trim.visibility:.3f}",
        "verdict": f"{verdict_words(removal.trim)}{jumps}",
        "decision": removal.standing,
        "who": "" if decision is None else decision.who,
        "note": "" if decision is None else decision.note,
        **clock_cells(clock),
        "timecode_source": clip.timecode_source,
        "sync_early": sync.early,
        "sync_late": sync.late,
    }
