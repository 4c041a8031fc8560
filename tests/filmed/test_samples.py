"""The sample footage: the same every time, labelled in the file, and true to its own truth.

The footage is invented, so these checks hold the renderer to its own promises: the truth against
where the figures are. Timecode, reel and rate are read back with PyAV, which knows nothing of it.
"""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import ceil
from pathlib import Path

import av
import numpy as np
import pytest

from warehouse.camera import set_up
from warehouse.choreography import Performance, perform
from warehouse.figure import Joint
from warehouse.film import film_fight
from warehouse.render import film_all
from warehouse.scenario import scenario
from warehouse.spec import HIT_KINDS, Beat, FightSpec
from warehouse.variety import random_spec

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CLIPS = [*scenario(), *map(random_spec, range(12))]
STRIKING = {
    "elbow": (Joint.ELBOW_L, Joint.ELBOW_R),
    "front kick": (Joint.ANKLE_L, Joint.ANKLE_R),
}
FISTS = (Joint.HAND_L, Joint.HAND_R)


@pytest.fixture(scope="module")
def spec() -> FightSpec:
    beats = (Beat(0.3, "straight punch", 0, "right", 8.0, lag=0.5),)
    return replace(scenario()[-1], frames=12, width=320, height=180, beats=beats)


@pytest.fixture(scope="module")
def filmed(spec, tmp_path_factory) -> tuple[Path, dict]:
    folder = tmp_path_factory.mktemp("footage")
    return folder / spec.file_name, film_fight(folder, spec)


def _performed(spec: FightSpec) -> Performance:
    camera = set_up(spec.camera, spec.width, spec.height, spec.duration, spec.seed)
    return perform(spec, camera.position)


def test_the_same_spec_gives_the_same_bytes(spec, filmed, tmp_path):
    path, truth = filmed
    calls = []
    assert film_all(tmp_path, [spec], lambda *call: calls.append(call), jobs=1) == [truth]
    assert (tmp_path / spec.file_name).read_bytes() == path.read_bytes()
    assert json.loads((tmp_path / "truth.json").read_text()) == [truth]
    assert calls == [(1, 1, spec.file_name)]


def test_another_seed_gives_another_picture(spec, filmed, tmp_path):
    film_fight(tmp_path, replace(spec, seed=spec.seed + 1))
    assert (tmp_path / spec.file_name).read_bytes() != filmed[0].read_bytes()


def test_file_carries_timecode_reel_and_rate(filmed):
    path, truth = filmed
    with av.open(str(path)) as container:
        video, track = container.streams.video[0], container.streams.data[0]
        assert sum(1 for _ in container.decode(video=0)) == truth["frames"] == 12
        assert video.average_rate == Fraction(truth["fps"]) == Fraction(24000, 1001)
        assert (video.codec_context.name, video.pix_fmt) == ("h264", "yuv420p")
        assert track.metadata["timecode"] == truth["start_timecode"] == "02:15:20:02"
        assert track.metadata["reel_name"] == truth["reel"] == "A004C005"


def test_renderer_runs_as_a_script(tmp_path):
    script = SAMPLES / "warehouse" / "render.py"
    command = [sys.executable, str(script), str(tmp_path / "new"), "--random", "0"]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    assert json.loads((tmp_path / "new" / "truth.json").read_text()) == []


@pytest.mark.parametrize("spec", CLIPS, ids=lambda spec: spec.file_name)
def test_truth_is_consistent(spec):
    for hit in _performed(spec).hits:
        contact = hit["contact"]
        assert 0 <= hit["onset"] < contact <= hit["settle"] < spec.frames
        assert hit["frame"] == ceil(contact - 0.25)
        assert hit["kind"] in HIT_KINDS
        assert {hit["striker"], hit["receiver"]} == {0, 1}
        if hit["lag"] is not None:
            assert hit["reaction"] == pytest.approx(contact + hit["lag"], abs=0.002)


@pytest.mark.parametrize("spec", CLIPS[:10], ids=lambda spec: spec.file_name)
def test_figures_do_what_the_truth_says(spec):
    """At contact the limb is beside the receiver; the receiver's jolt starts at the reaction."""
    performance = _performed(spec)
    for hit in performance.hits:
        contact, reaction = (
            (hit[name] + spec.shutter / 720) / float(spec.rate) for name in ("contact", "reaction")
        )
        tip = STRIKING.get(hit["kind"], FISTS)[("left", "right").index(hit["side"])]
        striker, receiver = (performance.cast[hit[who]] for who in ("striker", "receiver"))
        body = receiver.joints(np.array([contact]))[0, [Joint.PELVIS, Joint.NECK, Joint.CROWN]]
        fist = striker.joints(np.array([contact]))[0, tip]
        assert np.linalg.norm(body - fist, axis=1).min() < 0.4
        moments = reaction + np.array([-0.004, -0.002, 0, 0.002, 0.004, 0.006])
        chest = receiver.joints(moments)[:, Joint.NECK]
        speed = np.linalg.norm(np.diff(chest, axis=0), axis=1) / 0.002
        assert abs(speed[1] - speed[0]) < 0.1 < abs(speed[3] - speed[1])


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
