"""Reading lists that keep the form, and lists that do not: nothing lost, everything odd told."""

from __future__ import annotations

from fractions import Fraction

import pytest

from impactcut.core.time.frames import FrameRange
from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError, RateError
from impactcut.lists.edl.document import EdlDocument, motion_events
from impactcut.lists.edl.lines import tracks_of
from impactcut.lists.edl.read import parse_edl
from impactcut.lists.edl.statements import (
    Carried,
    EventLine,
    ExtraAudio,
    FrameCodeMode,
    Motion,
    Note,
    Split,
    Title,
    Unread,
    write_statements,
)
from tests.helpers.lists.edl_samples import DROP, PLAIN, SLOPPY, SPLIT, TRANSITIONS
from tests.helpers.lists.list_clips import DF30

FILM = Fraction(24)
VIDEO = DF30.rate


def warned(document: EdlDocument) -> dict[int, list[str]]:
    found: dict[int, list[str]] = {}
    for warning in document.warnings:
        found.setdefault(warning.line, []).append(warning.message)
    return found


def test_the_statements_of_a_list_in_form() -> None:
    document = parse_edl(PLAIN, FILM)
    assert [type(statement) for statement in document.statements] == [
        Title, FrameCodeMode, EventLine, Note, EventLine, EventLine, Carried, Note, Note,
        EventLine, Motion, Note, ExtraAudio,
    ]  # fmt: skip
    assert [statement.line for statement in document.statements] == list(range(1, 14))
    assert document.warnings == ()
    assert document.unread == ()
    assert document.rate == FILM


def test_the_fields_of_events() -> None:
    first, black, dissolve, fast = parse_edl(PLAIN, FILM).events
    hour = 86_400
    assert (first.number, first.reel, first.channels, first.transition, first.duration) == (
        1, "A004C011", "V", "C", None,
    )  # fmt: skip
    assert first.source == FrameRange(89_520, 89_599)
    assert first.record == FrameRange(hour, hour + 79)
    assert (black.reel, len(black.source), len(black.record)) == ("BL", 0, 0)
    assert (dissolve.number, dissolve.transition, dissolve.duration) == (2, "D", 12)
    assert fast.tracks == {"V", "A1", "A2"}
    assert (len(fast.source), len(fast.record)) == (48, 24)


def test_notes_and_other_statements() -> None:
    statements = parse_edl(PLAIN, FILM).statements
    notes = [(each.keyword, each.value) for each in statements if isinstance(each, Note)]
    assert notes == [
        ("FROM CLIP NAME", "A004C011_TAKE2.MOV"),
        ("FROM CLIP NAME", "BLACK"),
        ("TO CLIP NAME", "A005C003_TAKE1.MOV"),
        ("FROM CLIP NAME", "A005C004_TAKE1.MOV"),
    ]
    (audio,) = (each for each in statements if isinstance(each, ExtraAudio))
    assert audio.tracks == {"A3", "A4"}


def test_motion_belongs_to_the_event_of_its_reel() -> None:
    document = parse_edl(PLAIN, FILM)
    ((motion, event),) = motion_events(document.statements).items()
    assert (motion.reel, motion.speed, motion.trigger) == ("A005C004", 48, 3 * 86_400)
    assert event == document.events[3]


@pytest.mark.parametrize(
    ("line", "reel", "speed"),
    [
        ("M2   A1             048.0                01:00:00:00", "A1", Fraction(48)),
        ("M2   A1            -024.0                01:00:00:00", "A1", Fraction(-24)),
        ("M2\tA1\t-23.976\t01:00:00:00", "A1", Fraction(-23976, 1000)),
        ("M2   A1   - 12.5   01:00:00:00", "A1", Fraction(-25, 2)),
        ("M2   TWO REEL      000.0  01:00:00:00", "TWO REEL", Fraction(0)),
        ("M2   0024  24  01:00:00:00", "0024", Fraction(24)),
        ("M2   024.0  01:00:00:00", "", Fraction(24)),
    ],
)
def test_motion_statements_are_read_by_tokens(line: str, reel: str, speed: Fraction) -> None:
    motion = parse_edl(f"{PLAIN}{line}\n", FILM).statements[-1]
    assert isinstance(motion, Motion)
    assert (motion.reel, motion.speed, motion.trigger) == (reel, speed, 86_400)


def test_transitions() -> None:
    events = parse_edl(TRANSITIONS, FILM).events
    assert [(event.transition, event.duration) for event in events] == [
        ("C", None), ("C", None), ("W001", 24), ("K B", None), ("K", 10), ("K O", 5), ("KB", None),
    ]  # fmt: skip


def test_splits_are_kept_with_their_delay() -> None:
    document = parse_edl(SPLIT, FILM)
    splits = [each for each in document.statements if isinstance(each, Split)]
    assert [(split.late, split.delay) for split in splits] == [("AUDIO", 12), ("VIDEO", 3)]
    assert document.warnings == ()


@pytest.mark.parametrize(
    ("channels", "tracks"),
    [("V", "V"), ("A", "A1"), ("A2", "A2"), ("AA", "A1 A2"), ("B", "V A1"), ("AA/V", "V A1 A2"),
     ("A2/V", "V A2"), ("A/V", "V A1"), ("A1A2A3", "A1 A2 A3"), ("VA1", "V A1"), ("V2", "V2"),
     ("A12", "A12"), ("NONE", ""), ("X", "")],
)  # fmt: skip
def test_tracks_of_channels(channels: str, tracks: str) -> None:
    assert tracks_of(channels) == set(tracks.split())


def test_the_first_mode_counts_the_record_and_later_ones_the_source() -> None:
    plain = Timebase(VIDEO)
    document = parse_edl(DROP, VIDEO)
    assert document.record_clock == DF30
    assert [event.source_clock for event in document.events] == [DF30, plain, DF30]
    assert {event.record_clock for event in document.events} == {DF30}
    # SMPTE ST 12-1: 00:01:00;02 is frame 1800 in drop frame, 00:01:00:00 in non-drop.
    assert [event.source.start for event in document.events] == [1790, 1800, 1800]
    assert document.warnings == ()


def test_the_mode_wins_over_the_marks() -> None:
    document = parse_edl(DROP.replace("FCM: DROP", "FCM: NON-DROP"), VIDEO)
    assert document.record_clock == Timebase(VIDEO)
    assert document.events[0].source == FrameRange(59 * 30 + 20, 1812)
    assert "the mode is followed" in warned(document)[3][0]


def test_without_a_mode_the_marks_are_followed() -> None:
    text = "\n".join(line for line in DROP.split("\n") if "FCM" not in line and "A2" not in line)
    document = parse_edl(text, VIDEO)
    assert document.record_clock == DF30
    assert document.warnings[0].line == 0
    assert "no frame-code mode" in document.warnings[0].message


def test_drop_frame_at_a_rate_without_it_is_told() -> None:
    document = parse_edl(PLAIN.replace("NON-DROP", "DROP"), FILM)
    assert document.record_clock == Timebase(FILM)
    assert "29.97 and 59.94" in warned(document)[2][0]


ODD = {
    4: ["6 digits", "more than 8 characters"],
    6: ["4 digits", "48 source frames for 24"],
    7: ["sound without source timecode"],
    8: ["starts earlier", "more on its line"],
    9: ["names no reel"],
    10: ["blanks in it"],
    11: ["channels 'X'"],
    12: ["transition without one"],
    13: ["the mode is followed"],
    14: ["crossing midnight"],
    15: ["01:00:00:30 does not exist at 24"],
    16: ["no four timecodes"],
    17: ["no event above it is of reel 'B9'"],
    18: ["without a speed"],
    19: ["without AUDIO or VIDEO"],
    20: ["no sound track"],
    21: ["no single frame-code mode"],
    22: ["unknown kind"],
    23: ["outside 7-bit"],
}


def test_every_oddity_is_told_with_its_line() -> None:
    found = warned(parse_edl(SLOPPY, FILM))
    assert sorted(found) == sorted(ODD)
    for line, wanted in ODD.items():
        said = " / ".join(found[line])
        assert all(words in said for words in wanted), f"line {line}: {said}"
        assert len(found[line]) == len(wanted), f"line {line}: {said}"


def test_what_cannot_be_read_is_kept_and_named() -> None:
    document = parse_edl(SLOPPY, FILM)
    assert [statement.line for statement in document.unread] == [15, 16, 18, 19, 20]
    assert [event.number for event in document.events] == list(range(1, 11))
    assert [event.reel for event in document.events][:6] == [
        "A004C011_230915_R1AB", "A1", "WILD", "A1", "", "TWO REEL",
    ]  # fmt: skip
    assert document.events[3].remainder == "LATE"
    assert document.statements[4].value == "A004.MOV"


@pytest.mark.parametrize("sample", [PLAIN, TRANSITIONS, SPLIT, SLOPPY])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_list_is_written_back_line_by_line(sample: str, end: str) -> None:
    document = parse_edl(sample.replace("\n", end), FILM)
    text = document.written()
    assert text == sample.removeprefix("\ufeff").replace("\n", "\r\n")
    again = parse_edl(text, FILM)
    assert again == document


def test_events_written_in_columns_read_the_same() -> None:
    for sample, rate in ((PLAIN, FILM), (TRANSITIONS, FILM), (DROP, VIDEO), (SLOPPY, FILM)):
        document = parse_edl(sample, rate)
        made = tuple(
            each.placed(each.number, each.source, each.record)
            if isinstance(each, EventLine)
            else each
            for each in document.statements
        )
        again = parse_edl(write_statements(made), rate)
        for event, same in zip(document.events, again.events, strict=True):
            assert event.placed(0, event.source, event.record) == same.placed(
                0, same.source, same.record
            )


def test_lists_in_form_are_written_in_columns_as_they_were_read() -> None:
    for sample, rate in ((PLAIN, FILM), (TRANSITIONS, FILM), (SPLIT, FILM), (DROP, VIDEO)):
        for statement in parse_edl(sample, rate).statements:
            if not isinstance(statement, Carried):
                assert statement.columns() == statement.text


def test_reverse_motion_is_written_in_columns() -> None:
    # Sign in column 20, speed 21-25, trigger 42-52 (columns of public readers, from memory).
    line = Motion(reel="A1", speed=Fraction(-12), trigger=0, source_clock=Timebase(FILM)).columns()
    assert (line[5:13], line[19], line[20:25], line[41:]) == (
        "A1      ", "-", "012.0", "00:00:00:00",
    )  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\r\n\r\n",
        "TITLE: NOTHING\r\nFCM: NON-DROP FRAME\r\n",
        "first_frame,last_frame\r\n1,2\r\n",
        "x" * 10_000_000,
        "\n" * 10_000_000,
        "x\n" * 5_000_000,
        "* \n" * 3_000_000,
        "001  \x00\x01\xff\n" * 900_000,
        "M2" + " " * 990 + "\n" + ("A" + " " * 990 + "\n") * 10_000,
        PLAIN + ("garbage " * 10 + "\n") * 120_000,
        PLAIN + "9 A V C 99:99:99:99 99:99:99:99 99:99:99:99 99:99:99:99\n" * 170_000,
        PLAIN * 60_000,
    ],
    ids=lambda text: f"{text[:8]!r} {len(text)}",
)
def test_garbage_is_refused(text: str) -> None:
    with pytest.raises(ListFormatError):
        parse_edl(text, FILM)


def test_garbage_bytes_are_refused() -> None:
    noise = bytes((7919 * n * n + n) % 256 for n in range(1 << 16)) * 150
    with pytest.raises(ListFormatError):
        parse_edl(noise.decode("latin-1"), FILM)


def test_a_wrong_rate_is_named_as_the_likely_fault() -> None:
    text = "001 A1 V C 01:00:00:24 01:00:01:00 01:00:00:24 01:00:01:00"
    with pytest.raises(ListFormatError, match=r"line 1: .*:24 does not exist at 24.*rate"):
        parse_edl(text, FILM)


def test_a_rate_without_timecode_is_refused() -> None:
    with pytest.raises(RateError):
        parse_edl(PLAIN, Fraction(120))
    with pytest.raises(RateError):
        parse_edl(PLAIN, Fraction(0))


def test_an_overlong_line_is_kept_unread() -> None:
    document = parse_edl(PLAIN + "* " + "x" * 5000 + "\n", FILM)
    assert isinstance(document.unread[0], Unread)
    assert document.written().endswith("x" * 5000 + "\r\n")
