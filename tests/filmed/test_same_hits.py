"""What must not change where the hits are: mirrors, light, size, the direction of time, a cut.

The clip is a physics engine's (pymunk): a ball that bounces, which is a bounce backwards too.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from skimage import data

from impactcut.core.detect.confidence import SURE
from impactcut.core.detect.hits import Hit
from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip
from tests.helpers.footage.physics_scenes import bouncing_ball, film

Frames = list[NDArray[np.uint8]]
RATE = Fraction(25)


@pytest.fixture(scope="module")
def bounce(tmp_path_factory: pytest.TempPathFactory) -> tuple[Frames, list[int]]:
    """The frames of the clip, and its contact frames."""
    path = tmp_path_factory.mktemp("bounce") / "bounce.mp4"
    truth = film(path, bouncing_ball(), RATE)
    with av.open(str(path)) as container:
        return [frame.to_ndarray(format="gray") for frame in container.decode(video=0)], truth


def sure_hits(frames: Frames, path: Path) -> list[Hit]:
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=RATE, options={"crf": "12"})
        stream.height, stream.width = frames[0].shape
        stream.pix_fmt = "yuv420p"
        for frame in frames:
            container.mux(stream.encode(av.VideoFrame.from_ndarray(frame, format="gray")))
        container.mux(stream.encode())
    found = [each.hit for each in analyse_clip(path, AnalysisSettings()).hits]
    return [hit for hit in found if hit.confidence >= SURE]


def at_truth(hits: list[Hit], truth: list[int]) -> list[Hit]:
    """The hit of each contact; none may be missing."""
    found = [min(hits, key=lambda hit: abs(hit.contact - frame)) for frame in truth if hits]
    assert [abs(hit.contact - frame) <= 1 for hit, frame in zip(found, truth, strict=True)] == (
        [True] * len(truth)
    )
    return found


def darker(frames: Frames) -> Frames:
    return [(frame * 0.6 + 8).astype(np.uint8) for frame in frames]


def at_night(frames: Frames) -> Frames:
    return [(frame * 0.25 + 4).astype(np.uint8) for frame in frames]


def larger(frames: Frames) -> Frames:
    return [cv2.resize(frame, (960, 540), interpolation=cv2.INTER_CUBIC) for frame in frames]


@pytest.mark.parametrize("change", [darker, at_night, larger])
def test_light_and_size_leave_the_hits_where_they_are(
    tmp_path: Path, bounce: tuple[Frames, list[int]], change: Callable[[Frames], Frames]
) -> None:
    frames, truth = bounce
    at_truth(sure_hits(change(frames), tmp_path / "a.mp4"), truth)


def test_a_mirror_mirrors_the_regions(tmp_path: Path, bounce: tuple[Frames, list[int]]) -> None:
    frames, truth = bounce
    plain = at_truth(sure_hits(frames, tmp_path / "a.mp4"), truth)
    flipped = [np.ascontiguousarray(frame[:, ::-1]) for frame in frames]
    mirrored = at_truth(sure_hits(flipped, tmp_path / "b.mp4"), truth)
    for one, other in zip(plain, mirrored, strict=True):
        middle = one.region[0] + one.region[2] / 2
        assert other.region[0] + other.region[2] / 2 == pytest.approx(1 - middle, abs=0.08)


def test_backwards_a_bounce_is_a_bounce(tmp_path: Path, bounce: tuple[Frames, list[int]]) -> None:
    frames, truth = bounce
    last = len(frames) - 1
    at_truth(sure_hits(frames[::-1], tmp_path / "a.mp4"), [last - frame + 1 for frame in truth])


def test_a_cut_next_to_a_hit_is_none_and_hides_none(
    tmp_path: Path, bounce: tuple[Frames, list[int]]
) -> None:
    frames, truth = bounce
    cut = truth[0] + 6
    wall = cv2.resize(data.brick(), frames[0].shape[::-1])
    rng = np.random.default_rng(3)
    after = [(wall * 0.8 + rng.normal(0, 2, wall.shape)).clip(0, 255).astype(np.uint8)] * 12
    hits = sure_hits(frames[:cut] + after, tmp_path / "a.mp4")
    at_truth(hits, truth[:1])
    assert all(abs(hit.contact - cut) > 1 for hit in hits)
