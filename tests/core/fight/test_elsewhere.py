"""What another take of the same beat would allow, from proposals made by hand."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from impactcut.core.fight.elsewhere import better_elsewhere
from impactcut.core.fight.entries import HitEntry
from impactcut.core.motion.measured import HitMotion
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.project import Project
from impactcut.review.cache import PictureCache
from impactcut.review.material import Material
from tests.helpers.projects.project_values import SEEN, make_clip, make_hit, make_motion
from tests.helpers.running.commands import run_command


def trim(count: int, gain: float, visibility: float, worst: str = "strike", **more: object) -> Trim:
    verdict = "clean" if visibility < 1 else "attentive"
    made = Trim(99, count, gain, visibility, verdict, channels={worst: visibility, "gap": 0.0})  # type: ignore[arg-type]
    return replace(made, **more)  # type: ignore[arg-type]


def proposal(*trims: Trim) -> Proposal:
    able = [each for each in trims if each.visibility < 1.5 and not each.vetoes]
    return Proposal(trims, able[-1] if able else None, None if able else "all show")


def told(own: Proposal, *others: Proposal, camera: str = "locked") -> tuple[str, ...]:
    def entry(take: int, judged: Proposal) -> HitEntry:
        clip = make_clip(take=str(take), angle="")
        return HitEntry(40 + take, clip, make_hit(camera=camera), judged, None)

    takes = [entry(take, judged) for take, judged in enumerate(others, 3)]
    return better_elsewhere(entry(2, own), takes)


def test_a_take_without_a_passer_by_is_named() -> None:
    own = proposal(trim(1, 1.12, 0.6), trim(2, 1.3, 2.14, "mover 1"))
    other = proposal(trim(1, 1.1, 0.2), trim(2, 1.25, 0.34))
    assert told(own, other) == (
        "2 frames out reach 2.1 here, as somebody or something else moves in this shot; "
        "in take 3 (hit 43) 0.3, looking 1.25 times as fast",
    )


@pytest.mark.parametrize(
    ("worst", "camera", "words"),
    [
        ("background", "panning", "as the camera pans"),
        ("speech", "locked", "as somebody speaks"),
        ("receiver", "locked", "as the receiver leaps"),
    ],
)
def test_the_cause_is_named(worst: str, camera: str, words: str) -> None:
    own = proposal(trim(1, 1.2, 1.9, worst))
    (line,) = told(own, proposal(trim(1, 1.2, 0.5)), camera=camera)
    assert line.startswith(f"1 frame out reaches 1.9 here, {words}; in take 3 (hit 43) 0.5")


def test_the_least_visible_come_first_and_two_are_enough() -> None:
    own = proposal(trim(1, 1.2, 1.9))
    lines = told(own, *(proposal(trim(1, 1.2, shown)) for shown in (0.8, 0.3, 0.6, 2.0)))
    assert ["take 4" in lines[0], "take 5" in lines[1], len(lines)] == [True, True, 2]


def test_a_trim_that_must_not_be_made_is_told_with_its_veto() -> None:
    own = proposal(trim(1, 1.2, 0.4, vetoes=("the clock would jump; or not",)))
    (line,) = told(own, proposal(trim(1, 1.2, 0.5)))
    assert line.startswith("1 frame out must not be here: the clock would jump; in take 3")


def test_nothing_is_told_where_nothing_is_wanted_or_had() -> None:
    good = proposal(trim(1, 1.2, 0.4))
    own = proposal(trim(1, 1.2, 1.9))
    assert told(good, good) == ()
    assert told(own) == ()
    assert told(own, own) == ()
    unbelievable = proposal(trim(1, 1.2, 0.4), trim(3, 1.9, 2.5))
    assert told(unbelievable, proposal(trim(3, 1.5, 0.4))) == ()


def crowded(motion: HitMotion) -> HitMotion:
    """Somebody walks behind the hit, evenly and fast."""
    limb = motion.channels[0]
    walk = np.zeros_like(limb.displacement)
    walk[:, 0] = 0.02
    area = np.full_like(limb.area, 0.02)
    stranger = replace(limb, name="mover 1", displacement=walk, area=area)
    return replace(motion, channels=(*motion.channels, stranger))


def two_takes(tmp_path: Path) -> Path:
    """A project of one beat in two takes, with a passer-by in the first."""
    path = tmp_path / "impactcut.db"
    with Project(path, create=True) as project:
        for take in (1, 3):
            clip = make_clip(f"/quay/S2_T{take}_B.mov", take=str(take), rate=Fraction(24))
            motion = make_motion(100, clip.rate)
            motion = crowded(motion) if take == 1 else motion
            project.store_clip(clip, SEEN, "{}", [(make_hit(), motion)])
    return path


def test_trims_names_the_take_without_a_passer_by(tmp_path: Path) -> None:
    path = two_takes(tmp_path)
    shown = run_command("trims", "1", "--project", str(path)).stdout
    assert "Elsewhere: 1 frame out reaches" in shown
    assert "as somebody or something else moves in this shot; in take 3, angle B" in shown
    assert "angle B (hit S2T3B.1)" in shown
    assert "Elsewhere" not in run_command("trims", "2", "--project", str(path)).stdout
    found = json.loads(run_command("trims", "1", "--json", "--project", str(path)).stdout)
    (line,) = found["elsewhere"]
    assert line in shown
    assert found["judging"].startswith("Visibility is uncalibrated")
    assert found["calibration"] is None


def test_the_review_page_tells_it_too(tmp_path: Path) -> None:
    path = two_takes(tmp_path)
    material = Material(path, PictureCache(tmp_path / "cache"))
    (line,) = material.detail(1)["elsewhere"]
    assert "in take 3, angle B (hit S2T3B.1)" in line
    assert material.detail(2)["elsewhere"] == []
