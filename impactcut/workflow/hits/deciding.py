"""Keeping what people decide about hits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decisions import Answer, Decision
from impactcut.core.trims.trim import Trim
from impactcut.core.viewer.viewing import Viewing
from impactcut.errors import TrimError
from impactcut.project import Clearing, Project
from impactcut.workflow.hits.entries import HitEntry, judged
from impactcut.workflow.hits.listing import find_hit, hits_beside


@dataclass(frozen=True)
class Signature:
    """Who decides, what they add in words, and when.

    Parameters
    ----------
    note : str or None
        None leaves the earlier note.
    when : str
        UTC, ISO 8601, to the second; empty for now.
    """

    who: str = ""
    note: str | None = None
    when: str = ""


def approve(
    project: Project,
    viewing: Viewing,
    hit_id: int,
    signed: Signature,
    choice: FrameRange | int | None = None,
) -> HitEntry:
    """Approve a trim of a hit.

    Parameters
    ----------
    choice : FrameRange, int or None
        Frames of the clip; or how many, for the best trim of so many; or None for the one
        proposed.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    TrimError
        If nothing is proposed, the frames were not judged or must not go, or they meet or touch
        the approved trim of another hit.
    """
    entry = find_hit(project, viewing, hit_id)
    trim = chosen_trim(entry, choice)
    if trim.vetoes:
        raise TrimError(
            f"hit {hit_id}: {_named(trim.frames)} must not go: {trim.vetoes[0]}; "
            f"'impactcut trims {hit_id}' lists the others"
        )
    for other in hits_beside(project, viewing, entry):
        _check_apart(entry, trim.frames, other)
    return _answer(project, viewing, entry, signed, "approved", trim.frames)


def decline(project: Project, viewing: Viewing, hit_id: int, signed: Signature) -> HitEntry:
    """Leave a hit as it was shot.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    """
    entry = find_hit(project, viewing, hit_id)
    return _answer(project, viewing, entry, signed, "declined")


def put_off(project: Project, viewing: Viewing, hit_id: int, signed: Signature) -> HitEntry:
    """Leave a hit for later.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    """
    entry = find_hit(project, viewing, hit_id)
    return _answer(project, viewing, entry, signed, "later")


def add_note(project: Project, viewing: Viewing, hit_id: int, signed: Signature) -> HitEntry:
    """Note something about a hit; what was decided stays, and an undecided hit is left for later.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    """
    entry = find_hit(project, viewing, hit_id)
    before = entry.decision or Decision("later")
    return _answer(project, viewing, entry, signed, before.answer, before.trim)


def clear(project: Project, viewing: Viewing, hit_id: int, signed: Signature) -> HitEntry:
    """Take back what was decided about a hit; the history keeps it.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    """
    entry = find_hit(project, viewing, hit_id)
    project.decide(hit_id, Clearing(signed.who, signed.when or now(), signed.note or ""))
    return replace(entry, decision=None)


def _answer(
    project: Project,
    viewing: Viewing,
    entry: HitEntry,
    signed: Signature,
    answer: Answer,
    trim: FrameRange | None = None,
) -> HitEntry:
    earlier = "" if entry.decision is None else entry.decision.note
    note = earlier if signed.note is None else signed.note
    project.decide(entry.id, Decision(answer, trim, signed.who, signed.when or now(), note))
    return find_hit(project, viewing, entry.id)


def chosen_trim(entry: HitEntry, choice: FrameRange | int | None) -> Trim:
    """The trim that a choice means (see `approve`), whether or not it may be made.

    Raises
    ------
    TrimError
        If nothing is proposed, or no such trim was judged.
    """
    if choice is None:
        return _proposed(entry)
    if isinstance(choice, FrameRange):
        return _judged(entry, choice)
    return _best(entry, choice)


def _best(entry: HitEntry, count: int) -> Trim:
    best = entry.best.get(count)
    if best is None:
        raise TrimError(
            f"hit {entry.id}: no trim of that many frames ({count}) may be made; "
            f"'impactcut trims {entry.id}' says why"
        )
    return best


def _proposed(entry: HitEntry) -> Trim:
    if entry.proposal.proposed is None:
        raise TrimError(
            f"hit {entry.id}: nothing is proposed ({entry.proposal.no_trim}); choose from "
            f"'impactcut trims {entry.id}' with --first and --count, or decline"
        )
    return entry.proposal.proposed


def _judged(entry: HitEntry, frames: FrameRange) -> Trim:
    trim = judged(entry.proposal, frames.start, len(frames))
    if trim is None:
        raise TrimError(
            f"hit {entry.id}: {_named(frames)} {'is' if len(frames) == 1 else 'are'} not among its "
            f"trims; 'impactcut trims {entry.id}' lists them"
        )
    return trim


def _check_apart(entry: HitEntry, frames: FrameRange, other: HitEntry) -> None:
    taken = None if other.decision is None else other.decision.trim
    if taken is not None and frames.start <= taken.stop and taken.start <= frames.stop:
        raise TrimError(
            f"hit {entry.id}: {_named(frames)} meet or touch the approved trim of hit {other.id} "
            f"({_named(taken)}); choose others, or 'impactcut decide {other.id} --clear'"
        )


def _named(frames: FrameRange) -> str:
    if len(frames) == 1:
        return f"frame {frames.start}"
    return f"frames {frames.start} to {frames.stop - 1}"


def now() -> str:
    """The time as decisions carry it: UTC, ISO 8601, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
