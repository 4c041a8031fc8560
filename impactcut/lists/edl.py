"""Writing a cut list as CMX3600-form EDLs.

Seven-bit ASCII, CR LF, lines of at most 80 columns: a title, the frame-code mode, then the
events, each with its notes below it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from impactcut.core.assemble import splice_events
from impactcut.core.clip import Clip
from impactcut.core.cutlist import CutList, Event, Removal
from impactcut.core.frames import frames_in_words
from impactcut.errors import ListFormatError
from impactcut.lists.ascii_text import fit, to_ascii
from impactcut.lists.edl_statements import (
    EventLine,
    FrameCodeMode,
    Note,
    Statement,
    Title,
    write_statements,
)
from impactcut.lists.reels import reel_names

COLUMNS = 80
EVENTS_IN_A_LIST = 999
TITLE_WIDTH = 70


def render_edl(cut: CutList) -> tuple[str, ...]:
    """The text of the lists that carry a programme: one, or as many as `split_events` needs.

    Parameters
    ----------
    cut : CutList

    Returns
    -------
    tuple of str
        In record order; the record time of each goes on where the one before it ends.

    Raises
    ------
    ListFormatError
        If one event is as long as the 24 hours that timecode can tell apart.
    RateError
        If the rate has no timecode.
    """
    reels = reel_names(cut.clips)
    removals = _removals_by_event(cut)
    parts = split_events(cut)
    texts = []
    for number, part in enumerate(parts, 1):
        said = f" PART {number} OF {len(parts)}" if len(parts) > 1 else ""
        title = fit(to_ascii(cut.title).strip(), TITLE_WIDTH - len(said)) + said
        body = _body(cut, part, reels, removals)
        header = (Title(title=title), FrameCodeMode(drop_frame=cut.timebase.drop_frame))
        texts.append(write_statements((*header, *body)))
    return tuple(texts)


def changed_names(cut: CutList) -> tuple[tuple[str, str], ...]:
    """Clip names that the form has no letters or no room for, and what is written instead.

    Each once, however many events show the clip.
    """
    names = dict.fromkeys(clip.name for clip in cut.clips)
    written = ((name, _note("FROM CLIP NAME", name).value) for name in names)
    return tuple((name, changed) for name, changed in written if changed != name)


def split_events(cut: CutList) -> tuple[tuple[Event, ...], ...]:
    """The events of each list: at most 999 of them, and at most 24 hours of the programme."""
    parts: list[list[Event]] = []
    for event in cut.events:
        if len(event.source) >= cut.timebase.day:
            raise ListFormatError(
                f"{event.clip.name} runs for 24 hours or more, too long for one event; "
                "split the file"
            )
        if not parts or _is_full(parts[-1], event, cut.timebase.day):
            parts.append([])
        parts[-1].append(event)
    return tuple(tuple(part) for part in parts)


def _is_full(part: Sequence[Event], event: Event, day: int) -> bool:
    return len(part) == EVENTS_IN_A_LIST or event.record.stop - part[0].record_in > day


def _removals_by_event(cut: CutList) -> dict[Event, list[Removal]]:
    found: dict[Event, list[Removal]] = {}
    for index, removal in zip(splice_events(cut), cut.removals, strict=True):
        found.setdefault(cut.events[index], []).append(removal)
    return found


def _body(
    cut: CutList,
    part: Sequence[Event],
    reels: Mapping[Clip, str],
    removals: Mapping[Event, Sequence[Removal]],
) -> Iterator[Statement]:
    for number, event in enumerate(part, 1):
        yield EventLine(
            number=number,
            reel=reels[event.clip],
            channels="V",
            source=event.source.shifted(event.clip.source_start),
            record=event.record,
            source_clock=event.clip.timebase,
            record_clock=cut.timebase,
        )
        yield from _clip_notes(event.clip, reels[event.clip])
        for removal in removals.get(event, ()):
            yield _trim_note(event, removal)


def _clip_notes(clip: Clip, reel: str) -> Iterator[Note]:
    yield _note("FROM CLIP NAME", clip.name)
    yield _note("SOURCE FILE", clip.name)
    if reel != clip.reel:
        yield _note("COMMENT", f"REEL {reel} STANDS FOR {clip.reel}")
    if clip.timecode_source == "assumed":
        yield _note("COMMENT", "TIMECODE ASSUMED 00:00:00:00")


def _trim_note(event: Event, removal: Removal) -> Note:
    side = "BEFORE" if removal.frames.stop == event.source.start else "AFTER"
    count = len(removal.frames)
    frames = frames_in_words(count).upper()
    start = removal.clip.source_label(removal.frames.start)
    gain = f"SPEED GAIN {removal.trim.speed_gain:.2f}"
    return _note("COMMENT", f"{frames} REMOVED {side} THIS FROM {start}, {gain}")


def _note(keyword: str, value: str) -> Note:
    width = COLUMNS - len(Note(keyword=keyword, value="").columns())
    return Note(keyword=keyword, value=fit(to_ascii(value).strip(), width))
