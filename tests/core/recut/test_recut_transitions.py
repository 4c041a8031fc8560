"""Transitions in a recut: what stands on both sides of each, in every form lists give them.

How lists look and what statements mean: the columns of public CMX3600 readers and lists in
circulation; there is no published standard to check against. Timecodes were added up on paper.
"""

from __future__ import annotations

import pytest

from tests.helpers.lists.list_clips import make_removal
from tests.helpers.lists.recut_lists import (
    HEAD,
    A,
    B,
    events_of,
    handed_over,
    reasons,
    recut_text,
)
from tests.helpers.lists.second_reader import Reading, read_list

A_LINE = "A1       {0}  C        00:00:00:12 00:00:02:00 01:00:00:00 01:00:01:12\n"
B_LINE = "B1       {0}  {1} 012 02:00:01:00 02:00:03:00 01:00:01:12 01:00:03:12\n"
ZERO = "A1       {0}  C        00:00:02:00 00:00:02:00 01:00:01:12 01:00:01:12\n"
NAMES = "* FROM CLIP NAME: S12_T2_A.mov\n* TO CLIP NAME: S12_T3_B.mov\n"
FORMS = {
    "the whole shot": f"001  {A_LINE}001  {B_LINE}{NAMES}",
    "a line of no length": f"001  {A_LINE}002  {ZERO}002  {B_LINE}{NAMES}",
    "no line": f"001  {A_LINE}002  {B_LINE}{NAMES}",
}
"""By what the transition's event begins with."""


def old_and_new(text: str, lines: list[str]) -> tuple[Reading, Reading]:
    old = "".join(f"{line}\r\n" for line in text.splitlines())
    return read_list(old, 24), read_list("".join(f"{line}\r\n" for line in lines), 24)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("transition", ["D   ", "W001", "W117"])
@pytest.mark.parametrize("channels", ["V   ", "B   ", "AA/V"])
@pytest.mark.parametrize("hold", [None, "head"])
@pytest.mark.parametrize(
    "trims",
    [[(30, 2)], [(46, 2)], [(12, 1)], [(30, 1), (46, 2)], [(20, 1), (30, 3), (40, 2)]],
    ids=["inside", "tail", "head", "inside and tail", "often"],
)
def test_a_transition_keeps_what_stands_on_both_sides(
    form: str, transition: str, channels: str, hold: str | None, trims: list[tuple[int, int]]
) -> None:
    text = HEAD + FORMS[form].format(channels, transition)
    removals = [make_removal(A, at, n, hit=at) for at, n in trims]
    lines, done = recut_text(text, *removals, hold=hold)
    assert not done.refused and len(done.made) == len(trims)
    old, new = old_and_new(text, lines)
    earlier = sum(n for _, n in trims) if hold is None else 0
    wanted = {(track, at - earlier, *rest) for track, at, *rest in old.pairs()}
    assert set(new.pairs()) == wanted and max(new.pairs().values()) == 1
    (first, *_) = wanted
    assert first[3:] == (("A1", False, 48), ("B1", False, 172_824))
    # Frames that were taken out are shown nowhere, not even beside a transition.
    gone = {("A1", False, at + place) for at, n in trims for place in range(n)}
    shown = {what for each in new.frames().values() for what in each}
    assert not shown & gone
    assert lines.count("* TO CLIP NAME: S12_T3_B.mov") == 1


def test_the_last_piece_of_a_shot_stands_with_its_transition() -> None:
    text = HEAD + FORMS["the whole shot"].format("V   ", "D   ")
    lines, _ = recut_text(text, make_removal(A, 30, 2))
    assert lines[2:] == [
        "001  A1       V     C        00:00:00:12 00:00:01:06 01:00:00:00 01:00:00:18",
        "* FROM CLIP NAME: S12_T2_A.mov",
        "002  A1       V     C        00:00:01:08 00:00:02:00 01:00:00:18 01:00:01:10",
        "002  B1       V     D    012 02:00:01:00 02:00:03:00 01:00:01:10 01:00:03:10",
        "* FROM CLIP NAME: S12_T2_A.mov",
        "* TO CLIP NAME: S12_T3_B.mov",
    ]


def test_a_tail_that_goes_does_not_come_back_under_the_transition() -> None:
    text = HEAD + FORMS["no line"].format("B   ", "D   ")
    lines, _ = recut_text(text, make_removal(A, 46, 2))
    assert events_of(lines) == [
        "001  A1       B     C        00:00:00:12 00:00:01:22 01:00:00:00 01:00:01:10",
        "002  A1       B     C        00:00:02:00 00:00:02:00 01:00:01:10 01:00:01:10",
        "002  B1       B     D    012 02:00:01:00 02:00:03:00 01:00:01:10 01:00:03:10",
    ]


@pytest.mark.parametrize("form", FORMS)
def test_frames_that_show_under_a_transition_only_are_left(form: str) -> None:
    text = HEAD + FORMS[form].format("V   ", "D   ")
    _, done = recut_text(text, make_removal(A, 50, 2))
    assert [reason for _, reason in reasons(done)] == ["they go out of sight under a transition"]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("trim", [20, 46])
def test_whole_sound_goes_on_under_its_transition_from_where_it_ends(form: str, trim: int) -> None:
    text = HEAD + FORMS[form].format("B   ", "D   ")
    lines, done = recut_text(text, make_removal(A, trim, 2), whole_sound=True)
    assert not done.refused
    _, new = old_and_new(text, lines)
    sides = {(track, out) for track, _, _, out, _ in new.pairs()}
    assert ("V", ("A1", False, 48)) in sides
    shorter = 48 if form == "a line of no length" else 46
    assert ("A1", ("A1", False, shorter)) in sides


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ("002  B1       V     K    012 02:00:01:00 02:00:03:00 01:00:01:12 01:00:03:12",
         {1: "it goes on under a key", 2: "it is part of a key"}),
        ("002  B1       V     D    060 02:00:01:00 02:00:02:00 01:00:01:12 01:00:02:12",
         {2: "it begins with a transition that is longer than itself"}),
        ("001  B1       V     D    012 02:00:01:00 02:00:02:00 01:00:02:12 01:00:03:12",
         {1: "it stands by a transition that begins elsewhere than at its out"}),
    ],
)  # fmt: skip
def test_what_a_transition_binds_is_left(lines: str, told: dict[int, str]) -> None:
    text = f"{HEAD}001  {A_LINE.format('V   ')}{lines}\n"
    _, done = recut_text(text, make_removal(A, 30, 2), make_removal(B, 40, 2, hit=2))
    assert dict(reasons(done)) == told
    assert len(done.made) == 2 - len(told)


def test_a_shot_between_two_transitions_of_one_event_is_left() -> None:
    text = (
        HEAD
        + FORMS["the whole shot"].format("V   ", "D   ")
        + ("001  A1       V     D    012 00:00:05:00 00:00:06:00 01:00:03:12 01:00:04:12\n")
    )
    _, done = recut_text(text, make_removal(B, 60, 2), make_removal(A, 30, 2, hit=2))
    assert reasons(done) == [(1, "it stands between two transitions of one event")]
    assert len(done.made) == 1


def test_a_shot_that_ends_in_a_transition_is_not_lengthened_there() -> None:
    for form in FORMS.values():
        text = HEAD + form.format("V   ", "D   ")
        _, done = recut_text(text, make_removal(A, 30, 2), hold="tail")
        assert reasons(done) == [(1, "event 1, which would be lengthened, ends in a transition")]
        _, done = recut_text(text, make_removal(A, 30, 2), hold="next")
        assert len(done.refused) == 1


OF_ONE_REEL = (
    "001  A1       {0}  C        00:00:01:00 00:00:01:12 01:00:00:00 01:00:00:12\n"
    "M2   A1             048.0                00:00:01:00\n"
    "001  A1       {1}  D    012 00:00:02:00 00:00:04:00 01:00:00:12 01:00:02:12\n"
)


@pytest.mark.parametrize("first", ["V   ", "B   ", "AA/V"])
@pytest.mark.parametrize("second", ["V   ", "B   ", "A2/V"])
@pytest.mark.parametrize("whole_sound", [False, True])
def test_a_motion_statement_stays_with_its_event_where_a_transition_leads_to_the_same_reel(
    first: str, second: str, whole_sound: bool
) -> None:
    text = HEAD + OF_ONE_REEL.format(first, second)
    lines, done = handed_over(text, make_removal(A, 60, 2), whole_sound=whole_sound)
    assert len(done.made) == 1
    above = [lines[at - 1] for at, line in enumerate(lines) if line.startswith("M2 ")]
    assert above and all(" C        00:00:01:00 00:00:01:12 " in line for line in above)
