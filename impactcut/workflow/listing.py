"""The hits of a project with what is proposed and decided, chosen as somebody asks."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from impactcut.core.calibration import Calibration, calibrated
from impactcut.core.clip import Clip
from impactcut.core.decisions import Decision
from impactcut.core.hits import SURE, UNSURE, Hit
from impactcut.core.propose import best_for_each_count
from impactcut.core.reading import Reading, read_hit, usual_speed, with_early_reaction
from impactcut.core.trims import Proposal, Trim
from impactcut.core.viewing import ModelParameters, Viewing
from impactcut.errors import ProjectError, RateError, UnknownNameError
from impactcut.project import Project, StoredClip, StoredHit
from impactcut.workflow.find import natural_order
from impactcut.workflow.proposing import propose_for_clip

_SHOWS = ("attentive", "obvious")
_MOST_NAMES = 20


@dataclass(frozen=True)
class HitEntry:
    """One hit of a clip: what was measured, proposed and decided.

    ``usual_speed`` is that of the sure hits of the whole project, picture widths per second;
    ``calibration`` the one that the proposal was made with.
    """

    id: int
    clip: Clip
    hit: Hit
    proposal: Proposal
    decision: Decision | None
    usual_speed: float | None = None
    calibration: Calibration | None = None

    @property
    def parameters(self) -> ModelParameters:
        """The model's numbers that the proposal was made with."""
        return calibrated(self.calibration)

    @property
    def best(self) -> Mapping[int, Trim]:
        """The best trim of each count of frames."""
        return best_for_each_count(self.proposal, self.parameters)

    @property
    def approved(self) -> Trim | None:
        """The approved trim, as judged; None where there is none, or it was not judged."""
        if self.decision is None or self.decision.trim is None:
            return None
        return judged(self.proposal, self.decision.trim.start, len(self.decision.trim))

    @property
    def taken(self) -> Trim | None:
        """The approved trim, or the one proposed where none is approved; None as in `approved`."""
        if self.decision is not None and self.decision.trim is not None:
            return self.approved
        return self.proposal.proposed

    @property
    def undecided(self) -> bool:
        """Whether nobody has approved or declined."""
        return self.decision is None or self.decision.answer == "later"

    @property
    def flagged(self) -> bool:
        """Whether there is no trim, or one that shows, is uncertain or is hard to believe."""
        if self.decision is not None and self.decision.answer == "declined":
            return False
        return self.taken is None or self.doubts(self.taken)

    def doubts(self, trim: Trim) -> bool:
        """Whether a trim of the hit shows, is uncertain or is hard to believe."""
        hard_to_believe = trim.speed_gain > self.parameters.believable_gain
        return trim.verdict in _SHOWS or hard_to_believe or trim.confident is False

    @cached_property
    def reading(self) -> Reading:
        """How the hit reads beside the others of its project."""
        return read_hit(self.hit, self.clip.rate, self.usual_speed, self.clip.scale)

    @property
    def weak(self) -> bool:
        """Whether the hit looks slow for this fight, or for a punch where the scale is known."""
        return bool(self.reading.weak)

    @property
    def late(self) -> bool:
        """Whether the receiver reacts so late that it starts to look uncaused."""
        return bool(self.reading.late)

    @property
    def early(self) -> bool:
        """Whether the receiver moves before the contact."""
        return bool(self.reading.early)


@dataclass(frozen=True)
class ClipEntry:
    """A clip and those of its hits that were asked for."""

    clip: Clip
    hits: tuple[HitEntry, ...]


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
    flagged, weak, late, early, undecided : bool
        As the properties of `HitEntry`.
    confidence : float
        Least confidence, 0..1. A hit that somebody answered is listed whatever its confidence.
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

    @property
    def by_hit(self) -> bool:
        """Whether single hits can fall out."""
        return self.flagged or self.weak or self.late or self.early or self.undecided

    def takes_clip(self, clip: Clip) -> bool:
        """Whether the clip is one of those asked for."""
        asked = ((self.section, clip.section), (self.take, clip.take), (self.angle, clip.angle))
        if any(name is not None and name.casefold() != has.casefold() for name, has in asked):
            return False
        if self.circled and not clip.circled:
            return False
        return not self.paths or any(names_clip(path, clip) for path in self.paths)

    def sure_enough(self, hit: HitEntry | StoredHit) -> bool:
        """Whether the hit is sure enough to be listed, or was answered."""
        return hit.hit.confidence >= self.confidence or hit.decision is not None

    def takes_hit(self, entry: HitEntry) -> bool:
        """Whether the hit is one of those asked for."""
        return (
            self.sure_enough(entry)
            and (entry.flagged or not self.flagged)
            and (entry.weak or not self.weak)
            and (entry.late or not self.late)
            and (entry.early or not self.early)
            and (entry.undecided or not self.undecided)
        )


ALL_HITS = HitFilter()


def list_hits(
    project: Project, viewing: Viewing, wanted: HitFilter = ALL_HITS
) -> tuple[ClipEntry, ...]:
    """The measured clips in natural order of their paths, each with its hits in order.

    Proposals that the viewing lacks are made. A clip without a hit that is asked for is left out
    if a condition on hits is given.
    """
    return _listed(project, wanted, lambda clip, _: propose_for_clip(project, clip, viewing))


def list_chosen(
    project: Project, viewing: Viewing, wanted: HitFilter = ALL_HITS
) -> tuple[ClipEntry, ...]:
    """As `list_hits`, but of each proposal only the trim that is proposed and the one approved.

    That is many times as quick where there are thousands.
    """
    chosen = project.chosen_trims(viewing, wanted.confidence, project.calibration())

    def proposals(clip: StoredClip, hits: Sequence[StoredHit]) -> Mapping[int, Proposal]:
        if all(hit.id in chosen and _holds_approved(chosen[hit.id], hit) for hit in hits):
            return chosen
        return propose_for_clip(project, clip, viewing)

    return _listed(project, wanted, proposals)


def count_unsure(project: Project, wanted: HitFilter = ALL_HITS) -> int:
    """Finds of the clips asked for that are not listed, but are `UNSURE` or surer."""
    found = project.all_hits()
    return sum(
        UNSURE <= hit.hit.confidence < wanted.confidence and hit.decision is None
        for stored in measured_clips(project)
        if stored.clip is not None and wanted.takes_clip(stored.clip)
        for hit in found.get(stored.id, ())
    )


def find_hit(project: Project, viewing: Viewing, hit_id: int) -> HitEntry:
    """One hit.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    """
    hit = project.hit(hit_id)
    stored = next(clip for clip in project.clips() if clip.id == hit.clip_id)
    assert stored.clip is not None
    proposals = propose_for_clip(project, stored, viewing)
    beside = project.hits(stored.id)
    usual = usual_speed(project.speeds(SURE))
    return _entry(stored.clip, hit, beside, proposals[hit.id], usual, project.calibration())


def hits_beside(project: Project, viewing: Viewing, entry: HitEntry) -> tuple[HitEntry, ...]:
    """The other hits of a hit's clip."""
    clips = list_hits(project, viewing, HitFilter(paths=(Path(entry.clip.path),)))
    return tuple(hit for clip in clips for hit in clip.hits if hit.id != entry.id)


def judged(proposal: Proposal, first: int, count: int) -> Trim | None:
    """The trim of those frames, if it was judged."""
    fits = (trim for trim in proposal.trims if (trim.first, trim.count) == (first, count))
    return next(fits, None)


def source_timecode(clip: Clip, frame: int) -> str | None:
    """Source timecode of a clip's frame; None at a rate for which there is no timecode."""
    try:
        return clip.source_label(frame)
    except RateError:
        return None


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
    clips = [stored.clip for stored in measured_clips(project) if stored.clip is not None]
    for kind in kinds:
        asked = getattr(wanted, kind)
        known = sorted({getattr(clip, kind) for clip in clips} - {""}, key=natural_order)
        if asked.casefold() not in map(str.casefold, known):
            raise UnknownNameError(f"no clip is of {kind} {asked!r}; {_known_names(kind, known)}")


def _known_names(kind: str, names: Sequence[str]) -> str:
    if not names:
        return f"no {kind} is known of any: 'impactcut shots' shows how names are read"
    more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    return f"there {'is' if len(names) == 1 else 'are'} {', '.join(names[:_MOST_NAMES])}{more}"


def unmatched_paths(project: Project, paths: Sequence[Path]) -> tuple[Path, ...]:
    """Those of the paths that name no measured clip of the project."""
    if not paths:
        return ()
    clips = [stored.clip for stored in measured_clips(project) if stored.clip is not None]
    return tuple(path for path in paths if not any(names_clip(path, clip) for clip in clips))


def names_clip(path: Path, clip: Clip) -> bool:
    """Whether a path names a clip: its file, a folder that holds it, or its bare file name."""
    if path.name == str(path) and path.name == clip.name:
        return True
    whole = path.resolve()
    return Path(clip.path).is_relative_to(whole)


def measured_clips(project: Project) -> tuple[StoredClip, ...]:
    """The clips that are measured, in natural order of their paths."""
    measured = [clip for clip in project.clips() if clip.state == "done"]
    return tuple(sorted(measured, key=lambda clip: natural_order(clip.path)))


_Propose = Callable[[StoredClip, Sequence[StoredHit]], Mapping[int, Proposal]]
"""Gives the proposals for a clip's hits, by hit number."""


def _listed(project: Project, wanted: HitFilter, propose: _Propose) -> tuple[ClipEntry, ...]:
    usual, calibration = usual_speed(project.speeds(SURE)), project.calibration()
    found = project.all_hits()
    listed: list[ClipEntry] = []
    for stored in measured_clips(project):
        clip = stored.clip
        if clip is None or not wanted.takes_clip(clip):
            continue
        beside = found.get(stored.id, ())
        hits = [hit for hit in beside if wanted.sure_enough(hit)]
        made = propose(stored, hits)
        entries = (
            _entry(clip, hit, beside, made[hit.id], usual, calibration)
            for hit in hits
            if hit.id in made
        )
        listed.append(ClipEntry(clip, tuple(each for each in entries if wanted.takes_hit(each))))
    return tuple(entry for entry in listed if entry.hits or not wanted.by_hit)


def _holds_approved(proposal: Proposal, hit: StoredHit) -> bool:
    trim = None if hit.decision is None else hit.decision.trim
    return trim is None or judged(proposal, trim.start, len(trim)) is not None


def _entry(
    clip: Clip,
    stored: StoredHit,
    beside: Iterable[StoredHit],
    proposal: Proposal,
    usual: float | None,
    calibration: Calibration | None,
) -> HitEntry:
    others = (other.hit for other in beside if other.id != stored.id)
    hit = with_early_reaction(stored.hit, others, clip.rate)
    return HitEntry(stored.id, clip, hit, proposal, stored.decision, usual, calibration)
