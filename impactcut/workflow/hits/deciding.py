"""Keeping what people decide about hits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from impactcut.core.detect.confidence import SURE
from impactcut.core.fight.entries import HitEntry
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Answer, Decision
from impactcut.core.trims.trim import Trim
from impactcut.errors import ImpactcutError, NotListedError, TrimError, UnknownHitError
from impactcut.project import Actor, Clearing, Project, Source
from impactcut.workflow.clock import now
from impactcut.workflow.hits.listing import entries_beside


@dataclass(frozen=True)
class Signature:
    """Who decides, what they add in words, when, and from where.

    Parameters
    ----------
    who : str
        Somebody's name.
    note : str or None
        None leaves the earlier note, and its author.
    when : str
        UTC, ISO 8601, to the second; empty for now.

    Raises
    ------
    ValueError
        If nobody decides.
    """

    who: str
    note: str | None = None
    when: str = ""
    source: Source = "command"

    def __post_init__(self) -> None:
        if not self.who.strip():
            raise ValueError("an answer has somebody's name")

    @property
    def by(self) -> Actor:
        """Who acts now, whenever the answer was given."""
        return Actor(self.who, now(), self.source)


@dataclass(frozen=True)
class Wish:
    """What is to become of hits.

    Parameters
    ----------
    answer : {"approved", "declined", "later", "not-a-hit", "open", "cleared", "note"}
        ``"note"`` keeps a note and leaves the answer that stands, ``"open"`` keeps the note and
        takes the answer back.
    choice : FrameRange, int or None
        For an approval: frames of the clip; or how many, for the best trim of so many; or None for
        the one proposed.
    doubtful : bool
        Whether finds below the listed confidence may be made hits.
    """

    answer: Answer | Literal["cleared", "note"]
    choice: FrameRange | int | None = None
    doubtful: bool = True


@dataclass(frozen=True)
class Decided:
    """What came of a wish for one hit: the hit with what stands now, or why it was refused."""

    hit_id: int
    entry: HitEntry | None
    error: ImpactcutError | None = None


def decide(
    project: Project, hit_ids: Iterable[int], wish: Wish, signed: Signature
) -> tuple[Decided, ...]:
    """Decide about hits, in one act; those for which it cannot be done are left as they are."""
    wanted = tuple(dict.fromkeys(hit_ids))
    known = entries_beside(project, wanted)
    said: dict[int, Decision | Clearing] = {}
    refused: dict[int, ImpactcutError] = {}
    when = signed.when or now()
    for hit_id in wanted:
        try:
            if hit_id not in known:
                project.hit(hit_id)
            said[hit_id] = _said(
                known[hit_id], wish, replace(signed, when=when), _others(known, said)
            )
        except (TrimError, UnknownHitError, NotListedError) as error:
            refused[hit_id] = error
    project.decide_all(said, signed.by)
    return tuple(
        Decided(each, None, refused[each])
        if each in refused
        else Decided(each, replace(known[each], decision=_standing(said[each])))
        for each in wanted
    )


def answer_one(project: Project, hit_id: int, wish: Wish, signed: Signature) -> HitEntry:
    """Decide about one hit, as `decide`.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    TrimError
        If nothing is proposed, the frames were not judged or must not go, or they meet or touch
        the approved trim of another hit.
    """
    (decided,) = decide(project, (hit_id,), wish, signed)
    if decided.entry is None:
        assert decided.error is not None
        raise decided.error
    return decided.entry


def _others(
    known: Mapping[int, HitEntry], said: Mapping[int, Decision | Clearing]
) -> tuple[HitEntry, ...]:
    """The hits with what is said of them in the same act."""
    return tuple(
        replace(each, decision=_standing(said[each.id])) if each.id in said else each
        for each in known.values()
    )


def _standing(said: Decision | Clearing) -> Decision | None:
    return said if isinstance(said, Decision) else None


def _said(
    entry: HitEntry, wish: Wish, signed: Signature, others: Iterable[HitEntry]
) -> Decision | Clearing:
    if wish.answer == "note":
        return _noted(entry.decision or Decision("open"), signed)
    if wish.answer == "open":
        return _noted(_answer(entry, signed, "open"), signed)
    if wish.answer == "cleared":
        return Clearing(signed.who, signed.when, signed.note or "")
    if wish.answer in ("approved", "declined") and not wish.doubtful:
        _check_listed(entry)
    if wish.answer == "approved":
        return _answer(entry, signed, "approved", _approved(entry, wish.choice, others))
    return _answer(entry, signed, wish.answer)


def _noted(before: Decision, signed: Signature) -> Decision | Clearing:
    """What stands, with another note; nothing where neither an answer nor a note is left."""
    note = before.note if signed.note is None else signed.note
    if before.answer == "open" and not note:
        return Clearing(signed.who, signed.when)
    author = before.note_who if note == before.note else signed.who
    return replace(before, note=note, note_who=author if note else "")


def _answer(
    entry: HitEntry, signed: Signature, answer: Answer, trim: FrameRange | None = None
) -> Decision:
    """The answer, with the note that stands, and its author, unless another one is given."""
    before = entry.decision or Decision("open")
    note, author = before.note, before.note_who
    if signed.note is not None and signed.note != note:
        note, author = signed.note, signed.who if signed.note else ""
    who, when = ("", "") if answer == "open" else (signed.who, signed.when)
    return Decision(answer, trim, who, when, note, author)


def was_doubtful(entry: HitEntry) -> bool:
    """Whether it is only on somebody's word that a find is listed."""
    return entry.affirmed and entry.impact.confidence < SURE


def _check_listed(entry: HitEntry) -> None:
    confidence = entry.impact.confidence
    if confidence < SURE and not entry.affirmed:
        raise NotListedError(
            f"hit {entry.called} was not listed, confidence {confidence:.2f}: say --yes"
        )


def _approved(
    entry: HitEntry, choice: FrameRange | int | None, others: Iterable[HitEntry]
) -> FrameRange:
    trim = chosen_trim(entry, choice)
    if trim.vetoes:
        raise TrimError(
            f"hit {entry.called}: {_named(trim.frames)} must not go: {trim.vetoes[0]}; "
            f"'impactcut trims {entry.called}' lists the others"
        )
    for other in others:
        if other.clip.path == entry.clip.path and other.id != entry.id:
            _check_apart(entry, trim.frames, other)
    return trim.frames


def chosen_trim(entry: HitEntry, choice: FrameRange | int | None) -> Trim:
    """The trim that a choice means (see `Wish`), whether or not it may be made.

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
            f"hit {entry.called}: no trim of that many frames ({count}) may be made; "
            f"'impactcut trims {entry.called}' says why"
        )
    return best


def _proposed(entry: HitEntry) -> Trim:
    if entry.proposal.proposed is None:
        raise TrimError(
            f"hit {entry.called}: nothing is proposed ({entry.proposal.no_trim}); choose from "
            f"'impactcut trims {entry.called}' with --first and --count, or say --as-shot"
        )
    return entry.proposal.proposed


def _judged(entry: HitEntry, frames: FrameRange) -> Trim:
    trim = entry.proposal.judged(frames)
    if trim is None:
        raise TrimError(
            f"hit {entry.called}: {_named(frames)} {'is' if len(frames) == 1 else 'are'} not among "
            f"its trims; 'impactcut trims {entry.called}' lists them"
        )
    return trim


def _check_apart(entry: HitEntry, frames: FrameRange, other: HitEntry) -> None:
    taken = other.approved_frames
    if taken is not None and frames.start <= taken.stop and taken.start <= frames.stop:
        raise TrimError(
            f"hit {entry.called}: {_named(frames)} meet or touch the approved trim of hit "
            f"{other.called} ({_named(taken)}); choose others, or 'impactcut decide "
            f"{other.called} --clear'"
        )


def _named(frames: FrameRange) -> str:
    if len(frames) == 1:
        return f"frame {frames.start}"
    return f"frames {frames.start} to {frames.stop - 1}"
