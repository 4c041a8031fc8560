"""The rows of a cut list: everything a person is told about each removed range."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from impactcut.core.programme.assemble import ClipPlace, place_clips, splice_events
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.sound.sync import sync_shift
from impactcut.core.takes.clip import Clip
from impactcut.core.trims.reasons import COUNTER, verdict_words
from impactcut.lists.csv_text import well_formed
from impactcut.lists.edl.write import SoundLines, lines_of, split_events
from impactcut.lists.reels import reel_names
from impactcut.lists.tables.clock_cells import count_mode


@dataclass(frozen=True)
class CutRow:
    """One removed range, in the order of the columns.

    Parameters
    ----------
    version : int
        Of the list.
    part, event : int
        The EDL, counted from 1, and in it the event that begins at the splice (where the end of
        a clip was removed: the clip's last event).
    section, slate, take, angle : str
    circled : {"yes", "no"}
        Whether somebody marked the take as one to use.
    reel, clip : str
        Name in the EDL; full file name.
    hit : str
    first_frame, last_frame : int
        First and last removed frame, counted from 0 at the clip's first.
    source_in, source_out : str
        Source timecodes of the removed range, out exclusive, each with its count of frames.
    record_old, record_new : str
        Where the range began in the untrimmed programme and where its splice lies in the
        trimmed one, each with its count of frames.
    frames, running_offset : int
        Removed frames: here, and so far with these.
    speed_gain, visibility : float
        To three decimals.
    verdict : str
        In words.
    decision, who, note : str
        ``approved``, or ``proposed`` where nobody has answered.
    rate : Fraction
    count_mode : {"drop-frame", "non-drop"}
    timecode_source : {"file", "user", "assumed"}
        ``assumed``: the clip has no timecode and 00:00:00:00 stands in.
    sync_early, sync_late : {"in sync", "detectable", "unacceptable"}
        Of production sound that is not cut along, by as many frames early, or late (ITU-R
        BT.1359-1).
    """

    version: int
    part: int
    event: int
    section: str
    slate: str
    take: str
    angle: str
    circled: str
    reel: str
    clip: str
    hit: str
    first_frame: int
    last_frame: int
    source_in: str
    source_in_frame: int
    source_out: str
    source_out_frame: int
    record_old: str
    record_old_frame: int
    record_new: str
    record_new_frame: int
    frames: int
    running_offset: int
    speed_gain: float
    visibility: float
    verdict: str
    decision: str
    who: str
    note: str
    rate: Fraction
    count_mode: str
    timecode_source: str
    sync_early: str
    sync_late: str


def cut_rows(cut: CutList, sound: SoundLines | None = None) -> tuple[CutRow, ...]:
    """The rows of a cut list, in record order; events are numbered as in its EDL with ``sound``."""
    reels, places, numbers = reel_names(cut.clips), place_clips(cut), _event_numbers(cut, sound)
    return tuple(
        _row(cut, removal, numbers[index], reels, places[removal.clip])
        for removal, index in zip(cut.removals, splice_events(cut), strict=True)
    )


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
) -> CutRow:
    clip, gap, decision = removal.clip, removal.frames, removal.decision
    sync = sync_shift(len(gap), clip.rate)
    jumps = f"; {COUNTER}" if clip.counter_jumps else ""
    old, new = place.old_record(gap.start), place.new_record(gap.start)
    return CutRow(
        version=cut.version,
        part=event[0],
        event=event[1],
        section=well_formed(clip.section),
        slate=well_formed(clip.slate),
        take=well_formed(clip.take),
        angle=well_formed(clip.angle),
        circled="yes" if clip.circled else "no",
        reel=reels[clip],
        clip=well_formed(clip.name),
        hit=removal.called,
        first_frame=gap.start,
        last_frame=gap.stop - 1,
        source_in=clip.source_label(gap.start),
        source_in_frame=clip.source_start + gap.start,
        source_out=clip.source_label(gap.stop),
        source_out_frame=clip.source_start + gap.stop,
        record_old=cut.timebase.label(old),
        record_old_frame=old,
        record_new=cut.timebase.label(new),
        record_new_frame=new,
        frames=len(gap),
        running_offset=place.old_record(gap.stop) - place.new_record(gap.stop),
        speed_gain=round(removal.trim.speed_gain, 3),
        visibility=round(removal.trim.visibility, 3),
        verdict=f"{verdict_words(removal.trim)}{jumps}",
        decision=removal.standing,
        who="" if decision is None else well_formed(decision.who),
        note="" if decision is None else well_formed(decision.note),
        rate=cut.timebase.rate,
        count_mode=count_mode(cut.timebase),
        timecode_source=clip.timecode_source,
        sync_early=sync.early,
        sync_late=sync.late,
    )
