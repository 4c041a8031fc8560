"""Traces: what the scout's last layer would say of them, and how much room they take.

The last layer's own numbers are worked out by least squares from what it says of frames that were
not rounded, so the check shares nothing with how traces are kept but the network itself.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from impactcut.core.detect.planes import scaled
from impactcut.core.detect.spotter import Described, Said
from impactcut.core.detect.trace import Trace, piece_of, trace_of
from impactcut.project import Project
from impactcut.project.rows.arrays import pack_trace, unpack_trace
from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip
from impactcut.workflow.scan.spotting import fitted_spotter
from tests.helpers.footage.noise_planes import some_planes
from tests.helpers.footage.staged_clips import film
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import SEEN, make_clip, make_trace

TOLERANCE = 0.15
MOST_BYTES = 2000


def test_the_last_layer_says_of_a_trace_what_it_said_of_the_frames() -> None:
    spotter = fitted_spotter()
    planes = some_planes(180)
    given = spotter.trunk(scaled(planes))
    head = spotter.head(given["rows"])
    with_one = np.column_stack([head["hidden"], np.ones(len(planes))])
    layer, *_ = np.linalg.lstsq(with_one, head["odds"], rcond=None)
    np.testing.assert_allclose(with_one @ layer, head["odds"], atol=1e-3)
    described = Described(given["rows"], given["places"], given["pooled"])
    said = Said(head["odds"] + given["pooled"], head["hidden"], head["kinds"], head["lags"])
    frames = np.arange(len(planes))
    trace = trace_of([piece_of(said, described, frames, (0, 179))], 1, "w")
    assert trace is not None
    again = np.column_stack([trace.rows, np.ones(len(trace))]) @ layer + trace.pooled
    np.testing.assert_allclose(again, said.odds, atol=TOLERANCE)
    assert np.abs(again - said.odds).max() > 1e-4  # it was rounded
    np.testing.assert_array_equal(trace.odds, said.odds)


def test_noise_takes_no_more_room_than_is_allowed() -> None:
    """The most frames a second that are shown: 32."""
    seconds = 10
    trace = make_trace(32 * seconds)
    packed = pack_trace(trace)
    assert len(packed) < MOST_BYTES * seconds
    again = unpack_trace(packed, "w")
    for name in ("odds", "pooled", "steps", "size"):
        np.testing.assert_array_equal(getattr(again, name), getattr(trace, name))


def test_a_scan_leaves_a_trace_that_only_its_own_weights_find(
    project: Project, tmp_path: Path
) -> None:
    path = film(tmp_path / "S1_T1_A.mov", seed=1)
    analysis = analyse_clip(path, AnalysisSettings())
    trace = analysis.trace
    assert trace is not None
    assert len(trace) == analysis.clip.frames
    clip_id = project.store_clip(analysis.clip, SEEN, "{}", analysis.hits, trace)
    kept = project.trace(clip_id, trace.weights)
    assert kept is not None
    np.testing.assert_array_equal(kept.steps, trace.steps)
    assert project.trace(clip_id, "others") is None
    for each in analysis.hits:
        at = trace.odds[each.hit.contact // trace.stride]
        chance = fitted_spotter().calibration.confidence(float(at))
        assert each.hit.confidence == round(chance, 4)


def test_a_clip_measured_without_a_trace_has_none(project: Project) -> None:
    for given in (make_trace(4), None):
        clip_id = keep_clip(project, make_clip(), 100, trace=given)
        assert (project.trace(clip_id, "w") is None) == (given is None)


@pytest.mark.parametrize(
    "change",
    [
        {"stride": 0},
        {"odds": np.zeros(4, np.float32)},
        {"size": np.ones(3, np.float64)},
        {"pooled": np.full(5, np.nan, np.float16)},
    ],
)
def test_what_is_no_trace_is_refused(change: dict[str, object]) -> None:
    five = np.zeros(5, np.float16)
    values = {"weights": "w", "stride": 1, "odds": five.astype(np.float32), "pooled": five}
    values |= {"steps": np.zeros((5, 3), np.int8), "size": np.ones(3, np.float32)}
    with pytest.raises(ValueError, match="trace"):
        Trace(**(values | change))  # type: ignore[arg-type]
