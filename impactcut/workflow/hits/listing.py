"""The hits of a project with what is proposed and decided, chosen as somebody asks."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from pathlib import Path

from impactcut.core.detect.confidence import SURE, UNSURE
from impactcut.core.fight.entries import ClipEntry, HitEntry
from impactcut.core.fight.reading import usual_speed
from impactcut.core.trims.trim import Proposal
from impactcut.project import Project, StoredClip, StoredHit
from impactcut.workflow.hits.hit_filter import ALL_HITS, HitFilter, measured_clips
from impactcut.workflow.hits.names import hit_name, names_of_clips
from impactcut.workflow.hits.proposing import propose_for_clip
from impactcut.workflow.hits.tasting import taste_asked_for, to_taste

_Propose = Callable[[StoredClip, Sequence[StoredHit]], Mapping[int, Proposal]]
"""Gives the proposals for a clip's hits, by hit number."""


def list_hits(project: Project, wanted: HitFilter = ALL_HITS) -> tuple[ClipEntry, ...]:
    """The measured clips in natural order of their paths, each with its hits in order.

    Proposals that are missing are made. A clip without a hit that is asked for is left out
    if a condition on hits is given.
    """
    return _listed(project, wanted, lambda clip, _: propose_for_clip(project, clip))


def list_chosen(project: Project, wanted: HitFilter = ALL_HITS) -> tuple[ClipEntry, ...]:
    """As `list_hits`, but of each proposal only the trim that is proposed and the one approved.

    That is many times as quick where there are thousands.
    """
    least = 0.0 if wanted.everything else wanted.confidence
    chosen = project.chosen_trims(least)

    def proposals(clip: StoredClip, hits: Sequence[StoredHit]) -> Mapping[int, Proposal]:
        if not project.by_taste and all(
            hit.id in chosen and _holds_approved(chosen[hit.id], hit) for hit in hits
        ):
            return chosen
        return propose_for_clip(project, clip)

    return _listed(project, wanted, proposals)


def count_unsure(project: Project, wanted: HitFilter) -> int:
    """Finds of the clips asked for that are not listed, but are `UNSURE` or surer."""
    found = project.all_hits()
    return sum(
        UNSURE <= hit.impact.confidence < wanted.confidence and hit.undecided
        for stored in measured_clips(project)
        if wanted.takes_clip(stored.clip)
        for hit in found.get(stored.id, ())
    )


def find_hit(project: Project, hit_id: int) -> HitEntry:
    """One hit.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    """
    hit = project.hit(hit_id)
    stored = project.clip(hit.clip_id)
    made = propose_for_clip(project, stored)
    (entry,) = _Entries(project)(stored, [hit], made)
    return entry


def hits_beside(project: Project, entry: HitEntry) -> tuple[HitEntry, ...]:
    """The other hits of a hit's clip."""
    clips = list_hits(project, HitFilter(paths=(Path(entry.clip.path),)))
    return tuple(hit for clip in clips for hit in clip.hits if hit.id != entry.id)


def entries_beside(project: Project, hit_ids: Collection[int]) -> dict[int, HitEntry]:
    """Every find, by number, of the clips that have one of these hits."""
    as_entries, found = _Entries(project), project.all_hits()
    meant = (clip_id for clip_id, hits in found.items() if any(hit.id in hit_ids for hit in hits))
    return {
        entry.id: entry
        for clip in map(project.clip, meant)
        for entry in as_entries(clip, found[clip.id], propose_for_clip(project, clip))
    }


class _Entries:
    """Makes entries of the hits of a project, which has one usual speed and one judge."""

    def __init__(self, project: Project) -> None:
        self._usual = usual_speed(project.speeds(SURE))
        self._judge, self._calibration = project.judge(), project.calibration()
        self._clips = names_of_clips(project)
        self._project = project
        self._taste = taste_asked_for(project)

    def __call__(
        self, stored: StoredClip, hits: Iterable[StoredHit], made: Mapping[int, Proposal]
    ) -> tuple[HitEntry, ...]:
        """Those of a clip's hits for which a proposal was made."""
        if self._taste is not None:
            made = to_taste(self._project, stored, self._taste)
        return tuple(
            HitEntry(
                id=hit.id,
                clip=stored.clip,
                impact=hit.impact,
                proposal=made[hit.id],
                decision=hit.decision,
                usual_speed=self._usual,
                judge=self._judge,
                calibration=self._calibration,
                name=hit_name(self._clips.get(stored.id, ""), hit),
                by_hand=hit.by_hand,
                taste=self._taste,
            )
            for hit in hits
            if hit.id in made
        )


def _listed(project: Project, wanted: HitFilter, propose: _Propose) -> tuple[ClipEntry, ...]:
    as_entries, found = _Entries(project), project.all_hits()
    listed: list[ClipEntry] = []
    for stored in measured_clips(project):
        clip = stored.clip
        if not wanted.takes_clip(clip):
            continue
        hits = [hit for hit in found.get(stored.id, ()) if wanted.sure_enough(hit)]
        entries = as_entries(stored, hits, propose(stored, hits))
        listed.append(ClipEntry(clip, tuple(each for each in entries if wanted.takes_hit(each))))
    return tuple(entry for entry in listed if entry.hits or not wanted.by_hit)


def _holds_approved(proposal: Proposal, hit: StoredHit) -> bool:
    return hit.approved_frames is None or proposal.judged(hit.approved_frames) is not None
