"""Which clips and hits of a project are asked for, by path, section, take, angle or faults."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from impactcut.core.detect.confidence import SURE
from impactcut.core.fight.entries import HitEntry
from impactcut.core.fight.reading import KINDS
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.names import natural_order
from impactcut.errors import ProjectError, UnknownNameError
from impactcut.project import Project, StoredClip, StoredHit

_MOST_NAMES = 20


@dataclass(frozen=True)
class HitFilter:
    """Which hits to list: those that meet every condition given.

    Parameters
    ----------
    paths : tuple of Path
        Clips, by path or by file name, or folders of clips; empty for all.
    section, take, angle : str or None
        Upper and lower case are one.
    circled : bool
        Only takes that were marked as ones to use.
    flagged, undecided : bool
        As the properties of `HitEntry`.
    weak, late, early : bool
        Those of whose `Reading` something is said.
    confidence : float
        Least confidence, 0..1. What somebody approved or left as shot is listed whatever its
        confidence, and what somebody said is no hit is not.
    denied : bool
        What somebody said is no hit is listed too.
    everything : bool
        Every find, whatever its confidence and whatever was said of it.
    """

    paths: tuple[Path, ...] = ()
    section: str | None = None
    take: str | None = None
    angle: str | None = None
    circled: bool = False
    flagged: bool = False
    weak: bool = False
    late: bool = False
    early: bool = False
    undecided: bool = False
    confidence: float = SURE
    denied: bool = False
    everything: bool = False

    @property
    def by_hit(self) -> bool:
        """Whether single hits can fall out."""
        return self.flagged or self.undecided or any(getattr(self, kind) for kind in KINDS)

    def takes_clip(self, clip: Clip) -> bool:
        """Whether the clip is one of those asked for."""
        asked = ((self.section, clip.section), (self.take, clip.take), (self.angle, clip.angle))
        if any(name is not None and name.casefold() != has.casefold() for name, has in asked):
            return False
        if self.circled and not clip.circled:
            return False
        return not self.paths or any(names_clip(path, clip) for path in self.paths)

    def sure_enough(self, hit: HitEntry | StoredHit) -> bool:
        """Whether the find counts as a hit: it is sure enough, or somebody says so."""
        if self.everything or hit.affirmed:
            return True
        if hit.denied:
            return self.denied
        return hit.impact.confidence >= self.confidence

    def takes_hit(self, entry: HitEntry) -> bool:
        """Whether the hit is one of those asked for."""
        return (
            self.sure_enough(entry)
            and (entry.flagged or not self.flagged)
            and (entry.undecided or not self.undecided)
            and all(getattr(entry.reading, kind) for kind in KINDS if getattr(self, kind))
        )


ALL_HITS = HitFilter()


def count_listed(project: Project) -> tuple[int, int]:
    """How many clips are measured and not taken out, and how many hits are listed of them."""
    clips, found = measured_clips(project), project.all_hits()
    hits = (hit for clip in clips for hit in found.get(clip.id, ()))
    return len(clips), sum(ALL_HITS.sure_enough(hit) for hit in hits)


def check_measured(project: Project) -> None:
    """Refuse a project that holds nothing to look at yet.

    Raises
    ------
    ProjectError
    """
    if not measured_clips(project):
        raise ProjectError(
            f"{project.path}: no clip is measured yet; 'impactcut scan FOLDER' measures what is in "
            "a folder, and 'impactcut status' names what failed"
        )


def check_names(project: Project, wanted: HitFilter) -> None:
    """Refuse a section, take or angle that no clip of the project has.

    Raises
    ------
    UnknownNameError
        Saying which there are.
    """
    kinds = [kind for kind in ("section", "take", "angle") if getattr(wanted, kind) is not None]
    if not kinds:
        return
    clips = [stored.clip for stored in measured_clips(project)]
    for kind in kinds:
        asked = getattr(wanted, kind)
        known = sorted({getattr(clip, kind) for clip in clips} - {""}, key=natural_order)
        if asked.casefold() not in map(str.casefold, known):
            raise UnknownNameError(
                f"no clip belongs to {kind} {asked!r}; {_known_names(kind, known)}"
            )


def _known_names(kind: str, names: Sequence[str]) -> str:
    if not names:
        return f"no {kind} is known for any clip: 'impactcut shots' shows how names are read"
    more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    return f"there {'is' if len(names) == 1 else 'are'} {', '.join(names[:_MOST_NAMES])}{more}"


def unmatched_paths(project: Project, paths: Sequence[Path]) -> tuple[Path, ...]:
    """Those of the paths that name no measured clip of the project."""
    if not paths:
        return ()
    clips = [stored.clip for stored in measured_clips(project)]
    return tuple(path for path in paths if not any(names_clip(path, clip) for clip in clips))


def names_clip(path: Path, clip: Clip) -> bool:
    """Whether a path names a clip: its file, a folder that holds it, or its bare file name.

    So do those of the original that it stands for.
    """
    if path.name == str(path) and path.name in clip.file_names:
        return True
    whole = path.resolve()
    return any(Path(each).is_relative_to(whole) for each in {clip.path, clip.listed})


def measured_clips(project: Project) -> tuple[StoredClip, ...]:
    """The clips that are measured and not taken out, in natural order of their paths."""
    measured = [clip for clip in project.clips() if clip.state == "done" and not clip.dropped]
    return tuple(sorted(measured, key=lambda clip: natural_order(clip.path)))
