"""Making at once, and telling of, the proposals that lists would else make unseen."""

from __future__ import annotations

import json
from pathlib import Path

from impactcut.core.trims.published import trim_dict, trim_in
from impactcut.core.trims.trim import Proposal
from impactcut.project import Project
from impactcut.workflow.hits.hit_filter import ALL_HITS, HitFilter
from impactcut.workflow.hits.listing import list_chosen, list_hits
from impactcut.workflow.hits.proposing import clips_to_propose_for, propose_ahead
from tests.helpers.projects.kept_clips import keep_clip, keep_proposed
from tests.helpers.projects.project_values import make_clip
from tests.helpers.running.commands import run_command


def three_clips(path: Path) -> Project:
    """Clips with one hit each, of which only the first has its proposal."""
    project = Project(path / "night.db", create=True)
    for take in (1, 2, 3):
        clip = make_clip(str(path / f"S1_T{take}_A.mov"), take=str(take))
        (keep_proposed if take == 1 else keep_clip)(project, clip, 60)
    return project


def catch_up(project: Project, wanted: HitFilter = ALL_HITS) -> list[tuple[int, int]]:
    told: list[tuple[int, int]] = []
    clips = clips_to_propose_for(project, wanted)
    propose_ahead(project, clips, lambda *done: told.append(done))
    return told


def test_clips_that_lack_proposals_are_counted_and_then_lack_none(tmp_path: Path) -> None:
    with three_clips(tmp_path) as project:
        assert catch_up(project) == [(1, 2), (2, 2)]
        assert project.clips_without_proposals() == frozenset()
        with Project(project.path, fov=60) as in_front:
            assert len(in_front.clips_without_proposals()) == 3
        kept = project.chosen_trims(0)
        listed = [hit for clip in list_chosen(project) for hit in clip.hits]
        assert [hit.proposal for hit in listed] == [kept[hit.id] for hit in listed]
        assert catch_up(project) == []


def test_only_the_clips_asked_for_are_proposed_for(tmp_path: Path) -> None:
    with three_clips(tmp_path) as project:
        before = project.clips_without_proposals()
        assert catch_up(project, HitFilter(take="3")) == [(1, 1)]
        assert len(before - project.clips_without_proposals()) == 1


def test_nothing_else_comes_of_it_than_of_listing(tmp_path: Path) -> None:
    for name in ("ahead", "listed"):
        (tmp_path / name).mkdir()
    with three_clips(tmp_path / "ahead") as ahead, three_clips(tmp_path / "listed") as listed:
        catch_up(ahead)
        assert proposals(ahead) == proposals(listed)


def test_trims_are_printed_alike_from_what_is_kept_and_what_is_only_made(tmp_path: Path) -> None:
    with three_clips(tmp_path) as project:
        before = run_command("hits", "--json", "--project", project.path).stdout
        catch_up(project)
        assert run_command("hits", "--json", "--project", project.path).stdout == before
        hits = [hit for clip in list_hits(project) for hit in clip.hits]
    printed = [hit for clip in json.loads(before)["clips"] for hit in clip["hits"]]
    for hit, shown in zip(hits, printed, strict=True):
        plain = [trim_dict(trim, hit.judge) for trim in hit.proposal.trims]
        assert shown["trims"] == json.loads(json.dumps(plain))
        assert tuple(map(trim_in, shown["trims"])) == hit.proposal.trims


def proposals(project: Project) -> list[Proposal]:
    return [hit.proposal for clip in list_hits(project) for hit in clip.hits]
