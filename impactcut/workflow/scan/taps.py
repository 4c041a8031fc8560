"""Contacts that somebody tapped on a page become hits by hand, and can be taken back."""

from __future__ import annotations

from dataclasses import dataclass

from impactcut.core.fight.entries import HitEntry
from impactcut.project import Actor, Project, Source
from impactcut.workflow.clock import now
from impactcut.workflow.hits.deciding import Signature
from impactcut.workflow.hits.page_answers import GivenTap, clips_named
from impactcut.workflow.scan.by_hand import Place, add_hits


@dataclass(frozen=True)
class TakenTap:
    """What came of a tap.

    Parameters
    ----------
    entry : HitEntry or None
        The hit that it became.
    act : int or None
        Under which it can be taken back.
    reason : str
        Why the contact lies where it does, or why there is no hit.
    """

    given: GivenTap
    entry: HitEntry | None
    act: int | None
    reason: str


def take_tap(project: Project, given: GivenTap, source: Source = "page") -> TakenTap:
    """Measure where somebody tapped, and keep the hit; the contact snaps to the best frame near."""
    clips = clips_named(project, given.clip, given.digest)
    if isinstance(clips, str):
        return TakenTap(given, None, None, clips)
    when = min(given.when, now())
    signed = Signature(given.who, when=when, source=source)
    (marked,) = add_hits(project, [Place(clips[0].id, given.frame)], signed, exact=False)
    if marked.entry is None:
        return TakenTap(given, None, None, str(marked.error))
    return TakenTap(given, marked.entry, marked.act, marked.why)


def take_back_tap(project: Project, act: int, who: str) -> str:
    """Take a tap back if nothing was said of its hit since; why not, or nothing."""
    if project.take_back_marks(Actor(who, now(), "page"), act):
        return ""
    return "something was said since of its hit: open it, and say that it is not one"
