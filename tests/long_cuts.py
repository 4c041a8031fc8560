"""Long cuts, recut from text to checked text, to see what that costs."""

from __future__ import annotations

from impactcut.core.change_list import Cause, change_list
from impactcut.core.recut import recut
from impactcut.core.reel_match import match_events
from impactcut.core.sound_drift import sound_drifts
from impactcut.lists.change_csv import parse_change_csv, render_change_csv
from impactcut.lists.cut_changes import words_for
from impactcut.lists.edl_read import parse_edl
from impactcut.lists.edl_recut_check import check_recut
from impactcut.lists.edl_reissue import reissue
from impactcut.lists.edl_sequence import list_names, sequence_of
from list_clips import make_clip, make_removal
from recut_lists import FILM

SHOT = 24
HOLDS = {"held": "head"}


def recut_long_list(kind: str, events: int, uses: int) -> int:
    """Recut a cut of so many events; the trims made.

    ``kind`` is one of ``many clips`` (each shot its own take of a hundred), ``one clip`` (every
    shot of one take), ``whole sound``, ``held``, ``sound below`` (every other event is the sound
    of the shot before it).
    """
    shots = events // 2 if kind in ("whole sound", "sound below") else events
    takes = 1 if kind == "one clip" else 100
    per_take = -(-shots // takes)
    clips = [
        make_clip(f"T{n:03d}.mov", reel=f"T{n:03d}", frames=per_take * 2 * SHOT, start=n * 1000)
        for n in range(takes)
    ]
    lines = ["TITLE: LONG", "FCM: NON-DROP FRAME"]
    for shot in range(shots):
        clip, place = clips[shot % takes], (shot // takes) * 2 * SHOT + 4
        source = clip.source_start + place
        record = shot * SHOT
        times = " ".join(FILM.label(at) for at in (source, source + SHOT, record, record + SHOT))
        number = len(lines)
        lines.append(f"{number:06d}  {clip.reel:<8} V     C        {times}")
        lines.append(f"* FROM CLIP NAME: {clip.name}")
        if shots < events:
            lines.append(f"{number + 1:06d}  {clip.reel:<8} AA    C        {times}")
    removals = [
        make_removal(clips[shot % takes], (shot // takes) * 2 * SHOT + 12, 1 + shot % 2, hit=shot)
        for shot in range(min(uses, shots))
    ]
    if uses > shots:  # two in each shot
        removals += [
            make_removal(clips[n % takes], (n // takes) * 2 * SHOT + 20, 1, hit=shots + n)
            for n in range(uses - shots)
        ]
    document = parse_edl("\r\n".join(lines), FILM.rate)
    matches = match_events(sequence_of(document), list_names(clips))
    hold = HOLDS.get(kind)
    done = recut([m.event for m in matches], removals, hold, kind == "whole sound")
    causes = [Cause(use.record, words_for(use.removal)) for use in done.made]
    changes = change_list(("LONG", "LONG 2"), FILM, done.events, done.pieces, causes)
    table = render_change_csv(changes)
    texts = reissue(document, done, "LONG 2")
    check_recut(texts, document, done, parse_change_csv(table))
    sound_drifts(done.pieces, held=hold is not None)
    return len(done.made)
