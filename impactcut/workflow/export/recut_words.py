"""What the owner of a recut list should know: what was refused, and what is odd."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from impactcut.core.grouping import in_runs
from impactcut.core.programme.cutlist import Removal
from impactcut.core.programme.showings import unmeasured_events
from impactcut.core.recut.cutting import Recut
from impactcut.core.recut.reel_match import Match, is_black
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.note_times import LOCATOR, other_times, timed_notes
from impactcut.lists.edl.reissue import is_in_order
from impactcut.workflow.files.refusals import Refusal
from impactcut.workflow.hits.removals import Selection


def recut_refusals(matches: Iterable[Match], done: Recut, selection: Selection) -> list[Refusal]:
    """Trims that could not be taken out, and events of which that cannot be told."""
    found = [
        Refusal(f"{named_hit(each.removal)}, event {each.number}", each.reason)
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


def named_hit(removal: Removal) -> str:
    """A hit and its clip, as people name it."""
    return f"hit {removal.called} in {removal.clip.name}"


def unmatched_notes(matches: Sequence[Match], selection: Selection) -> tuple[str, ...]:
    """The events that are of no clip of the project, and those of which that is in doubt.

    Events whose doubt is about a trimmed clip are not among them: `recut_refusals` names those.
    """
    trimmed = {removal.clip for removal in selection.removals}
    unknown: dict[str, list[int]] = {}
    notes = []
    for match in matches:
        event = match.event
        if event.clip is not None or is_black(event.reel) or trimmed.intersection(match.rivals):
            continue
        if match.doubt:
            notes.append(f"event {event.number}: {match.doubt}")
        else:
            unknown.setdefault(event.reel or event.name or "no reel", []).append(event.number)
    if unknown:
        named = "; ".join(f"{reel} ({_events(found)})" for reel, found in unknown.items())
        notes.append(f"of no clip of the project, so not looked at for hits: {named}")
    return tuple(notes)


def _events(numbers: Iterable[int]) -> str:
    """``event 5``, ``events 2, 7-9``."""
    runs = in_runs(sorted(set(numbers)), lambda before, after: after == before + 1)
    named = (str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)
    single = len(runs) == 1 and len(runs[0]) == 1
    return f"event{'' if single else 's'} {', '.join(named)}"


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
    timed = timed_notes(document, done.events)
    others = [line for line, each in timed.items() if each.note.keyword != LOCATOR]
    if done.made and others:
        notes.append(f"times of the programme in notes were moved with it: {_lines(others)}")
    if done.made and (kept := other_times(document, timed)):
        notes.append(
            f"notes whose timecodes may be of a source are carried as they stand: {_lines(kept)}"
        )
    if files > len(("list", "changes", "spotting")):
        notes.append("more than 999 events: the new list is in parts with continuing record time")
    return tuple(notes)


def assumed_notes(done: Recut) -> tuple[str, ...]:
    """The clips that were cut although their timecode is only assumed."""
    clips = (use.removal.clip for use in done.made)
    assumed = {clip.name for clip in clips if clip.timecode_source == "assumed"}
    if not assumed:
        return ()
    return (
        f"no timecode in {', '.join(sorted(assumed))}: 00:00:00:00 was assumed for the first "
        "frame, so compare the splices with the picture",
    )


def _lines(numbers: Sequence[int]) -> str:
    return f"line{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}"
