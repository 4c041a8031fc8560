"""Hits by hand: contacts that people mark, measured like any other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from impactcut.core.fight.entries import HitEntry
from impactcut.core.takes.clip import Clip
from impactcut.core.trims.decision import Decision
from impactcut.errors import ImpactcutError, MarkError, TimecodeError
from impactcut.project import Actor, HandMark, Project, StoredClip, StoredHit
from impactcut.project.statements.hits import same_hit
from impactcut.workflow.clock import now
from impactcut.workflow.hits.deciding import Signature
from impactcut.workflow.hits.hit_filter import ALL_HITS
from impactcut.workflow.hits.listing import entries_beside
from impactcut.workflow.hits.names import Names
from impactcut.workflow.hits.proposing import propose_for_clip
from impactcut.workflow.scan.clips_to_measure import Call, here

if TYPE_CHECKING:
    from impactcut.core.sound.speech import Sounds
    from impactcut.workflow.scan.at_mark import Measured


@dataclass(frozen=True)
class Place:
    """Where somebody saw a hit: a frame of a clip, counted from 0, and what they noted."""

    clip_id: int
    frame: int
    note: str = ""


@dataclass(frozen=True)
class MarkOutcome:
    """What came of a mark: the hit, or why there is none.

    Parameters
    ----------
    why : str
        Why the contact lies where it does.
    put_off : Decision or None
        An approval whose frames no longer fit, and that was put off till later.
    act : int or None
        Under which it can be taken back.
    """

    place: Place
    entry: HitEntry | None
    why: str = ""
    put_off: Decision | None = None
    error: ImpactcutError | None = None
    act: int | None = None


def frame_of(clip: Clip, text: str) -> int:
    """The frame of a clip, counted from 0, that a number or a source timecode stands for.

    Raises
    ------
    MarkError
        If it is neither, or lies outside the clip.
    """
    try:
        known = text.isascii() and text.isdecimal()
        frame = int(text) if known else clip.timebase.frame(text) - clip.source_start
    except TimecodeError as error:
        raise MarkError(f"{clip.name}: {error}, and {text!r} is no frame number") from error
    if not known and frame < 0:
        frame += clip.timebase.day
    _check_inside(clip, frame, text)
    return frame


def add_hits(
    project: Project,
    places: Iterable[Place],
    signed: Signature,
    exact: bool,
    call: Call = here,
) -> tuple[MarkOutcome, ...]:
    """Keep hits where somebody saw them, in one act.

    Each is put on the best frame within `SNAP` frames, unless ``exact``. A find that was not
    listed, and lies there, becomes that hit; where one is listed already, nothing is added. Clips
    are opened through ``call``.
    """
    results: list[MarkOutcome | tuple[Place, Measured, HandMark]] = []
    taken: list[tuple[int, int]] = []
    heard: dict[int, Sounds] = {}
    for place in places:
        try:
            stored = project.clip(place.clip_id)
            if place.clip_id not in heard:
                heard[place.clip_id] = _sounds(stored, call)
            measured = _measured(stored, place.frame, exact, heard[place.clip_id], call)
            mark = _new_mark(project, place, measured, taken)
        except ImpactcutError as error:
            results.append(MarkOutcome(place, None, error=error))
            continue
        taken.append((place.clip_id, mark.found.hit.contact))
        results.append((place, measured, mark))
    given = [each for each in results if isinstance(each, tuple)]
    if not given:
        return tuple(each for each in results if isinstance(each, MarkOutcome))
    act, numbers = project.mark([mark for _, _, mark in given], signed.by)
    kept = _finish(project, given, numbers, signed, act)
    return tuple(each if isinstance(each, MarkOutcome) else next(kept) for each in results)


def move_hit(
    project: Project, hit_id: int, frame: int, signed: Signature, call: Call = here
) -> MarkOutcome:
    """Put the contact of a hit on just that frame.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    MarkError
        If another hit is there, or the frame is not in the clip.
    MediaError
        If the clip cannot be read.
    """
    hit = project.hit(hit_id)
    stored = project.clip(hit.clip_id)
    place = Place(hit.clip_id, frame)
    measured = _measured(stored, frame, True, _sounds(stored, call), call)
    _check_free(project, project.hits(hit.clip_id), frame, hit.id)
    mark = HandMark(hit.clip_id, hit.id, measured.found)
    act, numbers = project.mark([mark], signed.by)
    return next(_finish(project, [(place, measured, mark)], numbers, signed, act))


def measure_again(project: Project, stored: StoredClip, call: Call) -> tuple[str, ...]:
    """Measure the hits by hand of a clip anew, after the clip was; what to look at.

    One whose frame the clip has no more is dropped, and what was decided of it waits. What cannot
    be measured stays as it was.
    """
    names = Names(project)
    notes = []
    by_hand = [hit for hit in project.hits(stored.id) if hit.by_hand]
    sounds = _sounds(stored, call) if by_hand else None
    for hit in by_hand:
        try:
            found = _measured(stored, hit.impact.contact, True, sounds, call).found
        except MarkError as error:
            notes.append(f"hit {names.of(hit.id)}, by hand, is dropped: {error}")
            project.drop_hit(hit.id)
        except ImpactcutError as error:
            notes.append(f"hit {names.of(hit.id)}, by hand, is as it was measured before: {error}")
        else:
            project.measured_again(hit.id, found)
    return tuple(notes)


def put_off_unfitting(
    project: Project, stored: StoredClip, by: Actor, act: int | None = None
) -> dict[int, Decision]:
    """Put off what was approved of a clip and no longer fits what is measured; what that was."""
    made = propose_for_clip(project, stored)
    unfit: dict[int, Decision] = {}
    for hit in project.hits(stored.id):
        said = hit.decision
        if said is None or said.trim is None or hit.id not in made:
            continue
        trim = made[hit.id].judged(said.trim)
        if trim is None or trim.vetoes:
            unfit[hit.id] = said
    later = {
        hit_id: Decision("later", None, by.who, by.when, said.note, said.note_who)
        for hit_id, said in unfit.items()
    }
    if later:
        project.decide_all(later, by, act)
    return unfit


def _new_mark(
    project: Project, place: Place, measured: Measured, taken: Sequence[tuple[int, int]]
) -> HandMark:
    """The mark of a new hit, or of a find that was there and not listed."""
    hit = measured.found.hit
    if any(clip == place.clip_id and same_hit(hit.contact, at) for clip, at in taken):
        raise MarkError(f"frame {place.frame}: it is the same contact as another one given")
    others = project.hits(place.clip_id)
    _check_free(project, others, place.frame)  # who marks a listed hit means that one
    doubtful = _check_free(project, others, hit.contact)
    number = None if doubtful is None else doubtful.id
    return HandMark(place.clip_id, number, measured.found)


def _check_free(
    project: Project, hits: Iterable[StoredHit], contact: int, moved: int | None = None
) -> StoredHit | None:
    """A find near a frame that is not listed, if there is one; a hit that is is refused."""
    near = [hit for hit in hits if hit.id != moved and same_hit(hit.impact.contact, contact)]
    for hit in near:
        if moved is not None or ALL_HITS.sure_enough(hit):
            name = Names(project).of(hit.id)
            raise MarkError(
                f"hit {name} is there already, its contact on frame {hit.impact.contact}; "
                f"'impactcut move {name} FRAME' puts that elsewhere"
            )
    return min(near, key=lambda hit: abs(hit.impact.contact - contact), default=None)


def _finish(
    project: Project,
    given: Sequence[tuple[Place, Measured, HandMark]],
    numbers: Sequence[int],
    signed: Signature,
    act: int,
) -> Iterator[MarkOutcome]:
    """Keep the notes, put off what no longer fits, and tell of each hit, all in one act."""
    notes = {
        number: _noted(project.hit(number).decision, place.note, signed)
        for number, (place, _, _) in zip(numbers, given, strict=True)
        if place.note
    }
    if notes:
        project.decide_all(notes, signed.by, act)
    unfit: dict[int, Decision] = {}
    for clip_id in {place.clip_id for place, _, _ in given}:
        unfit |= put_off_unfitting(project, project.clip(clip_id), signed.by, act)
    entries = entries_beside(project, numbers)
    for number, (place, measured, _) in zip(numbers, given, strict=True):
        yield MarkOutcome(place, entries[number], measured.why, unfit.get(number), act=act)


def _noted(before: Decision | None, note: str, signed: Signature) -> Decision:
    return replace(before or Decision("open"), note=note, note_who=signed.who)


def _measured(stored: StoredClip, frame: int, exact: bool, sounds: Sounds, call: Call) -> Measured:
    """What is measured at a mark, where the clip can harm nobody.

    What opens media is loaded here: most scans measure no hit by hand.

    Raises
    ------
    MarkError
        If the clip has no such frame, or nothing after it.
    MediaError
        If it cannot be read.
    """
    from impactcut.workflow.scan.at_mark import measure_mark

    _check_inside(stored.clip, frame, str(frame))
    path = Path(stored.clip.path)
    measured: Measured = call(path, measure_mark, (stored, frame, exact, sounds))
    return measured


def _sounds(stored: StoredClip, call: Call) -> Sounds:
    from impactcut.workflow.scan.at_mark import hear

    sounds: Sounds = call(Path(stored.clip.path), hear, (stored,))
    return sounds


def _check_inside(clip: Clip, frame: int, text: str) -> None:
    if not 0 <= frame < clip.frames:
        last = clip.frames - 1
        raise MarkError(
            f"{clip.name}: {text} is not in the clip, which has frames 0 to {last}{_labels(clip)}"
        )


def _labels(clip: Clip) -> str:
    first, last = clip.timecode(0), clip.timecode(clip.frames - 1)
    return f" ({first} to {last})" if first and last else ""


def scan_actor() -> Actor:
    """Who acts where a scan does."""
    return Actor("impactcut", now(), "scan")
