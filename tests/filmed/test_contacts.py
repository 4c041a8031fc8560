"""Contact frames on clips animated by a physics engine, whose own collision times are the truth."""

from __future__ import annotations

from fractions import Fraction

import pytest

from impactcut.core.detect.confidence import SURE
from impactcut.workflow.scan.analyse import AnalysisSettings, analyse_clip
from tests.helpers.footage.physics_scenes import bouncing_ball, film, struck_ball


@pytest.mark.parametrize(
    ("rate", "shake"), [(Fraction(24), 1.2), (Fraction(30000, 1001), 0.0)], ids=["shaken", "still"]
)
@pytest.mark.parametrize("scene", [bouncing_ball, struck_ball])
def test_contacts_are_those_of_the_engine_within_a_frame(tmp_path, scene, rate, shake):
    path = tmp_path / "quay.mp4"
    truth = film(path, scene(), rate, shake)
    assert truth
    found = [
        each.hit.contact
        for each in analyse_clip(path, AnalysisSettings()).hits
        if each.hit.confidence >= SURE
    ]
    for contact in truth:
        assert any(abs(contact - frame) <= 1 for frame in found), (truth, found)
    strays = [frame for frame in found if all(abs(frame - contact) > 1 for contact in truth)]
    assert len(strays) <= 1, (truth, found)
