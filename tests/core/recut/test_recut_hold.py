"""A recut that holds the length, and where sound comes to lie: small lists and their answers.

How lists look and what statements mean: the columns of public CMX3600 readers and lists in
circulation; there is no published standard to check against. Timecodes were added up on paper.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from impactcut.core.programme.cutlist import Removal
from impactcut.core.recut.cutting import recut
from impactcut.core.recut.sound_drift import sound_drifts
from impactcut.core.time.frames import FrameRange
from impactcut.lists.edl.reissue import reissue
from tests.helpers.lists.list_clips import make_removal
from tests.helpers.lists.recut_lists import (
    HEAD,
    SHOTS,
    A,
    B,
    events_of,
    matched,
    reasons,
    recut_text,
)


@pytest.mark.parametrize(
    ("hold", "frames", "spare"),
    [
        ("tail", 46, "event 1 has 0 spare frames after its out, and 2 are needed"),
        ("head", 240, "event 1 has 1 spare frames before its in, and 2 are needed"),
        ("next", 240, "event 2 has 1 spare frames before its in, and 2 are needed"),
    ],
)
def test_holding_needs_handles(hold: str, frames: int, spare: str) -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:00:01 00:00:01:22 01:00:00:00 01:00:01:21\n"
        "002  B1       V     C        02:00:00:01 02:00:01:00 01:00:01:21 01:00:02:20\n"
    )
    clip = replace(A, frames=frames)
    document, matches = matched(text, clip, B)
    done = recut([m.event for m in matches], [make_removal(clip, 10, 2)], hold)
    assert reasons(done) == [(1, spare)]
    assert reissue(document, done, "QUAY")[0].splitlines() == text.splitlines()


@pytest.mark.parametrize(
    ("hold", "other", "event"),
    [
        ("tail", make_removal(A, 49, 2, hit=7), 1),
        ("head", make_removal(A, 21, 2, hit=7), 1),
        ("next", make_removal(B, 21, 2, hit=7), 2),
    ],
)
def test_frames_that_are_to_go_for_another_hit_do_not_come_in(
    hold: str, other: Removal, event: int
) -> None:
    """The shots show frames 24 to 47; what would come in has one that another hit takes out."""
    shots = "".join(SHOTS.splitlines(keepends=True)[:5])
    lines, done = recut_text(shots, make_removal(A, 30, 2), other, hold=hold)
    why = (
        f"event {event}, which would be lengthened, would show frames that are to go for hit 7; "
        "hold the length another way"
    )
    assert reasons(done) == [(1, why)]
    assert events_of(lines) == events_of(shots.splitlines())
    lines, done = recut_text(shots, make_removal(A, 30, 1), other, hold=hold)
    assert len(done.made) == 1 and not done.refused, "one frame beside them is free"


@pytest.mark.parametrize(("hold", "frames"), [("tail", 48), ("head", 240), ("next", 240)])
def test_handles_that_are_just_long_enough_suffice(hold: str, frames: int) -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:00:02 00:00:01:22 01:00:00:00 01:00:01:20\n"
        "002  B1       V     C        02:00:00:02 02:00:01:00 01:00:01:20 01:00:02:18\n"
    )
    clip = replace(A, frames=frames)
    lines, done = recut_text(text, make_removal(clip, 10, 2), hold=hold)
    assert not done.refused and len(done.made) == 1
    assert events_of(lines)[-1][65:76] == "01:00:02:18"


def test_the_next_shot_must_be_a_clip_of_known_length() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "002  X9       V     C        02:00:00:01 02:00:01:00 01:00:01:00 01:00:01:23\n"
    )
    _, done = recut_text(text, make_removal(A, 30, 2), hold="next")
    assert "event 2, which would be lengthened, is of no clip of the project" in reasons(done)[0][1]


def test_several_trims_of_a_shot_share_its_handle() -> None:
    clip = replace(A, frames=51)
    text = HEAD + ("001  A1       V     C        00:00:00:00 00:00:02:00 01:00:00:00 01:00:02:00\n")
    _, matches = matched(text, clip)
    trims = [make_removal(clip, 10, 2), make_removal(clip, 20, 1, hit=2),
             make_removal(clip, 30, 1, hit=3)]  # fmt: skip
    done = recut([m.event for m in matches], trims, "tail")
    assert [use.removal.hit.id for use in done.made] == [1, 2]
    assert reasons(done) == [(1, "event 1 has 3 spare frames after its out, and 4 are needed")]


def test_the_own_head_keeps_the_frames_after_the_splice_where_they_were() -> None:
    lines, _ = recut_text(SHOTS, make_removal(A, 30, 2), hold="head")
    assert [line[29:] for line in events_of(lines)[:2]] == [
        "00:00:00:22 00:00:01:06 01:00:00:00 01:00:00:08",
        "00:00:01:08 00:00:02:00 01:00:00:08 01:00:01:00",
    ]


SYNC = HEAD + (
    "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    "002  A1       A     C        00:00:00:12 00:00:02:12 00:59:59:12 01:00:01:12\n"
    "003  A1       A2    C        00:00:01:01 00:00:02:01 01:00:00:00 01:00:01:00\n"
    "004  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
)


def test_sound_in_sync_is_cut_with_the_picture_and_other_sound_is_reported() -> None:
    lines, done = recut_text(SYNC, make_removal(A, 30, 2), hold="tail")
    sound = [line[29:] for line in events_of(lines) if line[14:16] == "A "]
    assert sound == [
        "00:00:00:12 00:00:01:06 00:59:59:12 01:00:00:06",
        "00:00:01:08 00:00:02:14 01:00:00:06 01:00:01:12",
    ]
    # Event 3 lies a frame out of sync already; it stays, two frames later against the picture.
    told = [(d.event.number, d.record, d.late, d.same_clip) for d in sound_drifts(done.pieces)]
    assert told[-1] == (3, FrameRange(86_406, 86_424), 2, True)
    assert (2, FrameRange(86_424, 86_436), -2, False) in told


def test_the_own_head_makes_sound_that_stays_early_before_the_splice() -> None:
    _, done = recut_text(SYNC, make_removal(A, 30, 2), hold="head", whole_sound=True)
    told = [(d.event.number, d.record, d.late) for d in sound_drifts(done.pieces)]
    assert told == [(2, FrameRange(86_400, 86_408), -2), (3, FrameRange(86_400, 86_408), -2)]


def test_sound_that_runs_on_over_cuts_is_reported_once() -> None:
    text = HEAD + (
        "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
        "002  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:00 01:00:02:00\n"
        "003  B1       V     C        02:00:03:00 02:00:04:00 01:00:02:00 01:00:03:00\n"
        "004  RAIN     A     C        00:00:00:00 00:00:03:00 01:00:00:00 01:00:03:00\n"
    )
    _, done = recut_text(text, make_removal(A, 30, 2), whole_sound=True)
    told = [(d.event.number, d.record, d.late, d.same_clip) for d in sound_drifts(done.pieces)]
    assert told == [(4, FrameRange(86_406, 86_470), 2, False)]


SPLIT_EDIT = HEAD + (
    "001  A1       V     C        00:00:01:00 00:00:02:00 01:00:00:12 01:00:01:12\n"
    "002  A1       A     C        00:00:00:12 00:00:01:00 01:00:00:00 01:00:00:12\n"
    "003  A1       A2    C        00:00:02:00 00:00:02:12 01:00:01:12 01:00:02:00\n"
    "004  B1       V     C        02:00:01:00 02:00:02:00 01:00:01:12 01:00:02:12\n"
)
"""Sound of event 1 begins before it, and goes on under event 4."""


@pytest.mark.parametrize(
    ("hold", "told"),
    [
        ("tail", [(3, FrameRange(86_436, 86_448), 2)]),
        ("head", [(2, FrameRange(86_400, 86_412), -2)]),
        ("next", [(3, FrameRange(86_436, 86_448), 2)]),
    ],
)
def test_sound_wholly_under_the_next_shot_is_reported_where_its_own_moves_away(
    hold: str, told: list[tuple[int, FrameRange, int]]
) -> None:
    _, done = recut_text(SPLIT_EDIT, make_removal(A, 30, 2), hold=hold)
    assert not done.refused
    drifts = sound_drifts(done.pieces, held=True)
    assert [(d.event.number, d.record, d.late) for d in drifts if d.apart] == told
    # A ripple moves both alike.
    _, done = recut_text(SPLIT_EDIT, make_removal(A, 30, 2))
    assert not sound_drifts(done.pieces)
