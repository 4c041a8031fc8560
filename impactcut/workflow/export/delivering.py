"""Versions that are handed over: which number the next one has, what it held, and since which."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from impactcut.core.fight.entries import HitEntry
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.programme.delivery import (
    DeliveredClip,
    DeliveredFile,
    DeliveredHit,
    DeliveredList,
    Delivery,
    Scope,
    earlier,
)
from impactcut.core.takes.clip import Clip
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListError, ProjectError
from impactcut.lists.reels import reel_names
from impactcut.lists.tables.change_list_of_cut import Since, changes_of_cut, words_for
from impactcut.project import Actor, Project


@dataclass(frozen=True)
class Versions:
    """What was handed over before, for a hand-over of one scope.

    Parameters
    ----------
    before : tuple of Delivery
        Oldest first.
    scope : Scope
        Of what is handed over now.
    since : int or None
        From which version change lists run: 0 from the untrimmed clips, None from the last that
        shows other frames.

    Raises
    ------
    ProjectError
        If there is no version ``since``.
    """

    before: tuple[Delivery, ...]
    scope: Scope
    since: int | None = None

    def __post_init__(self) -> None:
        numbers = [delivery.number for delivery in self.before]
        if self.since and self.since not in numbers:
            known = f"there are 1 to {numbers[-1]}" if numbers else "nothing was handed over yet"
            raise ProjectError(
                f"there is no version {self.since}: {known}; 'impactcut deliveries' lists them"
            )

    @property
    def next(self) -> int:
        """The number of what is handed over now."""
        return self.before[-1].number + 1 if self.before else 1

    def of(self, name: str, timebase: Timebase) -> Iterator[Since]:
        """The versions of the same list, the last first."""
        return earlier(self.before, name, self.scope, timebase)

    def base(self, name: str, cut: CutList) -> Since | None:
        """What the change list of a programme runs from; None for the untrimmed clips.

        That is the version that was asked for, or else the last one that shows other frames.

        Raises
        ------
        ListError
            If the version that was asked for has no such list.
        """
        if self.since == 0:
            return None
        if self.since is None:
            others = (
                each
                for each in self.of(name, cut.timebase)
                if changes_of_cut(cut, since=each).adjustments
            )
            return next(others, None)
        (asked,) = (each for each in self.before if each.number == self.since)
        for listed in asked.lists:
            if (listed.name, listed.timebase) == (name, cut.timebase):
                return asked.number, listed
        held = ", ".join(listed.name for listed in asked.lists)
        raise ListError(f"version {self.since} holds no list of this name and rate, but {held}")


def delivered_list(
    name: str, cut: CutList, hits: Iterable[HitEntry], numbers: Mapping[str, tuple[int, str]]
) -> DeliveredList:
    """A programme as it is handed over; ``numbers`` as `numbers_of` gives them."""
    out = {removal.hit.id: removal for removal in cut.removals}
    reels, clips = reel_names(cut.clips), set(cut.clips)
    return DeliveredList(
        name=name,
        title=cut.title,
        rate=cut.timebase.rate,
        drop_frame=cut.timebase.drop_frame,
        record_start=cut.record_start,
        clips=tuple(delivered_clip(clip, reels[clip], *numbers[clip.path]) for clip in cut.clips),
        hits=tuple(
            delivered_hit(hit, numbers[hit.clip.path][0], out.get(hit.id))
            for hit in hits
            if hit.clip in clips
        ),
    )


def delivered_clip(clip: Clip, reel: str, number: int, digest: str) -> DeliveredClip:
    """A clip as it is handed over."""
    return DeliveredClip(
        number=number,
        path=clip.listed,
        name=clip.name,
        reel=reel,
        frames=clip.frames,
        source_start=clip.source_start,
        has_sound=clip.has_sound,
        section=clip.section,
        take=clip.take,
        angle=clip.angle,
        slate=clip.slate,
        circled=clip.circled,
        digest=digest,
    )


def delivered_hit(hit: HitEntry, clip: int, removal: Removal | None) -> DeliveredHit:
    """A hit of a clip, by its number, as it is handed over."""
    kept = DeliveredHit(hit.id, clip, hit.called, hit.impact.contact)
    if removal is None:
        return kept
    first, count = removal.trim.first, removal.trim.count
    said = words_for(removal)
    return replace(kept, first=first, count=count, standing=removal.standing, words=said)


def numbers_of(project: Project) -> dict[str, tuple[int, str]]:
    """Number, and digest of what was measured, of every clip by its path."""
    return {stored.path: (stored.id, stored.measured) for stored in project.clips()}


def delivered(
    versions: Versions,
    by: Actor,
    judged: tuple[float, bool],
    files: Iterable[Path],
    lists: Iterable[DeliveredList],
) -> Delivery:
    """What is handed over now.

    Parameters
    ----------
    judged : tuple of (float, bool)
        Field of view in degrees, and whether unanswered proposals went out.
    """
    digests = tuple(DeliveredFile(str(path.resolve()), file_digest(path)) for path in files)
    fov, proposed = judged
    return Delivery(
        versions.next, by.who, by.when, versions.scope, fov, proposed, digests, tuple(lists)
    )


def keep_delivery(project: Project, delivery: Delivery) -> str:
    """Keep that something was handed over; why not, where that cannot be done."""
    number = delivery.number
    if not project.writable:
        return f"version {number} is not kept: {project.path} may not be written"
    if not project.add_delivery(delivery):
        return (
            f"version {number} is not kept: somebody else handed over a version of that number "
            "meanwhile; export again with --force"
        )
    return ""


def file_digest(path: Path) -> str:
    """The hexadecimal SHA-256 digest of what is in a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
