"""The change list of an assembled programme: from its clips untrimmed, or an earlier version."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from impactcut.core.programme.assemble import place_clips
from impactcut.core.programme.change_list import Cause, ChangeList, change_list
from impactcut.core.programme.compare_versions import Said, version_changes
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.programme.delivery import DeliveredList, events_of, words_of
from impactcut.core.programme.sequence import Piece, SequenceEvent
from impactcut.core.programme.spans import (
    apply_changes,
    merged_spans,
    spans_of_events,
    spans_of_pieces,
)
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.reasons import COUNTER
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.edl.write import SoundLines, tracks_of
from impactcut.lists.reels import reel_names
from impactcut.lists.tables.change_list_csv import parse_change_csv

Events = Sequence[SequenceEvent]
Since = tuple[int, DeliveredList]
"""A version that was handed over: its number, and what it held."""


def changes_of_cut(
    cut: CutList, sound: SoundLines | None = None, since: Since | None = None
) -> ChangeList:
    """The adjustments that make the programme from the version before it, or from its clips."""
    version = f"{cut.title}, version {cut.version}"
    if since is not None:
        number, before = since
        titles = (f"{before.title}, version {number}", version)
        old, new = _handed_over(cut, sound, before), _pictured(cut, sound)
        told = (words_of(before), _said(cut))
        return version_changes(titles, cut.timebase, cut.record_start, old, new, told)
    events, places = _untrimmed(cut, sound), place_clips(cut)
    causes = [
        Cause(removal.frames.shifted(places[removal.clip].old_start), words_for(removal))
        for removal in cut.removals
    ]
    titles = (f"{cut.title}, untrimmed", version)
    return change_list(titles, cut.timebase, events, _trimmed(cut, events), causes)


def check_cut_changes(
    text: str, cut: CutList, sound: SoundLines | None = None, since: Since | None = None
) -> None:
    """Read a change list back, carry it out, and compare the result with the plan.

    Raises
    ------
    ListMismatchError
        If it does not make the new programme of the old one.
    """
    events, day = _untrimmed(cut, sound), cut.timebase.day
    old = events if since is None else _handed_over(cut, sound, since[1])
    try:
        changes = parse_change_csv(text)
    except ListFormatError as error:
        raise ListMismatchError(f"the change list cannot be read back: {error}") from error
    made = apply_changes(spans_of_events(old), changes.adjustments)
    wanted = spans_of_pieces(_trimmed(cut, events))
    if merged_spans(made, day) != merged_spans(wanted, day):
        raise ListMismatchError(
            f"the change list of {cut.title!r}, read back, does not make the new version of the "
            "old; do not use it, and report this"
        )


def _handed_over(cut: CutList, sound: SoundLines | None, before: DeliveredList) -> Events:
    """An earlier version, laid out as this one is: where it starts, with the same sound."""
    return events_of(before, cut.record_start, lambda has_sound: tracks_of(has_sound, sound))


def _pictured(cut: CutList, sound: SoundLines | None) -> Events:
    """The events of the new version itself."""
    pieces = _trimmed(cut, _untrimmed(cut, sound))
    return [
        replace(piece.event, index=index, source=piece.source, record=piece.record)
        for index, piece in enumerate(pieces)
    ]


def _said(cut: CutList) -> Iterator[Said]:
    reels = reel_names(cut.clips)
    for removal in cut.removals:
        clip = removal.clip
        source = removal.frames.shifted(clip.source_start)
        yield Said(reels[clip], clip.name, source, words_for(removal))


def words_for(removal: Removal) -> str:
    """Why frames go, for a change list's notes."""
    decision = removal.hit.decision
    who = "" if decision is None or not decision.who else f" by {decision.who}"
    assumed = removal.clip.timecode_source == "assumed"
    timecode = "; source timecode assumed" if assumed else ""
    counter = f"; {COUNTER}" if removal.clip.counter_jumps else ""
    return f"hit {removal.called}, {removal.standing}{who}{timecode}{counter}"


def _untrimmed(cut: CutList, sound: SoundLines | None) -> tuple[SequenceEvent, ...]:
    reels = reel_names(cut.clips)
    return tuple(
        SequenceEvent(
            index=index,
            number=index + 1,
            reel=reels[clip],
            name=clip.name,
            tracks=tracks_of(clip.has_sound, sound),
            source=FrameRange(0, clip.frames).shifted(clip.source_start),
            record=FrameRange(0, clip.frames).shifted(place.old_start),
            source_clock=clip.timebase,
            clip=clip,
        )
        for index, (clip, place) in enumerate(place_clips(cut).items())
    )


def _trimmed(cut: CutList, events: Iterable[SequenceEvent]) -> tuple[Piece, ...]:
    by_clip = {event.clip: event for event in events}
    return tuple(
        Piece(
            by_clip[event.clip],
            by_clip[event.clip].tracks,
            event.source.shifted(event.clip.source_start),
            event.record,
        )
        for event in cut.events
    )
