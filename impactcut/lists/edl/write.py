"""Writing a cut list as CMX3600-form EDLs.

Seven-bit ASCII, CR LF, lines of at most 80 columns: a title, the frame-code mode, then the
events, each with its notes below it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from impactcut.core.grouping import grouped
from impactcut.core.programme.assemble import splice_events
from impactcut.core.programme.cutlist import CutList, Event, Removal
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import frames_in_words
from impactcut.errors import ListFormatError
from impactcut.lists.ascii_text import fit, to_ascii
from impactcut.lists.edl.statements import (
    EventLine,
    ExtraAudio,
    FrameCodeMode,
    Note,
    Statement,
    Title,
    channel_field,
    write_statements,
)
from impactcut.lists.reels import reel_names

COLUMNS = 80
EVENTS_IN_A_LIST = 999
_TITLE_WIDTH = 70
MOST_CHANNELS = 24
"""Of sound beside picture; common practice, no source."""
_PICTURE = frozenset({"V"})
_IN_FIELD = frozenset({"V", "A1", "A2"})
"""Tracks that the channel field names; those above stand in AUD lines."""


@dataclass(frozen=True)
class SoundLines:
    """How the production sound of clips stands beside their picture; always cut as that is.

    Parameters
    ----------
    channels : int
        From 1 to 24; above the second in AUD lines.
    apart : bool
        In events of its own below those of the picture, rather than in the same.

    Raises
    ------
    ListFormatError
        If there are fewer or more channels.
    """

    channels: int = 2
    apart: bool = False

    def __post_init__(self) -> None:
        if not 1 <= self.channels <= MOST_CHANNELS:
            raise ListFormatError(
                f"{self.channels} channels of sound; state from 1 to {MOST_CHANNELS}"
            )

    def tracks(self, has_sound: bool) -> frozenset[str]:
        """The sound tracks of a clip that has sound, or has none."""
        return frozenset(f"A{number}" for number in range(1, self.channels + 1) if has_sound)


def tracks_of(has_sound: bool, sound: SoundLines | None) -> frozenset[str]:
    """Every track of a programme that shows a clip with or without sound."""
    return _PICTURE | (frozenset() if sound is None else sound.tracks(has_sound))


def render_edl(cut: CutList, sound: SoundLines | None = None) -> tuple[str, ...]:
    """The text of the lists that carry a programme: one, or as many as `split_events` needs.

    Parameters
    ----------
    sound : SoundLines or None
        None for picture only.

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
    spliced = (cut.events[index] for index in splice_events(cut))
    removals = grouped(zip(spliced, cut.removals, strict=True))
    parts = split_events(cut, sound)
    texts = []
    for number, part in enumerate(parts, 1):
        said = f" V{cut.version}" if cut.version > 1 else ""
        title = part_title(cut.title, number, len(parts), said)
        mode = FrameCodeMode(drop_frame=cut.timebase.drop_frame)
        body = _body(cut, part, reels, removals, sound)
        texts.append(write_statements((title, mode, *body)))
    return tuple(texts)


def part_title(title: str, number: int, parts: int, said: str = "") -> Title:
    """The title of one of the parts of a list; ``said`` goes with it whatever its length."""
    said += f" PART {number} OF {parts}" if parts > 1 else ""
    return Title(title=fit(to_ascii(title).strip(), _TITLE_WIDTH - len(said)) + said)


def changed_names(cut: CutList) -> tuple[tuple[str, str], ...]:
    """Clip names that the form has no letters or no room for, and what is written instead.

    Each once, however many events show the clip.
    """
    names = dict.fromkeys(clip.name for clip in cut.clips)
    written = ((name, _note("FROM CLIP NAME", name).value) for name in names)
    return tuple((name, changed) for name, changed in written if changed != name)


def split_events(cut: CutList, sound: SoundLines | None = None) -> tuple[tuple[Event, ...], ...]:
    """The events of each list: at most 999 lines, and at most 24 hours of the programme."""
    parts: list[list[Event]] = []
    lines = 0
    for event in cut.events:
        if len(event.source) >= cut.timebase.day:
            raise ListFormatError(
                f"{event.clip.name} runs for 24 hours or more, too long for one event; "
                "split the file"
            )
        needed = len(lines_of(event, sound))
        full = not parts or lines + needed > EVENTS_IN_A_LIST
        if full or event.record.stop - parts[-1][0].record_in > cut.timebase.day:
            parts.append([])
            lines = 0
        parts[-1].append(event)
        lines += needed
    return tuple(tuple(part) for part in parts)


def lines_of(event: Event, sound: SoundLines | None) -> list[frozenset[str]]:
    """The tracks of each event line."""
    tracks = tracks_of(event.clip.has_sound, sound)
    if sound is None or not sound.apart or tracks == _PICTURE:
        return [tracks]
    return [_PICTURE, tracks - _PICTURE]


def _body(
    cut: CutList,
    part: Sequence[Event],
    reels: Mapping[Clip, str],
    removals: Mapping[Event, Sequence[Removal]],
    sound: SoundLines | None,
) -> Iterator[Statement]:
    lines = [(event, tracks) for event in part for tracks in lines_of(event, sound)]
    for number, (event, tracks) in enumerate(lines, 1):
        in_field = tracks & _IN_FIELD
        yield EventLine(
            number=number,
            reel=reels[event.clip],
            channels=channel_field(in_field),
            tracks=in_field,
            source=event.source.shifted(event.clip.source_start),
            record=event.record,
            source_clock=event.clip.timebase,
            record_clock=cut.timebase,
        )
        yield from _clip_notes(event.clip, reels[event.clip])
        for removal in removals.get(event, ()) if tracks >= _PICTURE else ():
            yield _trim_note(event, removal)
        if tracks - in_field:
            yield ExtraAudio(tracks=tracks - in_field)


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
    taste = ", PROPOSED BY TASTE" if removal.standing == "proposed by taste" else ""
    gain = f"SPEED GAIN {removal.trim.speed_gain:.2f}{taste}"
    return _note("COMMENT", f"{frames} REMOVED {side} THIS FROM {start}, {gain}")


def _note(keyword: str, value: str) -> Note:
    width = COLUMNS - len(Note(keyword=keyword, value="").columns())
    return Note(keyword=keyword, value=fit(to_ascii(value).strip(), width))
