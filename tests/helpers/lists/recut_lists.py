"""Small lists of the quay fight to recut, and what a recut makes of them.

How lists look and what statements mean: the columns of public CMX3600 readers and lists in
circulation; there is no published standard to check against. Timecodes were added up on paper.
"""

from __future__ import annotations

from fractions import Fraction

from impactcut.core.programme.change_list import change_list
from impactcut.core.programme.cutlist import Removal
from impactcut.core.recut.cutting import Recut, recut
from impactcut.core.recut.reel_match import Match, match_events
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.recut_check import check_recut
from impactcut.lists.edl.reissue import reissue
from impactcut.lists.edl.sequence import list_names, sequence_of
from impactcut.lists.tables.change_list_csv import parse_change_csv, render_change_csv
from tests.helpers.lists.list_clips import make_clip

FILM = Timebase(Fraction(24))
A = make_clip("S12_T2_A.mov", reel="A1", frames=240)
B = make_clip("S12_T3_B.mov", reel="B1", frames=240, start=172_800)
HEAD = "TITLE: QUAY\nFCM: NON-DROP FRAME\n"


def matched(
    text: str, *clips: Clip, rate: Fraction = FILM.rate, given: dict[str, Clip] | None = None
) -> tuple[EdlDocument, tuple[Match, ...]]:
    document = parse_edl(text, rate)
    return document, match_events(sequence_of(document), list_names(clips or (A, B)), given)


def recut_text(
    text: str, *removals: Removal, hold: str | None = None, whole_sound: bool = False
) -> tuple[list[str], Recut]:
    """Event and motion lines of the new list, and what was done."""
    rate = next(iter(removals)).clip.rate if removals else FILM.rate
    document, done = _recut(text, removals, hold, whole_sound, rate)
    (new,) = reissue(document, done, "QUAY 2")
    return new.splitlines(), done


def handed_over(
    text: str,
    *removals: Removal,
    hold: str | None = None,
    whole_sound: bool = False,
    rate: Fraction = FILM.rate,
) -> tuple[list[str], Recut]:
    """The lines of the new list, checked as before it is handed over, and what was done."""
    document, done = _recut(text, removals, hold, whole_sound, rate)
    texts = reissue(document, done, "QUAY 2")
    changes = change_list(("1", "2"), document.record_clock, done.events, done.pieces)
    if changes.adjustments:
        changes = parse_change_csv(render_change_csv(changes))
    check_recut(texts, document, done, changes)
    return texts[0].splitlines(), done


def _recut(
    text: str,
    removals: tuple[Removal, ...],
    hold: str | None,
    whole_sound: bool,
    rate: Fraction,
) -> tuple[EdlDocument, Recut]:
    clips = {removal.clip for removal in removals}
    clips |= {clip for clip in (A, B) if clip.reel not in {other.reel for other in clips}}
    document, matches = matched(text, *clips, rate=rate)
    return document, recut([match.event for match in matches], removals, hold, whole_sound)


def events_of(lines: list[str]) -> list[str]:
    return [line for line in lines if line[:3].isdigit()]


def reasons(done: Recut) -> list[tuple[int, str]]:
    return [(each.number, each.reason) for each in done.refused]


SHOTS = HEAD + (
    "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "* FROM CLIP NAME: S12_T2_A.mov\n"
    "002  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
    "003  A1       V     C        00:00:00:12 00:00:02:12 01:00:02:00 01:00:04:00\n"
)
