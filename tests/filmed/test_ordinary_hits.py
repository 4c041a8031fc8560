"""Check 16: ordinary staged hits, filmed and measured from end to end.

Common practice, no published source: almost every staged hit can lose at least one frame at the
moment of contact without anybody seeing it, an even pan hides nothing, and frames taken from
mid-swing show more. The project's own sample footage always runs; the labelled footage of the bench
runs where it lies beside the project. Where and when the hits are is told by their truth: what is
judged here is everything after the spotter.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from impactcut.core.detect.spot import Spot
from impactcut.core.trims.propose import propose
from impactcut.core.trims.trim import Proposal
from impactcut.media.probe.container import probe
from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip
from tests.helpers.footage.shared_bench import bench
from tests.helpers.footage.true_spots import acted_spots, fight_spots, spotter
from warehouse.film import film_fight
from warehouse.scenario import scenario

WARNING = 1.5
FILMED = ("S1_T1_A", "S1_T1_B", "S1_T2_B", "S2_T1_B", "S2_T2_B")
BENCH = bench("people")


@dataclass(frozen=True)
class Judged:
    """A staged hit that was found, how the camera stood, and its trims."""

    camera: str
    contact: int
    proposal: Proposal

    @property
    def proposed_clear(self) -> bool:
        trim = self.proposal.proposed
        return trim is not None and trim.visibility < WARNING

    def least(self, count: int, offsets: Iterable[int]) -> float:
        firsts = {self.contact + offset for offset in offsets}
        return min(
            trim.visibility
            for trim in self.proposal.trims
            if trim.count == count and trim.first in firsts
        )


def judged_hits(path: Path, camera: str, spots: list[Spot]) -> Iterator[Judged]:
    """The hits of a clip, with the trims proposed for each by itself."""
    analysis = analyse_clip(path, AnalysisSettings(), find=spotter(spots))
    assert [found.hit.contact for found in analysis.hits] == [spot.contact for spot in spots]
    for found in analysis.hits:
        proposal = propose(found.hit, found.motion, analysis.clip.frames)
        yield Judged(camera, found.hit.contact, proposal)


@pytest.fixture(scope="module")
def sample_hits(tmp_path_factory: pytest.TempPathFactory) -> list[Judged]:
    folder = tmp_path_factory.mktemp("ordinary")
    hits: list[Judged] = []
    for spec in scenario():
        if spec.file_name.startswith(FILMED):
            small = replace(spec, width=320, height=180)
            film_fight(folder, small)
            path = folder / small.file_name
            hits += judged_hits(path, spec.camera.motion, fight_spots(small))
    return hits


@pytest.fixture(scope="module")
def acted_hits() -> list[Judged]:
    if BENCH is None:
        pytest.skip("the bench's footage does not lie beside the project")
    labels: list[dict[str, Any]] = json.loads((BENCH / "labels.json").read_text("utf-8"))
    hits: list[Judged] = []
    for clip in labels:
        if clip["group"].startswith("acted") and clip["hits"]:
            path = BENCH / clip["clip"]
            hits += judged_hits(path, "locked", acted_spots(clip, probe(path)))
    return hits


def check_ordinary(hits: list[Judged], at_least: int) -> None:
    """The camera stands or is held: a trim under the warning line, dearer in mid-swing."""
    still = [hit for hit in hits if hit.camera in ("locked", "tripod", "handheld")]
    assert len(still) >= at_least, "too few hits were found to say anything"
    assert np.mean([hit.proposed_clear for hit in still]) >= 0.85
    at_contact = np.array([hit.least(1, (-1, 0)) for hit in still])
    mid_swing = np.array([hit.least(1, (-4, -3)) for hit in still])
    assert np.mean(at_contact < WARNING) >= 0.85
    assert np.median(at_contact) < np.median(mid_swing)


def check_pans(hits: list[Judged]) -> None:
    """An even pan: three frames out are always flagged."""
    pans = [hit for hit in hits if hit.camera in ("pan", "panning")]
    assert pans, "no hit in a pan was found"
    for hit in pans:
        assert hit.least(3, range(-4, 4)) >= WARNING


def test_16_hits_of_the_sample_footage(sample_hits: list[Judged]) -> None:
    check_ordinary(sample_hits, 8)
    check_pans(sample_hits)


def test_16_hits_of_real_people(acted_hits: list[Judged]) -> None:
    check_ordinary(acted_hits, 30)
