"""Long cuts, recut from text to checked text or by the whole command, to see what that costs."""

from __future__ import annotations

from pathlib import Path

from impactcut.core.programme.change_list import Cause, change_list
from impactcut.core.recut.cutting import recut
from impactcut.core.recut.hold_length import Hold
from impactcut.core.recut.reel_match import match_events
from impactcut.core.recut.sound_drift import sound_drifts
from impactcut.core.takes.clip import Clip
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.recut_check import check_recut
from impactcut.lists.edl.reissue import reissue
from impactcut.lists.edl.sequence import list_names, sequence_of
from impactcut.lists.tables.change_list_csv import parse_change_csv, render_change_csv
from impactcut.lists.tables.change_list_of_cut import words_for
from impactcut.project import Actor, Project
from impactcut.workflow.export.recutting import RecutOptions, recut_list
from tests.helpers.lists.list_clips import make_clip, make_removal
from tests.helpers.lists.recut_lists import FILM
from tests.helpers.projects import project_values
from tests.helpers.projects.kept_clips import keep_clip

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


TAKES = 100


def make_long_project(folder: Path, events: int, uses: int) -> tuple[Path, Path]:
    """A project of a hundred takes with an approved trim for each use, and a cut of them."""
    path, cut = folder / "long.db", folder / "long.edl"
    per_take = -(-events // TAKES)
    lines = ["TITLE: LONG", "FCM: NON-DROP FRAME"]
    clips = [
        project_values.make_clip(
            f"/quay/T{n:03d}.mov", reel=f"T{n:03d}", rate=FILM.rate,
            frames=per_take * 2 * SHOT, source_start=n * 1000,
        )
        for n in range(TAKES)
    ]  # fmt: skip
    with Project(path, create=True) as project:
        for number, clip in enumerate(clips):
            places = [shot // TAKES * 2 * SHOT + 12 for shot in range(number, uses, TAKES)]
            _store(project, clip, places)
    for shot in range(events):
        clip, place = clips[shot % TAKES], shot // TAKES * 2 * SHOT + 4
        source, record = clip.source_start + place, shot * SHOT
        times = (source, source + SHOT, record, record + SHOT)
        channels = "AA/V" if shot % 2 else "V"
        labels = " ".join(map(FILM.label, times))
        lines.append(f"{shot + 1:06d}  {clip.reel:<8} {channels:<4}  C        {labels}")
        lines.append(f"* FROM CLIP NAME: {clip.name}")
    cut.write_text("".join(f"{line}\r\n" for line in lines), "ascii", newline="")
    return path, cut


def _store(project: Project, clip: Clip, places: list[int]) -> None:
    clip_id = keep_clip(project, clip, *(at + 1 for at in places))
    hits = project.hits(clip_id)
    trims = [Trim(at, 2, 1.18, 0.7, "clean", (), {"strike": 0.7}, ("hidden",)) for at in places]
    proposals = [Proposal((trim,), trim, None) for trim in trims]
    project.store_proposals(list(zip(hits, proposals, strict=True)))
    when = "2024-03-01T20:00:00Z"
    answers = {
        hit.id: Decision("approved", FrameRange(at, at + 2), "Ines", when)
        for hit, at in zip(hits, places, strict=True)
    }
    project.decide_all(answers, Actor("Ines", when))


def recut_long_project(path: Path, cut: Path, hold: Hold | None, whole_sound: bool) -> int:
    """The whole of ``impactcut recut`` but for the terminal; the trims made."""
    options = RecutOptions(rate="24", hold=hold, whole_sound=whole_sound, force=True)
    with Project(path) as project:
        return recut_list(project, cut, cut.with_name("new.edl"), options).made
