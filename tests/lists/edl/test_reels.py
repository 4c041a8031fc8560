"""Reel names: at most eight of A-Z, 0-9 and underscore, one for each source."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from impactcut.core.takes.clip import Clip
from impactcut.lists.reels import RESERVED_REELS, reel_names
from tests.helpers.lists.list_clips import make_clip, names


def clip_of(reel: str, number: int = 0, source: str = "file") -> Clip:
    return make_clip(f"{number}.mov", reel=reel, reel_source=source)


alike = st.sampled_from(["A", "a", "BL", "bl", "AX", "A004C011_TAKE1", "A004C011_TAKE2", "A004C011",
                         "a004c011", "Käi", "Kai", "_", "", "東京", "KAI?", "REEL"])  # fmt: skip


@given(st.lists(st.tuples(alike | names, st.sampled_from(["file", "user", "name"])), max_size=30))
def test_no_two_sources_share_a_reel(sources: list[tuple[str, str]]) -> None:
    clips = [clip_of(reel, number, source) for number, (reel, source) in enumerate(sources)]
    found = reel_names(clips)
    assert all(re.fullmatch("[A-Z0-9_]{1,8}", reel) for reel in found.values())
    assert not RESERVED_REELS & set(found.values())
    owners = {(clip.reel, clip.path if clip.reel_source == "name" else "") for clip in clips}
    assert len(set(found.values())) == len(owners)
    assert found == reel_names(reversed(clips))


@pytest.mark.parametrize(
    ("reel", "short"),
    [
        ("A004C011", "A004C011"),
        ("A004C011_230915_R1AB", "A004C011"),
        ("a004", "A004"),
        ("Käi 7", "KAI_7"),
        ("N", "N"),
    ],
)
def test_a_reel_alone_keeps_what_fits_of_its_name(reel: str, short: str) -> None:
    clip = clip_of(reel)
    assert reel_names([clip]) == {clip: short}


@pytest.mark.parametrize("reel", [*sorted(RESERVED_REELS), "bl", "Bars", "", "__", "東京"])
def test_reels_that_mean_something_else_or_nothing_are_renamed(reel: str) -> None:
    name = reel_names([clip_of(reel)])[clip_of(reel)]
    assert name not in RESERVED_REELS
    assert name.strip("_")


def test_names_that_only_differ_beyond_eight_characters_stay_apart() -> None:
    clips = [clip_of(f"A004C011_TAKE{number}", number) for number in range(300)]
    assert len(set(reel_names(clips).values())) == 300


def test_the_source_really_named_so_keeps_a_name_that_others_would_shorten_to() -> None:
    real, long = clip_of("A004C011", 1), clip_of("A004C011_TAKE2", 2)
    found = reel_names([long, real])
    assert found[real] == "A004C011"
    assert found[long].startswith("A004")
    invented = clip_of("A004C011", 3, "name")
    found = reel_names([invented, real])
    assert found[real] == "A004C011"
    assert found[invented] != "A004C011"


def test_one_reel_text_is_one_reel() -> None:
    clips = [clip_of("A004", 1), clip_of("A004", 2, "user"), clip_of("A004", 3)]
    assert set(reel_names(clips).values()) == {"A004"}


def test_files_of_one_name_in_two_folders_are_two_sources() -> None:
    clips = [
        make_clip("clip1.mov", reel="clip1", reel_source="name", folder=f"/quay/day{day}")
        for day in (1, 2)
    ]
    assert len(set(reel_names(clips).values())) == 2
