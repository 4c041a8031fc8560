"""The sample footage: the same every time, labelled in the file, and true to its own truth.

The renderer makes invented footage, so most checks here are of its own promises; timecode and
reel are read back with PyAV, which knows nothing of the renderer.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import ceil
from pathlib import Path

import av
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "samples"))

from warehouse.camera import set_up
from warehouse.choreography import perform
from warehouse.film import film_fight
from warehouse.scenario import scenario
from warehouse.spec import HIT_KINDS, Beat, FightSpec
from warehouse.variety import random_spec


def _short(spec: FightSpec) -> FightSpec:
    beats = (Beat(0.3, "straight punch", 0, "right", 8.0, lag=0.5),)
    return replace(spec, frames=12, width=320, height=180, beats=beats)


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Path, dict]]:
    spec = _short(scenario()[-1])
    folders = [tmp_path_factory.mktemp("footage") for _ in range(2)]
    return [(folder / spec.file_name, film_fight(folder, spec)) for folder in folders]


def test_the_same_spec_gives_the_same_bytes(filmed):
    (first, truth), (second, again) = filmed
    assert first.read_bytes() == second.read_bytes()
    assert truth == again


def test_file_carries_timecode_reel_and_rate(filmed):
    path, truth = filmed[0]
    with av.open(str(path)) as container:
        video = container.streams.video[0]
        track = container.streams.data[0]
        assert sum(1 for _ in container.decode(video=0)) == truth["frames"] == 12
        assert video.average_rate == Fraction(truth["fps"]) == Fraction(24000, 1001)
        assert (video.codec_context.name, video.pix_fmt) == ("h264", "yuv420p")
        assert track.metadata["timecode"] == truth["start_timecode"] == "02:15:20:02"
        assert track.metadata["reel_name"] == truth["reel"] == "A004C005"


def _performed(spec: FightSpec):
    camera = set_up(spec.camera, spec.width, spec.height, spec.duration, spec.seed)
    return perform(spec, camera.position)


@pytest.mark.parametrize(
    "spec", [*scenario(), *map(random_spec, range(12))], ids=lambda spec: spec.file_name
)
def test_truth_is_consistent(spec):
    for hit in _performed(spec).hits:
        contact = hit["contact"]
        assert 0 <= hit["onset"] < contact <= hit["settle"] < spec.frames
        assert hit["frame"] == ceil(contact - 0.25)
        assert hit["kind"] in HIT_KINDS
        assert {hit["striker"], hit["receiver"]} == {0, 1}
        if hit["lag"] is not None:
            assert hit["reaction"] == pytest.approx(contact + hit["lag"], abs=0.002)


def test_the_scenario_holds_what_a_fight_can_hold():
    specs = scenario()
    hits = {spec.file_name: _performed(spec).hits for spec in specs}
    assert len(hits) == len(specs) == len({spec.reel for spec in specs}) == 10
    assert {spec.section for spec in specs} == {"1", "2"}
    assert {spec.camera.motion for spec in specs} == {"locked", "handheld", "panning"}
    assert {hit["kind"] for clip in hits.values() for hit in clip} == set(HIT_KINDS)
    assert any(not clip for clip in hits.values())
    assert any(hit["lag"] == 3 for clip in hits.values() for hit in clip)
    gaps = [b["contact"] - a["contact"] for c in hits.values() for a, b in pairwise(c)]
    assert any(8 <= gap <= 14 for gap in gaps)
