"""Section, take and angle from file names. The forms are common practice, without a source."""

from __future__ import annotations

import pytest

from impactcut.core.takes.shot_names import ShotName, read_shot_name


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("S1_T2_A_A003C007.mov", ("1", "2", "A")),
        ("s02t03b.mxf", ("2", "3", "B")),
        ("quay S12-T10-C wide.mp4", ("12", "10", "C")),
        ("S2A_T3_B.mov", ("2A", "3", "B")),
        ("Section 4 Take 11 Angle d.mov", ("4", "11", "D")),
        ("S1_T2_wide.mov", ("1", "2", "")),
        ("S1_T2.mov", ("1", "2", "")),
        ("S00_T00_A.mov", ("0", "0", "A")),
        ("A003C007.mov", ("", "", "")),
        ("crates1_t2.mov", ("", "", "")),
        ("S1234_T2.mov", ("", "", "")),
        ("", ("", "", "")),
    ],
)
def test_names(name: str, expected: tuple[str, str, str]) -> None:
    assert read_shot_name(name) == ShotName(*expected)
