"""Short lists say of every hit what full ones say."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from impactcut.core.fight.entries import HitEntry
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.project import Project
from impactcut.workflow.hits.hit_filter import ALL_HITS, HitFilter
from impactcut.workflow.hits.listing import list_chosen, list_hits
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip, make_hit


def test_short_lists_agree_with_full_ones(tmp_path: Path) -> None:
    with Project(tmp_path / "night.db", create=True) as project:
        for number in range(3):
            clip = make_clip(f"/quay/S1_T{number}_A.mov")
            keep_clip(project, clip, make_hit(60, confidence=0.3), 100, 160, 200)
        full = list_hits(project)
        hits = full[0].hits
        proposed = hits[0].proposal.proposed
        other = next(trim for trim in hits[0].proposal.trims if trim != proposed)
        project.decide(hits[0].id, Decision("approved", other.frames))
        project.decide(hits[1].id, Decision("declined", None))
        if proposed is not None:
            project.decide(full[1].hits[0].id, Decision("approved", proposed.frames))
        project.decide(full[2].hits[0].id, Decision("approved", FrameRange(5, 6)))
        for wanted in (ALL_HITS, HitFilter(confidence=0.2), HitFilter(undecided=True)):
            told = [
                [
                    (hit.id, hit.impact, hit.taken, hit.proposal.proposed, hit.proposal.no_trim)
                    for clip in listed(project, wanted)
                    for hit in clip.hits
                ]
                for listed in (list_hits, list_chosen)
            ]
            assert told[0] == told[1] and told[0]


@pytest.mark.parametrize(
    ("changes", "flagged"),
    [
        ({}, False),
        ({"speed_gain": 1.7}, True),
        ({"confident": False}, True),
        ({"confident": True}, False),
    ],
)
def test_what_is_uncertain_or_hard_to_believe_is_flagged(
    changes: dict[str, object], flagged: bool
) -> None:
    trim = replace(Trim(99, 1, 1.2, 0.5, "clean"), **changes)  # type: ignore[arg-type]
    entry = HitEntry(1, make_clip(), make_hit(), Proposal((trim,), trim, None), None)
    assert entry.flagged is flagged


def test_uncertain_is_said_first_with_its_reason() -> None:
    told = "uncertain: the picture changes more than what moves explains: 2.1 times as much"
    trim = Trim(99, 1, 1.7, 2.0, "attentive", confident=False, reasons=("it gains", told))
    entry = HitEntry(1, make_clip(), make_hit(), Proposal((trim,), trim, None), None)
    because = told.rpartition(":")[0]
    assert entry.doubts(trim) == (
        f"{because}; as measured, to attentive viewers",
        "1.70x is hard to believe",
    )
    sure = replace(trim, confident=True, speed_gain=1.2)
    assert entry.doubts(sure) == ("shows to attentive viewers",)
