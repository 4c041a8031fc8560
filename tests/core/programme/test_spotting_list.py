"""Spotting lists: places in the new programme, sound offsets, weights, and their CSV.

Samples per frame at 48 kHz: 1601.6 at 29.97, so three frames are 4804.8 samples and, between places
that are rounded each for itself, 4804 or 4805 (five frames are 8008 samples: the audio frame
sequence of SMPTE 272M, from memory). Limits of sync: ITU-R BT.1359-1.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings

from impactcut.core.programme.assemble import assemble
from impactcut.core.programme.cutlist import CutList, Removal
from impactcut.core.programme.showings import (
    ClipShowing,
    showings_of,
    showings_of_recut,
    unmeasured_events,
)
from impactcut.core.programme.spotting_list import (
    ClipCues,
    SpottedCue,
    sound_offset,
    spot_cues,
    spot_trims,
)
from impactcut.core.recut.cutting import recut
from impactcut.core.recut.reel_match import match_events
from impactcut.core.sound.cues import CueKind, SoundCue
from impactcut.core.sound.sync import sync_verdict
from impactcut.core.time.frames import FrameRange, Gaps
from impactcut.core.time.timebase import Timebase
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.sequence import list_names, sequence_of
from impactcut.lists.tables.spotting_list_csv import render_spotting_csv
from tests.helpers.lists.list_clips import (
    ALL_TIMEBASES,
    DF30,
    cut_lists,
    frame_of,
    make_clip,
    make_entry,
    make_removal,
)

FILM = Fraction(24)
NTSC = Fraction(30000, 1001)
A = make_clip("S12_T2_A.mov", reel="A1", frames=240, start=89_520)
B = make_clip("S12_T3_B.mov", reel="B1", frames=120, start=172_800)


def cue(
    kind: CueKind, start: int, stop: int, moment: int | None = None, speed: float = 1.0
) -> SoundCue:
    return SoundCue(kind, "striker", FrameRange(start, stop), moment, speed)


def spotted(cut: CutList, *cues: SoundCue) -> tuple[SpottedCue, ...]:
    return spot_cues(showings_of(cut), [ClipCues(make_entry(A, 7, 60), cues)])


def test_cues_lie_where_the_new_programme_shows_them() -> None:
    cut = assemble("QUAY", [B, A], [make_removal(A, 50, 2)], record_start=1000)
    found = spotted(cut, cue("hit", 48, 49, 48), cue("swish", 44, 60, 47), cue("cloth", 52, 60))
    # A begins at record 1000 + 120; its frame 60 comes two frames earlier.
    assert [each.kind for each in found] == ["swish", "hit", "cloth"]
    places = {each.kind: (each.record, each.moment) for each in found}
    assert places == {
        "hit": (FrameRange(1168, 1169), 1168),
        "swish": (FrameRange(1164, 1178), 1167),
        "cloth": (FrameRange(1170, 1178), None),
    }


def test_a_contact_frame_that_went_is_spotted_on_the_splice() -> None:
    cut = assemble("QUAY", [A], [make_removal(A, 50, 2)], record_start=0)
    (hit,) = spotted(cut, cue("hit", 51, 52, 51))
    assert (hit.record, hit.moment, hit.source_frame) == (FrameRange(50, 51), 50, 52)
    assert hit.note.startswith("contact frame taken out")


def test_a_movement_whose_every_frame_went_is_not_spotted() -> None:
    cut = assemble("QUAY", [A], [make_removal(A, 50, 2)], record_start=0)
    assert spotted(cut, cue("cloth", 50, 52)) == ()


def test_a_cue_that_goes_on_beyond_its_shot_is_cut_there() -> None:
    showing = ClipShowing(A, FrameRange(40, 60), 100)
    (one, other) = spot_cues(
        [showing], [ClipCues(make_entry(A, 1, 60), (cue("cloth", 30, 45), cue("swish", 50, 60)))]
    )
    assert (one.record, one.screen) == (FrameRange(100, 105), "partly on")
    assert (other.record, other.screen) == (FrameRange(110, 120), "on")
    assert spot_cues([showing], [ClipCues(make_entry(A, 1, 60), (cue("hit", 70, 71, 70),))]) == ()


def test_weights_follow_speed_against_the_usual_of_its_kind() -> None:
    cut = assemble("QUAY", [A], [], record_start=0)
    speeds = (1.0, 2.0, 2.1, 2.2, 4.0)
    hits = [cue("hit", at, at + 1, at, speed) for at, speed in enumerate(speeds)]
    found = spotted(cut, *hits, cue("cloth", 60, 70, speed=0.5), cue("effort", 80, 90, speed=0))
    assert [each.weight for each in found] == [
        "light", "medium", "medium", "medium", "heavy", "medium", ""
    ]  # fmt: skip


def test_weights_change_at_four_fifths_and_five_quarters_of_the_usual() -> None:
    """The lines are an engineering choice without a source."""
    cut = assemble("QUAY", [A], [], record_start=0)
    speeds = (0.79, 0.8, 1.0, 1.25, 1.26)
    found = spotted(cut, *(cue("hit", at, at + 1, at, speed) for at, speed in enumerate(speeds)))
    assert [each.weight for each in found] == ["light", "medium", "medium", "medium", "heavy"]


@pytest.mark.parametrize(
    ("frames", "record", "rate", "samples"),
    [
        (3, 0, FILM, 6000),
        (1, 107_892, Fraction(25), 1920),
        (2, 7, Fraction(24000, 1001), 4004),
        (3, 0, NTSC, 4805),  # 4804.8 - 0
        (3, 1, NTSC, 4804),  # 6406.4 - 1601.6, each rounded
        (3, 2, NTSC, 4805),  # 8008.0 - 3203.2
        (5, 1, NTSC, 8008),
    ],
)
def test_offsets_round_places_and_never_lengths(
    frames: int, record: int, rate: Fraction, samples: int
) -> None:
    offset = sound_offset(-frames, record, rate)
    assert offset.samples == -samples
    assert float(offset.milliseconds) == pytest.approx(-1000 * frames / float(rate))


def test_a_thousand_splices_do_not_drift() -> None:
    # 29.97: 1000 frames are 1 601 600 samples; a thousand rounded frames would be 1 602 000.
    assert sound_offset(-1000, 0, NTSC).samples == -1_601_600
    assert 1000 * round(Fraction(48000) / NTSC) == 1_602_000


def test_every_splice_names_its_own_and_the_added_up_offset() -> None:
    removals = [make_removal(A, 50, 2, hit=1), make_removal(A, 90, 3, hit=2),
                make_removal(B, 20, 1, hit=3)]  # fmt: skip
    cut = assemble("QUAY", [A, B], removals, record_start=86_400)
    trims = spot_trims(showings_of(cut), cut.removals, FILM)
    told = [
        (trim.hits, trim.record, trim.own.frames, trim.own.verdict, trim.after.frames,
         trim.after.verdict)
        for trim in trims
    ]  # fmt: skip
    # 2, 3 and 5 frames at 24 are 83.3, 125 and 208.3 ms; BT.1359-1: late sound is detectable
    # beyond 125 and not acceptable beyond 185.
    assert told == [
        (("1",), 86_450, -2, "in sync", -2, "in sync"),
        (("2",), 86_488, -3, "in sync", -5, "unacceptable"),
        (("3",), 86_655, -1, "in sync", -1, "in sync"),
    ]


@settings(max_examples=100)
@given(cut_lists())
def test_splices_of_any_programme(cut: CutList) -> None:
    rate = cut.timebase.rate
    for trim in spot_trims(showings_of(cut), cut.removals, rate):
        before = [r for r in cut.removals if r.clip == trim.clip and r.frames <= trim.gone]
        inside = [r for r in before if r.frames.start > 0]
        assert trim.after.frames == -sum(len(r.frames) for r in inside)
        assert trim.after.verdict == sync_verdict(1000 * trim.after.frames / rate)
        assert any(event.record_in == trim.record for event in cut.events)


CUT = (
    "TITLE: QUAY\nFCM: NON-DROP FRAME\n"
    "001  A1       V     C        01:02:11:00 01:02:13:00 01:00:00:00 01:00:02:00\n"
    "002  A1       V     C        01:02:13:00 01:02:14:00 01:00:02:00 01:00:03:00\n"
    "003  A1       V     C        01:02:11:00 01:02:12:00 01:00:03:00 01:00:05:00\n"
    "M2   A1             012.0                01:02:11:00\n"
    "004  A1       V2    C        01:02:16:00 01:02:17:00 01:00:01:00 01:00:02:00\n"
)


APART = CUT.replace("01:02:13:00 01:02:14:00", "01:02:17:00 01:02:18:00")
"""Its first two shots do not run on, so that either can be lengthened."""


def showings_after(hold: str | None, *removals: Removal, cut: str = CUT) -> tuple[ClipShowing, ...]:
    matches = match_events(sequence_of(parse_edl(cut, FILM)), list_names([A]))
    done = recut([match.event for match in matches], removals, hold)
    assert [event.number for event in unmeasured_events(done.pieces)] == [3]
    return showings_of_recut(done.pieces, hold is not None)


def test_events_that_run_on_are_one_showing() -> None:
    shown = showings_after(None, make_removal(A, 71, 2))
    assert shown == (
        ClipShowing(A, FrameRange(24, 96), 86_400, Gaps((FrameRange(71, 73),))),
        ClipShowing(A, FrameRange(144, 167), 86_424),
    )


@pytest.mark.parametrize(
    ("hold", "after"), [(None, [-2, -3]), ("tail", [-2, -3]), ("head", [1, 0])]
)
def test_sound_that_stays_by_how_the_length_is_held(hold: str | None, after: list[int]) -> None:
    # Held by its own head, the shot comes three frames late before the first splice, one frame
    # late after it and in time after the second: sound that stays is early, a positive offset.
    removals = [make_removal(A, 30, 2), make_removal(A, 40, 1, hit=2)]
    trims = spot_trims(showings_after(hold, *removals, cut=APART), removals, FILM)
    assert [trim.after.frames for trim in trims] == after
    assert [trim.own.frames for trim in trims] == [-2, -1]


def test_rows_of_the_csv() -> None:
    cut = assemble("QUAY", [A], [make_removal(A, 50, 2)], record_start=86_400)
    cues = spotted(cut, cue("swish", 44, 50, 47, 1.25), cue("hit", 53, 54, 53, 1.25))
    trims = spot_trims(showings_of(cut), cut.removals, FILM)
    text = render_spotting_csv(cut.timebase, cues, trims)
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [row["cue"] for row in rows] == ["1", "2", "3"]
    assert [row["kind"] for row in rows] == ["swish", "trim", "hit"]
    wanted = {"tc_in": "01:00:01:20", "tc_hit": "01:00:01:23", "tc_out": "01:00:02:02",
              "frames": "6", "speed": "1.250", "hit": "7", "source": "01:02:11:20",
              "source_frame": "89564", "screen": "on", "weight": "medium", "rate": "24/1",
              "frames_out": ""}  # fmt: skip
    assert wanted.items() <= rows[0].items()
    wanted = {"tc_in": "01:00:02:02", "tc_hit": "", "frames": "0", "frames_out": "2",
              "offset_ms": "-83.3", "offset_samples": "-4000",
              "offset_sync": "detectable if early, in sync if late", "after_sync": "in sync, late",
              "after_frames": "-2", "source": "01:02:12:02"}  # fmt: skip
    assert wanted.items() <= rows[1].items()


@pytest.mark.parametrize("timebase", ALL_TIMEBASES, ids=str)
def test_labels_are_those_of_the_frames_beside_them(timebase: Timebase) -> None:
    clip = make_clip("=S12.mov", timebase=timebase, frames=300, start=timebase.day - 100)
    start = timebase.frame("01:00:59:20")
    cut = assemble("QUAY", [clip], [make_removal(clip, 50, 2)], record_start=start)
    cues = spot_cues(
        showings_of(cut),
        [ClipCues(make_entry(clip, 1, 48), (cue("hit", 48, 49, 48), cue("cloth", 200, 299)))],
    )
    trims = spot_trims(showings_of(cut), cut.removals, timebase.rate)
    text = render_spotting_csv(timebase, cues, trims)
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert len(rows) == 3 and {row["clip"] for row in rows} == {"'=S12.mov"}
    for row in rows:
        for column in ("tc_in", "tc_hit", "tc_out", "source"):
            if row[column]:
                frame = int(row[f"{column}_frame"]) % timebase.day
                assert frame_of(row[column], timebase) == frame
    assert {row["count_mode"] for row in rows} == {
        "drop-frame" if timebase.drop_frame else "non-drop"
    }


def test_drop_frame_marks_its_labels() -> None:
    clip = make_clip("A.mov", timebase=DF30, frames=90, start=1790)
    cut = assemble("QUAY", [clip], [make_removal(clip, 9, 2)], record_start=107_892)
    trims = spot_trims(showings_of(cut), cut.removals, NTSC)
    text = render_spotting_csv(DF30, (), trims)
    # SMPTE ST 12-1: frame 1799 is 00:00:59;29.
    assert "01:00:00;09,107901" in text and "00:00:59;29,1799" in text


def test_a_trim_says_that_a_counter_jumps() -> None:
    clip = replace(A, clock=True)
    cut = assemble("QUAY", [clip], [make_removal(clip, 50, 2)], record_start=86_400)
    trims = spot_trims(showings_of(cut), cut.removals, clip.rate)
    (row,) = csv.DictReader(io.StringIO(render_spotting_csv(clip.timebase, (), trims), newline=""))
    assert row["note"].endswith("; a counter jumps here, unless the finished picture is made from "
                                "clean ones")  # fmt: skip
