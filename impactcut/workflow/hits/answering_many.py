"""Which hits an answer to many at once is meant for, and which of them are left as they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from impactcut.core.fight.entries import HitEntry
from impactcut.core.trims.trim import Trim, Verdict
from impactcut.project import Project
from impactcut.workflow.hits.deciding import Wish
from impactcut.workflow.hits.hit_filter import ALL_HITS, HitFilter
from impactcut.workflow.hits.listing import list_hits
from impactcut.workflow.hits.names import Names

Shown = Literal["nobody", "frame-by-frame", "attentive", "everybody"]
SHOWN: Final[dict[Shown, Verdict]] = {
    "nobody": "clean",
    "frame-by-frame": "frame-step",
    "attentive": "attentive",
    "everybody": "obvious",
}
"""To whom a splice shows, in the words of a command line."""


@dataclass(frozen=True)
class Asked:
    """Which hits somebody asks for: those named, in the clips that pass, with such a trim.

    Parameters
    ----------
    words : sequence of str
        Names of hits, ranges and clips; none for every hit that is listed.
    wanted : HitFilter
        Of clips.
    shows : Shown or None
        To whom the splice shows; what is measured uncertainly shows to nobody for certain.
    gain : float or None
        Least speed gain.
    """

    words: Sequence[str] = ()
    wanted: HitFilter = ALL_HITS
    shows: Shown | None = None
    gain: float | None = None

    @property
    def chooses(self) -> bool:
        """Whether anything but names says which hits are meant."""
        return (self.wanted, self.shows, self.gain) != (ALL_HITS, None, None)

    def takes(self, trim: Trim | None) -> bool:
        """Whether a hit with that trim passes."""
        if self.shows is None and self.gain is None:
            return True
        if trim is None or trim.speed_gain < (self.gain or 0):
            return False
        sure = self.shows != "nobody" or trim.confident is not False
        return self.shows is None or (trim.verdict == SHOWN[self.shows] and sure)


@dataclass(frozen=True)
class Batch:
    """The hits that are meant.

    Parameters
    ----------
    hits : tuple of int
        To decide on.
    clips : int
        That they lie in.
    many : bool
        Whether they were not all named one by one.
    answered, without : int
        Hits that are left as they are, because somebody answered before, or because no trim is
        proposed; only of those that were not named one by one.
    """

    hits: tuple[int, ...]
    clips: int
    many: bool
    answered: int = 0
    without: int = 0


def chosen(project: Project, asked: Asked, wish: Wish) -> Batch:
    """The hits that somebody asks for.

    An answer to many leaves alone what was answered before: only a hit that is named itself, or in
    a range, is decided anew.

    Raises
    ------
    UnknownHitError
        If nothing is called as they say.
    """
    names = Names(project)
    meant = [names.meant(word) for word in asked.words]
    named = {hit for each in meant if not each.whole for hit in each.hits}
    many = asked.chooses or any(each.whole or len(each.hits) > 1 for each in meant)
    hits = dict.fromkeys(hit for each in meant for hit in each.hits)
    if not many:
        return Batch(tuple(hits), 0, many=False)
    listed = [hit for clip in list_hits(project, _all(asked.wanted)) for hit in clip.hits]
    passing = [
        hit
        for hit in listed
        if (hit.id in hits if asked.words else ALL_HITS.sure_enough(hit))
        and asked.takes(_trim(hit, wish))
    ]
    answers = wish.answer not in ("cleared", "note", "open")
    free = [hit for hit in passing if hit.id in named or not answers or _is_open(hit)]
    taking_out = wish.answer == "approved"
    able = [h for h in free if h.id in named or not taking_out or _trim(h, wish) is not None]
    return Batch(
        hits=tuple(hit.id for hit in able),
        clips=len({hit.clip.path for hit in able}),
        many=True,
        answered=len(passing) - len(free),
        without=len(free) - len(able),
    )


def _all(wanted: HitFilter) -> HitFilter:
    return HitFilter(
        wanted.paths, wanted.section, wanted.take, wanted.angle, wanted.circled, everything=True
    )


def _trim(hit: HitEntry, wish: Wish) -> Trim | None:
    """The trim that would be approved, or else the one that is listed."""
    if wish.answer == "approved" and isinstance(wish.choice, int):
        return hit.best.get(wish.choice)
    if wish.answer == "approved" and wish.choice is None:
        return hit.proposal.proposed
    return hit.taken


def _is_open(hit: HitEntry) -> bool:
    return hit.decision is None or hit.decision.answer == "open"
