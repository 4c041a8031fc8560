"""Which frames go out of the clips: approved trims, and proposals where they are asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from impactcut.core.fight.entries import ClipEntry, HitEntry
from impactcut.core.programme.cutlist import Removal
from impactcut.core.takes.clip import Clip
from impactcut.project import Project
from impactcut.workflow.files.refusals import Refusal
from impactcut.workflow.hits.hit_filter import ALL_HITS, HitFilter
from impactcut.workflow.hits.listing import list_chosen


@dataclass(frozen=True)
class Selection:
    """Clips in record order, what goes out of them, and what was to go but cannot.

    Parameters
    ----------
    removals : tuple of Removal
        In record order.
    undecided : int
        Hits with a proposal that nobody has answered, or not yet, and that does not go out.
    hits : tuple of HitEntry
        Every hit of the clips, trimmed or not, in record order.
    changed_since : tuple of Removal
        Those that were approved before their clip's file changed.
    """

    clips: tuple[Clip, ...]
    removals: tuple[Removal, ...]
    refusals: tuple[Refusal, ...]
    undecided: int
    hits: tuple[HitEntry, ...]
    changed_since: tuple[Removal, ...] = ()


def select_removals(project: Project, proposed: bool, wanted: HitFilter = ALL_HITS) -> Selection:
    """The approved trims of the clips asked for; with ``proposed``, also unanswered proposals.

    A hit that somebody put off keeps its frames either way.
    A trim that meets or touches another is refused; an approved one comes before a proposal.
    """
    entries = list_chosen(project, wanted)
    results = [each for entry in entries for each in _select(entry, proposed)]
    waiting = [
        hit
        for entry in entries
        for hit in entry.hits
        if hit.undecided and hit.proposal.proposed and (hit.put_off or not proposed)
    ]
    removals = tuple(each for each in results if isinstance(each, Removal))
    outdated = project.decided_on_other_content()
    return Selection(
        clips=tuple(entry.clip for entry in entries if entry.clip.frames > 0),
        removals=removals,
        refusals=tuple(each for each in results if isinstance(each, Refusal)),
        undecided=len(waiting),
        hits=tuple(hit for entry in entries if entry.clip.frames > 0 for hit in entry.hits),
        changed_since=tuple(each for each in removals if each.hit.id in outdated),
    )


def _select(entry: ClipEntry, proposed: bool) -> list[Removal | Refusal]:
    approved = [hit for hit in entry.hits if not hit.undecided]
    open_hits = [hit for hit in entry.hits if proposed and hit.undecided and not hit.put_off]
    kept: list[Removal] = []
    taken: dict[int, Removal] = {}
    refused: list[Refusal] = []
    for hit in (*approved, *open_hits):
        result = _removal(hit)
        rival = None if not isinstance(result, Removal) else _rival(result, taken)
        if rival is not None:
            refused.append(_touching(hit, rival))
        elif isinstance(result, Removal):
            kept.append(result)
            taken |= dict.fromkeys(_reach(result), result)
        elif result is not None:
            refused.append(result)
    return [*sorted(kept, key=lambda removal: removal.frames), *refused]


def _removal(hit: HitEntry) -> Removal | Refusal | None:
    if hit.untouched:
        return None
    trim = hit.taken
    if hit.approved_frames is not None and (trim is None or trim.vetoes):
        return _outdated(hit)
    return None if trim is None else Removal(hit, trim)


def _rival(removal: Removal, taken: Mapping[int, Removal]) -> Removal | None:
    """The one among those that go out already which a trim meets or touches."""
    return next((taken[frame] for frame in _reach(removal) if frame in taken), None)


def _reach(removal: Removal) -> range:
    """The frames of a trim and the one after it: trims that touch have one in common."""
    return range(removal.frames.start, removal.frames.stop + 1)


def _outdated(hit: HitEntry) -> Refusal:
    return Refusal(
        f"hit {hit.called} in {hit.clip.name}",
        "the frames that were approved no longer fit what is measured",
        f"choose again: 'impactcut trims {hit.called}', then 'impactcut decide {hit.called}'",
    )


def _touching(hit: HitEntry, rival: Removal) -> Refusal:
    return Refusal(
        f"hit {hit.called} in {hit.clip.name}",
        f"its trim meets or touches that of hit {rival.called}",
        f"choose other frames for one of them: 'impactcut trims {hit.called}'",
    )
