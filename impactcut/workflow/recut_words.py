"""What the owner of a recut list should know: what was refused, and what is odd."""

from __future__ import annotations

from collections.abc import Iterable

from impactcut.core.cutlist import Removal
from impactcut.core.recut import Recut
from impactcut.core.reel_match import Match
from impactcut.core.showings import unmeasured_events
from impactcut.lists.edl_document import EdlDocument
from impactcut.lists.edl_reissue import is_in_order, timecoded_notes
from impactcut.workflow.find import Refusal
from impactcut.workflow.selecting import Selection


def recut_refusals(matches: Iterable[Match], done: Recut, selection: Selection) -> list[Refusal]:
    """Trims that could not be taken out, and events of which that cannot be told."""
    found = [
        Refusal(f"{_named(each.removal)}, event {each.number}", each.reason)
        for each in done.refused
    ]
    trimmed = {removal.clip for removal in selection.removals}
    found += [
        Refusal(f"event {match.event.number}", match.doubt)
        for match in matches
        if trimmed.intersection(match.rivals)
    ]
    hit_clips = {hit.clip for hit in selection.hits}
    found += [
        Refusal(
            f"sounds of event {event.number}",
            "it does not run at its own speed, so where its hits lie is not known",
            "spot them by eye",
        )
        for event in unmeasured_events(done.pieces)
        if event.clip in hit_clips
    ]
    return found


def _named(removal: Removal) -> str:
    return f"hit {removal.called} in {removal.clip.name}"


def recut_notes(
    document: EdlDocument, done: Recut, stated_drop: bool, files: int
) -> tuple[str, ...]:
    """What is odd about the old list or the new one.

    Parameters
    ----------
    stated_drop : bool
        Whether the rate that was stated for the list counts drop-frame.
    files : int
        That the new list takes, its change list and spotting list counted.
    """
    notes = []
    if stated_drop != document.record_clock.drop_frame and stated_drop:
        notes.append("drop-frame was stated, but the list counts non-drop; the list was followed")
    if not is_in_order(document, done.events):
        notes.append("the list was not in record order; the new one is")
    if done.made and (lines := timecoded_notes(document)):
        notes.append(
            f"notes with timecodes (lines: {len(lines)}, the first {lines[0]}) are carried as they "
            "stand"
        )
    assumed = {use.removal.clip.name for use in done.made if _is_assumed(use.removal)}
    if assumed:
        notes.append(
            f"no timecode in {', '.join(sorted(assumed))}: 00:00:00:00 was assumed for the first "
            "frame, so compare the splices with the picture"
        )
    if files > len(("list", "changes", "spotting")):
        notes.append("more than 999 events: the new list is in parts with continuing record time")
    return tuple(notes)


def _is_assumed(removal: Removal) -> bool:
    return removal.clip.timecode_source == "assumed"
