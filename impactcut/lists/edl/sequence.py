"""An EDL that was read, as a programme to recut: what each event shows, and what binds it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from impactcut.core.programme.sequence import OFF_SPEED, UNTIMED, SequenceEvent, is_picture
from impactcut.core.recut.reel_match import ClipNames
from impactcut.core.takes.clip import Clip
from impactcut.core.time.midnight import unwrapped
from impactcut.errors import ListFormatError
from impactcut.lists.ascii_text import fit, to_ascii
from impactcut.lists.csv_text import read_csv
from impactcut.lists.edl.document import Block, EdlDocument, motion_events
from impactcut.lists.edl.lines import labelled_frame, labels_in
from impactcut.lists.edl.statements import (
    Carried,
    EventLine,
    ExtraAudio,
    Motion,
    Note,
    Split,
    Statement,
)
from impactcut.lists.edl.write import COLUMNS
from impactcut.lists.reels import reel_names

REEL_MAP_COLUMNS = ("reel_or_clip_name", "project_clip")


def sequence_of(document: EdlDocument) -> tuple[SequenceEvent, ...]:
    """The events of a list, in its order; none has its clip yet.

    Raises
    ------
    ListFormatError
        If a line of the list could not be read, so that the events are not all there are, or a
        line that is not understood holds a time of the programme.
    """
    _require_understood(document)
    day = document.record_clock.day
    records = iter(unwrapped([event.record for event in document.events], day))
    motions = motion_events(document.statements)
    found: list[SequenceEvent] = []
    mates: list[range] = []
    for block, places in document.numbered:
        mates += [places] * len(places)
        for line in block.events:
            found.append(
                SequenceEvent(
                    index=len(found),
                    number=line.number,
                    reel=line.reel,
                    name=_clip_name(block, line),
                    tracks=_tracks(block, line),
                    source=line.source,
                    record=next(records),
                    source_clock=line.source_clock,
                    fixed=_why_fixed(block, line, motions),
                    entered=_entered(line),
                    fade=_fade(line),
                )
            )
    return _with_overlaps(_with_joins(found, mates))


def _require_understood(document: EdlDocument) -> None:
    faults = [(each.line, each.reason) for each in document.unread]
    faults = faults or [*_of_nothing(document), *_timed(document)]
    if faults:
        line, reason = faults[0]
        more = f" and {len(faults) - 1} more" if len(faults) > 1 else ""
        raise ListFormatError(
            f"line {line}{more} {reason}; a list is recut only when all of it is understood, so "
            "correct or take out the line"
        )


def _of_nothing(document: EdlDocument) -> Iterator[tuple[int, str]]:
    """Statements that stand where there is no event that they could be about."""
    header, blocks = document.blocks
    for each in (*header, *(statement for block in blocks[:1] for statement in block.leading)):
        if isinstance(each, Motion | ExtraAudio):
            yield each.line, "is a motion statement or an AUD line with no event before it"
    for block in blocks:
        for each in block.body:
            if isinstance(each, Split):
                yield each.line, "is a SPLIT with no event after it"


def _timed(document: EdlDocument) -> Iterator[tuple[int, str]]:
    """Lines that are carried unread although they hold a record time, which a recut would move."""
    first = min(event.record.start for event in document.events)
    last = max(event.record.stop for event in document.events)
    for each in document.statements:
        if isinstance(each, Carried):
            for label in labels_in(each.text or ""):
                frame = labelled_frame(label, document.record_clock)
                if frame is not None and first <= frame <= last:
                    yield each.line, f"holds the record time {label} but is not understood"
                    break


def list_names(clips: Iterable[Clip]) -> tuple[ClipNames, ...]:
    """What an EDL may call each clip: whole and shortened names, and the reels of our own lists."""
    clips = tuple(clips)
    reels = reel_names(clips)
    return tuple(
        ClipNames(
            clip,
            frozenset(written for name in clip.file_names for written in _written_names(name)),
            frozenset({clip.reel, reels[clip]}),
        )
        for clip in clips
    )


def read_reel_map(text: str) -> Mapping[str, str]:
    """A user's CSV of reels or clip names as a list has them, and the clips that they stand for.

    Returns
    -------
    mapping of str to str
        File name or path of the clip, by reel or clip name in lower case.

    Raises
    ------
    ListFormatError
        If it is no such CSV, or says two things of one name.
    """
    found: dict[str, str] = {}
    for number, (name, clip) in enumerate(read_csv(text, REEL_MAP_COLUMNS), 2):
        key = name.strip().casefold()
        if not key or not clip.strip():
            raise ListFormatError(f"row {number} leaves a cell empty; fill it or take the row out")
        if found.get(key, clip.strip()) != clip.strip():
            raise ListFormatError(f"row {number} says of {name} what an earlier row does not")
        found[key] = clip.strip()
    return found


def _written_names(name: str) -> set[str]:
    folded = to_ascii(name).strip()
    widths = (COLUMNS - len(Note(keyword="FROM CLIP NAME", value="").columns()),)
    return {name.strip(), folded, *(fit(folded, width) for width in widths)}


def _tracks(block: Block, line: EventLine) -> frozenset[str]:
    """The tracks of an event, those of AUD lines included.

    Channels that are not understood, and NONE without an AUD line, stand for a track of their own.
    """
    extra = (each.tracks for each in block.after(line) if isinstance(each, ExtraAudio))
    return line.tracks.union(*extra) or frozenset({line.channels})


def _clip_name(block: Block, line: EventLine) -> str:
    """Of a transition's lines, the last is of the clip that it leads to, those before of the other.

    A ``SOURCE FILE`` note beside a transition does not say of which. Without a transition, what
    names an event stands below it, or below another of its number and reel.
    """
    if any(map(_is_transition, block.events)):
        keyword = "TO CLIP NAME" if _is_transition(line) else "FROM CLIP NAME"
        return _named(block.after(line), keyword) or _named(block.body, keyword)
    alike = [line, *(each for each in block.events if each.reel == line.reel)]
    return next(filter(None, (cut_name(block.after(each)) for each in alike)), "")


def cut_name(statements: Sequence[Statement]) -> str:
    """The name of the clip that a cut leads to, by the notes below its line; empty without."""
    return _named(statements, "FROM CLIP NAME") or _named(statements, "SOURCE FILE")


def _named(statements: Iterable[Statement], keyword: str) -> str:
    notes = (each for each in statements if isinstance(each, Note) and each.keyword == keyword)
    return next((note.value for note in notes if note.value), "")


def _is_transition(line: EventLine) -> bool:
    return line.transition[0] in "DW"


def _why_fixed(block: Block, line: EventLine, motions: Mapping[Motion, EventLine | None]) -> str:
    moving = [motions[each] for each in block.body if isinstance(each, Motion)]
    if line in moving:
        return f"{OFF_SPEED} (M2)"
    if None in moving:
        return "stands by a motion statement (M2) that names another reel"
    if block.is_split:
        return "is part of a SPLIT"
    if any(each.transition.startswith("K") for each in block.events):
        return "is part of a key"
    if _is_transition(line) and line.duration is None:
        return "begins with a transition of unknown length"
    if _fade(line) > len(line.record):
        return "begins with a transition that is longer than itself"
    if len(line.source) == len(line.record):
        return ""
    if not line.source and "V" not in line.tracks:
        return UNTIMED
    return f"takes {len(line.source)} source frames for {len(line.record)} of the programme"


def _entered(line: EventLine) -> str:
    """The transition at the head of an event; a key's background has none."""
    if line.transition in ("C", "K B", "KB"):
        return ""
    return f"{line.transition} {line.duration or 0:03d}"


def _fade(line: EventLine) -> int:
    return (line.duration or 0) if _is_transition(line) else 0


def _with_joins(
    events: Sequence[SequenceEvent], mates: Sequence[range]
) -> tuple[SequenceEvent, ...]:
    """The events, each transition with what it leads away from, and that with its overhang.

    What goes on under a transition is the line before it under its number; without one, the event
    that ends where it begins. ``mates`` are, for each event, those of its number.
    """
    ends = _ends(events)
    changed = dict(enumerate(events))
    for event in (event for event in events if event.entered):
        leaves = tuple(
            (track, index)
            for track in sorted(event.tracks)
            if (index := _left(event, track, events, mates[event.index], ends)) is not None
        )
        changed[event.index] = replace(changed[event.index], leaves=leaves)
        for track, index in leaves:
            beside = index in mates[event.index]
            changed[index] = _going_on_under(changed[index], event, track, beside)
    return tuple(changed.values())


def _ends(events: Iterable[SequenceEvent]) -> Mapping[tuple[str, int], int]:
    """The event that ends at a record frame of a track; of several, the one that begins last."""
    ordered = sorted(
        (event for event in events if event.record),
        key=lambda event: (event.record.start, event.reel, event.source),
    )
    return {(track, each.record.stop): each.index for each in ordered for track in each.tracks}


def _left(
    event: SequenceEvent,
    track: str,
    events: Sequence[SequenceEvent],
    mates: range,
    ends: Mapping[tuple[str, int], int],
) -> int | None:
    """The event that a transition leads away from on a track; None where it is nothing."""
    before = [at for at in mates if at < event.index and track in events[at].tracks]
    return before[-1] if before else ends.get((track, event.record.start))


def _going_on_under(
    before: SequenceEvent, event: SequenceEvent, track: str, beside: bool
) -> SequenceEvent:
    """The event before a transition, and what binds it; ``beside``: both are of one number."""
    binds = ""
    if before.record.stop != event.record.start:
        binds = "stands by a transition that begins elsewhere than at its out"
    elif before.entered and beside:
        binds = "stands between two transitions of one event"
    elif event.entered.startswith("K"):
        binds = "goes on under a key"
    if binds:
        return replace(before, fixed=before.fixed or binds)
    overhang = event.fade if is_picture(track) else 0
    return replace(before, overhang=max(before.overhang, overhang))


def _with_overlaps(events: Sequence[SequenceEvent]) -> tuple[SequenceEvent, ...]:
    overlapping: set[int] = set()
    for track in {track for event in events for track in event.tracks}:
        on_track = [event for event in events if track in event.tracks and event.record]
        overlapping |= _overlapping(sorted(on_track, key=lambda event: event.record))
    return tuple(
        replace(event, fixed="shares its place with another event on its track")
        if event.index in overlapping and (not event.fixed or event.untimed)
        else event
        for event in events
    )


def _overlapping(events: Sequence[SequenceEvent]) -> set[int]:
    found: set[int] = set()
    open_events: list[SequenceEvent] = []
    for event in events:
        open_events = [other for other in open_events if other.record.stop > event.record.start]
        if open_events:
            found |= {event.index, *(other.index for other in open_events)}
        open_events.append(event)
    return found
