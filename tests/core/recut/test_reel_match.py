"""Which clip each event of a list is of: by name, reel, timecode, or what the user says.

How lists look and what statements mean: the columns of public CMX3600 readers and lists in
circulation; there is no published standard to check against. Timecodes were added up on paper.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from impactcut.errors import ListFormatError
from impactcut.lists.edl.sequence import read_reel_map
from tests.helpers.lists.list_clips import make_clip
from tests.helpers.lists.recut_lists import HEAD, A, B, matched


def one_event(reel: str, name: str, source: str = "00:00:01:00 00:00:02:00") -> str:
    note = f"* FROM CLIP NAME: {name}\n" if name else ""
    return f"{HEAD}001  {reel:<8} V     C        {source} 01:00:00:00 01:00:01:00\n{note}"


@pytest.mark.parametrize(
    ("reel", "name"),
    [("A1", "S12_T2_A.mov"), ("A1", ""), ("AX", "s12_t2_a.MOV"), ("A1", "SLATE 12-2 TAKE 2")],
)
def test_a_clip_is_found_by_name_or_reel(reel: str, name: str) -> None:
    _, (match,) = matched(one_event(reel, name))
    assert match.event.clip == A and not match.doubt


@pytest.mark.parametrize("reel", ["BL", "bl", "BLACK", "BARS"])
def test_black_is_of_no_clip_whatever_name_stands_beside_it(reel: str) -> None:
    named_so = replace(A, reel=reel)
    for given in (None, {"s12_t2_a.mov": A}):
        _, (match,) = matched(one_event(reel, A.name), A, named_so, given=given)
        assert match.event.clip is None and not match.doubt


def test_names_that_a_list_had_to_fold_or_shorten_are_known_again() -> None:
    long = make_clip("Käi_" + "x" * 90 + ".mov", frames=100)
    width = 80 - len("* FROM CLIP NAME: ")
    kept = (width - 1) // 2
    folded = "Kai_" + "x" * 90 + ".mov"
    whole = one_event("ZZ", folded[: width - 1 - kept] + "~" + folded[-kept:])
    _, (match,) = matched(whole, long)
    assert match.event.clip == long


def test_two_clips_of_one_name_are_told_apart_by_reel_and_timecode() -> None:
    other = make_clip("S12_T2_A.mov", reel="C1", frames=240, folder="/other")
    later = replace(A, path="/later/S12_T2_A.mov", source_start=86_400)
    _, (by_reel,) = matched(one_event("C1", A.name), A, other)
    assert by_reel.event.clip == other
    _, (by_time,) = matched(one_event("A1", A.name, "01:00:01:00 01:00:02:00"), A, later)
    assert by_time.event.clip == later
    _, (match,) = matched(one_event("XX", A.name), A, other)
    assert match.event.clip is None and match.rivals == (other, A)
    assert "could be of" in match.doubt and "--reels" in match.doubt


def test_a_name_alone_proves_nothing() -> None:
    _, (outside,) = matched(one_event("A1", A.name, "05:00:01:00 05:00:02:00"))
    assert outside.event.clip is None
    assert "names S12_T2_A.mov, but its source from 05:00:01:00 lies outside" in outside.doubt
    _, (zero,) = matched(one_event("B1", B.name))
    assert zero.doubt.endswith("write the list anew with the timecode of its sources")
    pal = replace(A, rate=Fraction(25))
    _, (rate,) = matched(one_event("A1", A.name), pal)
    assert "counts 25, while the list counts 24" in rate.doubt
    _, (stranger,) = matched(one_event("Q7", "OTHER.MOV"))
    assert stranger.event.clip is None and not stranger.doubt


@pytest.mark.parametrize(("stop", "held"), [("00:00:10:00", True), ("00:00:10:01", False)])
def test_a_clip_holds_events_up_to_its_last_frame(stop: str, held: bool) -> None:
    """240 frames at 24 a second end at 00:00:10:00, which an out may name (it is exclusive)."""
    _, (match,) = matched(one_event("A1", A.name, f"00:00:09:00 {stop}"))
    assert (match.event.clip == A) is held


def test_the_users_word_comes_first() -> None:
    text = one_event("A1", A.name)
    said = replace(A, path="/graded/S12_T2_A_G.mov", name="S12_T2_A_G.mov", reel="G1")
    _, (match,) = matched(text, A, said, given={"a1": said})
    assert match.event.clip == said


def test_a_reel_map_is_read() -> None:
    text = "reel_or_clip_name,project_clip\r\nSLATE 12-2,S12_T2_A.mov\r\nZ9,/quay/S12_T3_B.mov\r\n"
    assert read_reel_map(text) == {"slate 12-2": "S12_T2_A.mov", "z9": "/quay/S12_T3_B.mov"}
    for damaged, fault in [
        (text.replace("Z9", ""), "row 3 leaves a cell empty"),
        (text.replace("Z9", "slate 12-2"), "row 3 says of slate 12-2"),
        (text.replace("reel_or", "reel"), "first row must be reel_or_clip_name"),
    ]:
        with pytest.raises(ListFormatError, match=fault):
            read_reel_map(damaged)


def test_a_transitions_lines_have_a_name_each() -> None:
    text = HEAD + (
        "001  XX       V     C        00:00:01:00 00:00:01:00 01:00:00:00 01:00:00:00\n"
        "001  YY       V     D    012 02:00:01:00 02:00:02:00 01:00:00:00 01:00:01:00\n"
        "* FROM CLIP NAME: S12_T2_A.mov\n"
        "* TO CLIP NAME: S12_T3_B.mov\n"
    )
    _, matches = matched(text)
    assert [match.event.clip for match in matches] == [A, B]
    assert [match.event.overhang for match in matches] == [12, 0]
