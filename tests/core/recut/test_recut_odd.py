"""Lists as odd as those in circulation, recut before the second reader; and what was once wrong.

How lists look and what statements mean: the columns of public CMX3600 readers and lists in
circulation; there is no published standard to check against. Timecodes were added up on paper.
"""

from __future__ import annotations

from random import Random

import pytest

from impactcut.core.programme.change_list import change_list
from impactcut.core.recut.cutting import recut
from impactcut.errors import ListFormatError, ListMismatchError
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.recut_check import check_recut
from impactcut.lists.edl.reissue import reissue
from impactcut.lists.edl.sequence import sequence_of
from tests.helpers.lists.list_clips import DF30, make_clip, make_removal
from tests.helpers.lists.odd_cuts import odd_cut
from tests.helpers.lists.odd_trials import damages, facts, passes, run_odd
from tests.helpers.lists.recut_lists import FILM, HEAD, SHOTS, A, B, handed_over, matched, reasons


def test_odd_lists_show_the_right_frames_once_recut() -> None:
    trials = [trial for seed in range(60) if (trial := run_odd(odd_cut(seed)))]
    assert len(trials) > 50 and sum(len(trial.done.made) for trial in trials) > 50
    assert {trial.hold for trial in trials} == {None, "tail", "head", "next"}


def test_odd_lists_hold_every_form() -> None:
    text = "".join(odd_cut(seed).written().text for seed in range(80))
    for form in (" D    0", " W118 0", " K B ", " K O ", "M2 ", " 000.0 ", "-024.0 ", "SPLIT:    A",
                 "SPLIT:    V", " NONE ", "AUD  3", "BL ", "* LOC:", "AX ", "V2", "FCM: DROP FRAME",
                 "FCM: NON-DROP FRAME\r\n0", " COPY ", "* SOURCE FILE:", "* TO CLIP NAME:",
                 "* COMMENT: SEE "):  # fmt: skip
        assert form in text, form


def test_an_odd_list_with_a_fault_in_it_is_not_handed_over() -> None:
    caught = 0
    for seed in range(20):
        trial = run_odd(odd_cut(seed))
        if trial is None or not trial.done.made:
            continue
        assert passes(trial, trial.text)
        right = facts(trial, trial.text)
        for damaged in damages(trial.text, Random(seed), 4):
            if passes(trial, damaged):
                assert facts(trial, damaged) == right, damaged
            else:
                caught += 1
    assert caught > 20


def test_a_mode_above_the_events_counts_the_first_of_them_wherever_it_goes() -> None:
    clip = make_clip("S12_T2_A.mov", reel="A1", timebase=DF30, frames=600)
    text = (
        "TITLE: QUAY\nFCM: NON-DROP FRAME\nFCM: DROP FRAME\n"
        "001  A1       V     C        00:00:04;00 00:00:05;00 01:00:01:00 01:00:02:00\n"
        "FCM: NON-DROP FRAME\n"
        "002  X9       V     C        00:00:05:00 00:00:06:00 01:00:02:00 01:00:03:00\n"
        "003  X9       V     C        00:00:07:00 00:00:08:00 01:00:00:00 01:00:01:00\n"
    )
    lines, done = handed_over(text, make_removal(clip, 130, 2), rate=DF30.rate)
    assert len(done.made) == 1
    assert lines[3] == "FCM: NON-DROP FRAME" and lines[4].startswith("001  X9 ")
    assert lines[5] == "FCM: DROP FRAME" and lines[6].startswith("002  A1 ")


def test_a_list_whose_mode_names_none_is_given_one() -> None:
    text = SHOTS.replace("FCM: NON-DROP FRAME", "FCM: AS SHOT")
    lines, done = handed_over(text, make_removal(A, 30, 2))
    assert len(done.made) == 2
    assert lines[:3] == ["TITLE: QUAY 2", "FCM: AS SHOT", "FCM: NON-DROP FRAME"]


def test_a_motion_statement_below_a_mode_is_about_the_event_above_it() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "FCM: NON-DROP FRAME\n"
        "M2   A1             000.0                00:00:01:00\n"
        "* FROM CLIP NAME: S12_T2_A.mov\n"
        "002  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
    )
    lines, done = handed_over(text, make_removal(A, 30, 2), make_removal(B, 30, 2))
    assert reasons(done) == [(1, "it does not run at its own speed (M2)")]
    assert done.events[1].name == "" and len(done.made) == 1
    assert lines[:6] == ["TITLE: QUAY 2", *text.splitlines()[1:6]]


def test_sound_tracks_below_a_mode_are_of_the_event_above_it() -> None:
    text = HEAD + (
        "001  A1       AA/V  C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "FCM: NON-DROP FRAME\n"
        "AUD  3    4\n"
        "002  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
    )
    _, done = handed_over(text, make_removal(A, 30, 2))
    assert done.events[0].tracks == {"V", "A1", "A2", "A3", "A4"}
    assert done.events[1].tracks == {"V"}


@pytest.mark.parametrize(
    "line", ["M2   A1             000.0                00:00:01:00", "AUD  3    4"]
)
def test_what_is_about_an_event_before_it_and_has_none_is_refused(line: str) -> None:
    first, *rest = SHOTS.splitlines()
    for lines in ([first, line, *rest], [first, rest[0], "SPLIT:    AUDIO DELAY=  00:00:00:02",
                                         line, *rest[1:]]):  # fmt: skip
        with pytest.raises(ListFormatError, match=r"line \d .*with no event before it"):
            sequence_of(parse_edl("\n".join(lines), FILM.rate))


OF_ONE_NUMBER = HEAD + (
    "001  {0}       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "* FROM CLIP NAME: S12_T2_A.mov\n"
    "001  {1}       V     C        00:00:03:00 00:00:04:00 01:00:01:00 01:00:02:00\n"
    "* TO CLIP NAME: S12_T2_A.mov\n"
)


def test_an_event_is_named_below_another_of_its_number_only_if_that_is_of_its_reel() -> None:
    other = make_clip("S12_T3_B.mov", reel="B1", frames=240)
    for reel, name, clip in (("A1", A.name, A), ("B1", "", other)):
        _, matches = matched(OF_ONE_NUMBER.format("A1", reel), A, other)
        assert [match.event.name for match in matches] == [A.name, name]
        assert matches[1].event.clip == clip


def test_a_piece_of_a_cut_keeps_its_name_beside_a_note_that_names_what_it_leads_to() -> None:
    text = OF_ONE_NUMBER.format("A1", "A1")
    lines, done = handed_over(text, make_removal(A, 80, 2))
    assert len(done.made) == 1
    assert lines[-3:] == [
        "002  A1       V     C        00:00:03:10 00:00:04:00 01:00:01:08 01:00:01:22",
        "* FROM CLIP NAME: S12_T2_A.mov",
        "* TO CLIP NAME: S12_T2_A.mov",
    ]


def test_notes_go_with_their_own_tracks_where_those_of_one_number_part() -> None:
    text = HEAD + (
        "001  B1       V     C        02:00:01:00 02:00:02:00 00:59:59:00 01:00:00:00\n"
        "002  A1       B     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "* SOURCE FILE: S12_T2_A.mov\n"
        "002  A1       A3    C        00:00:05:00 00:00:06:00 01:00:01:00 01:00:02:00\n"
        "* COMMENT: RAIN\n"
    )
    lines, done = handed_over(text, make_removal(A, 30, 2), whole_sound=True)
    assert len(done.made) == 1 and done.events[2].name == A.name
    rain = lines.index("* COMMENT: RAIN")
    assert lines[rain - 2].split()[1:3] == ["A1", "A3"]
    assert lines[rain - 1] == "* FROM CLIP NAME: S12_T2_A.mov"


def test_notes_stay_with_their_event_where_a_mode_changes_inside_its_number() -> None:
    clip = make_clip("S12_T2_A.mov", reel="A1", timebase=DF30, frames=600)
    text = (
        "TITLE: QUAY\nFCM: NON-DROP FRAME\n"
        "001  X9       A3    C        00:00:04:00 00:00:05:00 01:00:00:00 01:00:01:00\n"
        "FCM: DROP FRAME\n"
        "001  A1       AA/V  C        00:00:04;00 00:00:06;00 01:00:01:00 01:00:03:00\n"
        "* FROM CLIP NAME: S12_T2_A.mov\n"
    )
    lines, done = handed_over(text, make_removal(clip, 130, 2), whole_sound=True, rate=DF30.rate)
    assert len(done.made) == 1
    assert lines.count("* FROM CLIP NAME: S12_T2_A.mov") == 3


def test_a_cut_beside_a_transition_of_other_tracks_is_not_named_by_its_source_file() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "AUD  4\n"
        "001  B1       A3    D    004 02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
        "* SOURCE FILE: S12_T3_B.mov\n"
    )
    _, done = handed_over(text, make_removal(A, 30, 2), hold="tail", whole_sound=True)
    assert [event.name for event in done.events] == ["", ""] and len(done.made) == 1


def test_sound_beside_a_transition_that_stays_whole_is_named_once() -> None:
    text = HEAD + (
        "001  A1       AA/V  C        00:00:01:00 00:00:03:00 01:00:00:00 01:00:02:00\n"
        "001  B1       V     D    004 02:00:01:00 02:00:02:00 01:00:02:00 01:00:03:00\n"
        "* FROM CLIP NAME: S12_T2_A.mov\n"
        "* TO CLIP NAME: S12_T3_B.mov\n"
    )
    lines, done = handed_over(text, make_removal(A, 30, 2), whole_sound=True)
    assert len(done.made) == 1
    sound = next(at for at, line in enumerate(lines) if " AA  " in line)
    assert lines[sound + 1 : sound + 3] == [
        "* FROM CLIP NAME: S12_T2_A.mov", "* TO CLIP NAME: S12_T3_B.mov"
    ]  # fmt: skip


def test_the_next_shot_does_not_begin_before_an_event_of_no_length_at_its_in() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "002  X9       V     C        00:00:09:00 00:00:09:00 01:00:01:00 01:00:01:00\n"
        "003  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
    )
    _, done = handed_over(text, make_removal(A, 30, 2), hold="next")
    assert reasons(done) == [
        (1, "event 2, of no length, stands at the in of event 3, which would be lengthened; hold "
            "the length another way")
    ]  # fmt: skip
    _, done = handed_over(text, make_removal(A, 30, 2), hold="tail")
    assert len(done.made) == 1


def test_an_event_of_no_length_inside_another_does_not_matter() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "002  X9       V     C        00:00:09:00 00:00:09:00 01:00:00:05 01:00:00:05\n"
        "003  X9       V     C        00:00:09:00 00:00:09:00 01:00:00:22 01:00:00:22\n"
    )
    lines, done = handed_over(text, make_removal(A, 35, 2))
    assert len(done.made) == 1
    assert [line[53:76] for line in lines if line[5:7] == "X9"] == [
        "01:00:00:05 01:00:00:05", "01:00:00:20 01:00:00:20"
    ]  # fmt: skip


def test_a_source_that_counts_otherwise_than_the_programme_runs_across_its_midnight() -> None:
    start = DF30.day - 30
    clip = make_clip("S12_T2_A.mov", reel="A1", timebase=DF30, frames=600, start=start)
    text = (
        "TITLE: QUAY\nFCM: NON-DROP FRAME\nFCM: DROP FRAME\n"
        "001  A1       V     C        23:59:59;15 00:00:02;00 01:00:00:00 01:00:02:15\n"
    )
    lines, done = handed_over(text, make_removal(clip, 50, 2), rate=DF30.rate)
    assert len(done.made) == 1
    assert [line[29:52] for line in lines if line[:3].isdigit()] == [
        "23:59:59;15 00:00:00;20", "00:00:00;22 00:00:02;00"
    ]  # fmt: skip


def test_a_mark_behind_the_end_of_a_programme_across_midnight_moves_along() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:03:00 23:59:59:00 00:00:01:00\n"
        "* LOC: 00:00:05:00 RED     LATER\n"
    )
    lines, done = handed_over(text, make_removal(A, 30, 2))
    assert len(done.made) == 1
    assert "* LOC: 00:00:04:22 RED     LATER" in lines


def test_a_note_put_elsewhere_and_a_list_without_its_mode_are_caught() -> None:
    text = SHOTS + "* COMMENT: RAIN ON GLASS\n"
    document, matches = matched(text)
    done = recut([match.event for match in matches], [make_removal(A, 30, 2)])
    changes = change_list(("1", "2"), FILM, done.events, done.pieces)
    (new,) = reissue(document, done, "QUAY 2")
    check_recut((new,), document, done, changes)
    rain = "* COMMENT: RAIN ON GLASS\r\n"
    without = new.replace(rain, "")
    rows = without.splitlines(keepends=True)
    for at in (1, 3, 5):
        moved = "".join([*rows[:at], rain, *rows[at:]])
        with pytest.raises(ListMismatchError, match="elsewhere than planned"):
            check_recut((moved,), document, done, changes)
    unsaid = new.replace("FCM: NON-DROP FRAME\r\n", "")
    with pytest.raises(ListMismatchError, match="does not say first how it counts"):
        check_recut((unsaid,), document, done, changes)
