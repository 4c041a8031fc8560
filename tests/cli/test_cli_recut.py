"""`impactcut recut`, and lists that `impactcut export` writes, as a person uses them."""

from __future__ import annotations

import csv
import re
import shutil
import sys
import zipfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest

from impactcut.core.time.frames import FrameRange
from impactcut.lists.tables.change_list_csv import parse_change_csv
from impactcut.project import Project
from tests.helpers.projects import quay_project
from tests.helpers.projects.quay_project import CLOSE, WIDE, make_quay_project
from tests.helpers.running.commands import Run, run_command


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("IMPACTCUT_PROJECT", "night.db")

    return run_command


@pytest.fixture
def quay(run: Run, tmp_path: Path) -> Run:
    make_quay_project(tmp_path / "night.db")
    return run


def listed(text: str, name: str = "in.edl") -> str:
    Path(name).write_text(text.replace("\n", "\r\n"), "utf-8", newline="")
    return name


ONE = (
    "TITLE: QUAY\nFCM: NON-DROP FRAME\n"
    "001  A004C011 V     C        01:02:11:00 01:02:13:00 01:00:00:00 01:00:02:00\n"
)


def test_done_is_0_and_the_files_are_named(quay: Run) -> None:
    result = quay("recut", listed(ONE), "out/new.edl", "--rate", "24", "--title", "NIGHT 2")
    assert result.exit_code == 0, result.output
    assert [Path(line).name for line in result.stdout.splitlines()] == [
        "new.edl", "new_changes.csv", "new_spotting.csv"
    ]  # fmt: skip
    assert "1 trim made; the new cut is 2 frames shorter; not in the list: 2 trims" in result.stderr
    text = Path("out/new.edl").read_bytes().decode("ascii")
    assert text.startswith("TITLE: NIGHT 2\r\n")
    changes = parse_change_csv(Path("out/new_changes.csv").read_bytes().decode("utf-8"))
    assert (changes.old_title, changes.new_title) == ("QUAY", "NIGHT 2")
    assert (changes.old_length, changes.new_length) == (48, 46)


@pytest.mark.parametrize("head", ["", "\n* SECOND PASS\n", "TITLE:\n"])
def test_a_list_without_a_title_gets_one_on_top(quay: Run, head: str) -> None:
    text = ONE.replace("TITLE: QUAY\n", head)
    assert quay("recut", listed(text), "new.edl", "--rate", "24").exit_code == 0
    new = Path("new.edl").read_text("ascii")
    assert new.startswith("TITLE: in TRIMMED\n") and new.count("TITLE:") == 1
    assert new.count("* SECOND PASS") == head.count("* SECOND PASS")
    quay("recut", "in.edl", "new.edl", "--rate", "24", "--title", "NIGHT 2", "--force")
    assert Path("new.edl").read_text("ascii").startswith("TITLE: NIGHT 2\n")


@pytest.mark.parametrize("title", ["", "  ", "\t"])
@pytest.mark.parametrize(
    "command", [("recut", "in.edl", "new.edl", "--rate", "24"), ("export", "lists")]
)
def test_an_empty_title_is_refused(quay: Run, command: tuple[str, ...], title: str) -> None:
    listed(ONE)
    result = quay(*command, "--title", title)
    assert result.exit_code == 2 and "the title is empty; write one" in result.stderr
    assert not Path("new.edl").exists() and not Path("lists").exists()


def test_sound_without_timecode_has_a_way_out_and_its_drift_is_said(quay: Run) -> None:
    sound = "002  AX       A     C        00:00:00:00 00:00:00:00 01:00:00:00 01:00:02:00\n"
    name = listed(ONE + sound)
    result = quay("recut", name, "new.edl", "--rate", "24")
    assert result.exit_code == 2
    assert "event 2 has no source timecode; leave sound whole (--whole-sound)" in result.stderr
    result = quay("recut", name, "new.edl", "--rate", "24", "--whole-sound")
    assert result.exit_code == 0
    assert "against sound of other sources in event 2, by up to 2 frames" in result.stderr


def test_split_sound_that_a_held_shot_leaves_behind_is_named(quay: Run) -> None:
    text = ONE + (
        "002  A004C011 A     C        01:02:13:00 01:02:14:00 01:00:02:00 01:00:03:00\n"
        "003  X9       V     C        02:00:00:00 02:00:01:00 01:00:02:00 01:00:03:00\n"
    )
    result = quay("recut", listed(text), "new.edl", "--rate", "24", "--hold", "tail")
    assert result.exit_code == 0, result.output
    assert (
        "sound of event 2 (A1), which lies under other shots, is 2 frames late from 01:00:02:00 "
        "to 01:00:03:00: in sync by ITU-R BT.1359-1"
    ) in result.stderr


def test_hits_and_events_that_find_no_match_are_named(quay: Run) -> None:
    times = "00:00:00:00 00:00:01:00 01:00:0{0}:00 01:00:0{1}:00\n"
    text = ONE + "".join(
        f"{at:03d}  {reel:<8} V     C        {times.format(at, at + 1)}"
        for at, reel in [(2, "X9"), (3, "X9"), (4, "BL"), (5, "X9"), (6, "AX")]
    )
    result = quay("recut", listed(text), "new.edl", "--rate", "24")
    assert result.exit_code == 0, result.output
    assert "project, so not looked at for hits: X9 (events 2-3, 5); AX (event 6)\n" in result.stderr
    assert (
        "not in the list: hit S12T2A.2 in S12_T2_A.mov, hit S12T3B.1 in S12_T3_B.mov\n"
        in result.stderr
    )


def test_quiet_leaves_the_files(quay: Run) -> None:
    result = quay("recut", listed(ONE), "new.edl", "--rate", "24", "--quiet")
    assert len(result.stdout.splitlines()) == 3 and not result.stderr


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("missing.edl", "new.edl", "--rate", "24"), "missing.edl: cannot be read (No such file"),
        (("in.edl", "new.edl", "--rate", "fast"), "'fast' is not a frame rate"),
        (("in.edl", "new.edl", "--rate", "120"), "too few for 120 frames a second"),
        (("in.edl", "in.edl", "--rate", "24"), "is the list to be recut"),
        (("in.edl", "new.edl", "--rate", "24", "--reels", "no.csv"), "no.csv: cannot be read"),
        (("in.edl", "new.edl"), "Missing option '--rate'"),
        (("in.edl", "new.edl", "--rate", "24", "--hold", "both"), "is not one of"),
        ((".", "new.edl", "--rate", "24"), "directory"),
    ],
)
def test_wrong_use_is_2_and_says_what_to_do(
    quay: Run, arguments: tuple[str, ...], told: str
) -> None:
    listed(ONE)
    result = quay("recut", *arguments)
    assert result.exit_code == 2 and told in result.stderr
    assert not Path("new.edl").exists()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("nothing here\n", "in.edl: the text holds no event; is it an EDL?"),
        (ONE + "002  A004C011 V C 01:02:11:24 01:02:12:00 01:00:02:00 01:00:03:00\n",
         "in.edl: line 4 01:02:11:24 does not exist at 24"),
    ],
)  # fmt: skip
def test_a_list_that_is_not_understood_is_refused(quay: Run, text: str, told: str) -> None:
    result = quay("recut", listed(text), "new.edl", "--rate", "24")
    assert result.exit_code == 2 and told in result.stderr
    assert not Path("new.edl").exists()


def test_a_list_at_another_rate_names_the_clips_rate(quay: Run) -> None:
    result = quay("recut", listed(ONE), "new.edl", "--rate", "25")
    assert result.exit_code == 2
    assert "left out event 1: names S12_T2_A.mov, which counts 24, while the list counts 25" in (
        result.stderr
    )


def test_a_reel_map_names_the_clip(quay: Run) -> None:
    text = ONE.replace("A004C011", "REEL7   ")
    assert quay("recut", listed(text), "new.edl", "--rate", "24").exit_code == 2
    Path("reels.csv").write_text(
        "reel_or_clip_name,project_clip\r\nreel7,S12_T2_A.mov\r\n", "utf-8-sig"
    )
    result = quay("recut", "in.edl", "new.edl", "--rate", "24", "--reels", "reels.csv")
    assert result.exit_code == 0
    assert Path("new.edl").read_text("ascii").count("REEL7") == 2
    Path("reels.csv").write_text("reel_or_clip_name,project_clip\r\nreel7,OTHER.mov\r\n")
    result = quay("recut", "in.edl", "new.edl", "--rate", "24", "--reels", "reels.csv", "--force")
    assert result.exit_code == 2
    assert "reels.csv: OTHER.mov names no measured clip of the project" in result.stderr


def test_without_approved_trims_nothing_is_written(run: Run, tmp_path: Path) -> None:
    make_quay_project(tmp_path / "night.db", CLOSE)
    result = run("recut", listed(ONE), "new.edl", "--rate", "24")
    assert result.exit_code == 2
    assert "it shows none of 1 trim; nothing was written" in result.stderr


def test_assumed_timecode_and_a_stated_count_are_said(run: Run, tmp_path: Path) -> None:
    clip = replace(WIDE, source_start=0, timecode_source="assumed")
    make_quay_project(tmp_path / "night.db", clip)
    text = ONE.replace("01:02:1", "00:00:0")
    result = run("recut", listed(text), "new.edl", "--rate", "24")
    assert result.exit_code == 0
    assert "no timecode in S12_T2_A.mov: 00:00:00:00 was assumed" in result.stderr
    assert "source timecode assumed" in Path("new_changes.csv").read_text("utf-8")


def test_a_drop_frame_rate_does_not_overrule_the_list(run: Run, tmp_path: Path) -> None:
    clip = replace(WIDE, rate=Fraction(30000, 1001))
    make_quay_project(tmp_path / "night.db", clip)
    start = "00:49:44:24 00:49:47:00"
    text = ONE.replace("01:02:11:00 01:02:13:00", start).replace("01:00:02:00", "01:00:02:06")
    result = run("recut", listed(text), "new.edl", "--rate", "29.97df")
    assert result.exit_code == 0, result.output
    assert "drop-frame was stated, but the list counts non-drop" in result.stderr


def test_bytes_that_are_no_utf_8_come_back_as_they_were(quay: Run) -> None:
    Path("in.edl").write_bytes(ONE.encode() + b"* K\xe4I LANDS\r\n")
    result = quay("recut", "in.edl", "new.edl", "--rate", "24")
    assert result.exit_code == 0
    assert Path("new.edl").read_bytes().count(b"* K\xe4I LANDS\r\n") == 2
    assert "holds characters outside 7-bit ASCII" in result.stderr


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_a_list_in_wide_characters_is_read_or_its_encoding_named(quay: Run, encoding: str) -> None:
    marks = {"utf-16-be": b"\xfe\xff"}
    text = ONE + "* K\xe4I LANDS\r\n"
    Path("in.edl").write_bytes(marks.get(encoding, b"") + text.encode(encoding))
    result = quay("recut", "in.edl", "new.edl", "--rate", "24")
    if encoding == "utf-16-le":  # without its mark
        assert result.exit_code == 2
        assert "in.edl: looks like UTF-16" in result.stderr
        assert "save it as plain text" in result.stderr
        return
    assert result.exit_code == 0, result.output
    assert f"the list is written as UTF-8; it was {encoding[:6].upper()}" in result.stderr
    lines = Path("new.edl").read_bytes().decode("utf-8").split("\r\n")
    assert lines[0] == "TITLE: QUAY TRIMMED" and lines.count("* K\xe4I LANDS") == 2


def test_a_clip_whose_timecode_track_counts_frame_pairs(run: Run, tmp_path: Path) -> None:
    # The track says 00:00:10:12 at 25 pairs a second; every frame has its own label at 50, so
    # frame 0 is 00:00:10:24 (SMPTE ST 12-1 counts 00 to 24 twice for 50 frames; see
    # test_probe for the reading of such a file).
    start = (10 * 25 + 12) * 2
    clip = replace(WIDE, rate=Fraction(50), source_start=start)
    make_quay_project(tmp_path / "night.db", clip)
    text = (
        "TITLE: QUAY\nFCM: NON-DROP FRAME\n"
        "001  A004C011 V     C        00:00:10:24 00:00:12:24 01:00:00:00 01:00:02:00\n"
    )
    assert run("recut", listed(text), "new.edl", "--rate", "50").exit_code == 0
    lines = Path("new.edl").read_text("ascii").splitlines()
    # Frames 46 and 47 go: 00:00:10:24 and 46 frames are 00:00:11:20.
    assert lines[2].endswith("00:00:10:24 00:00:11:20 01:00:00:00 01:00:00:46")
    assert lines[3].endswith("00:00:11:22 00:00:12:24 01:00:00:46 01:00:01:48")


def test_proposals_are_taken_when_asked_for(run: Run, tmp_path: Path) -> None:
    path = make_quay_project(tmp_path / "night.db")
    with Project(path) as project:
        for clip in project.clips():
            for hit in project.hits(clip.id):
                assert hit.decision is not None
                run("decide", hit.id, "--clear")
    assert run("recut", listed(ONE), "new.edl", "--rate", "24").exit_code == 2
    assert run("recut", "in.edl", "new.edl", "--rate", "24", "--proposed").exit_code == 0
    assert "hit S12T2A.1, proposed" in Path("new_changes.csv").read_text("utf-8")


def test_export_writes_all_lists_and_each_alone(quay: Run) -> None:
    forms = ("changes", "spotting", "otio")
    for form in forms:  # each alone is a first version, too
        shutil.copy("night.db", f"{form}.db")
    result = quay("export", "lists", "--title", "QUAY NIGHT")
    assert result.exit_code == 0
    assert sorted(path.name for path in Path("lists").iterdir()) == [
        "QUAY_NIGHT_24.csv", "QUAY_NIGHT_24.edl", "QUAY_NIGHT_24.otio",
        "QUAY_NIGHT_24_changes.csv", "QUAY_NIGHT_24_hits.wav", "QUAY_NIGHT_24_spotting.csv",
    ]  # fmt: skip
    for form in forms:
        alone = ("export", form, "--only", form, "--title", "QUAY NIGHT", "--project", f"{form}.db")
        assert quay(*alone).exit_code == 0
        (written,) = Path(form).iterdir()
        assert written.read_bytes() == (Path("lists") / written.name).read_bytes()
        assert quay(*alone).exit_code == 2


def test_clip_names_that_an_edl_cannot_hold_are_said_once_and_kept_elsewhere(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    clip = replace(WIDE, name="Käi_Nacht.mov", path="/quay/Käi_Nacht.mov")
    trims = [(clip, FrameRange(46, 48)), (clip, FrameRange(90, 91)), (WIDE, FrameRange(46, 48))]
    monkeypatch.setattr(quay_project, "TRIMS", trims)
    make_quay_project(tmp_path / "night.db", clip, WIDE)
    result = run("export", "lists", "--only", "edl,csv,otio", "--title", "Q")
    assert result.exit_code == 0, result.output
    assert result.stderr.count("Käi_Nacht.mov is written Kai_Nacht.mov in Q_24.edl") == 1
    assert result.stderr.count("is written") == 1
    for kept in ("Q_24.csv", "Q_24.otio"):
        assert "Käi_Nacht.mov" in (tmp_path / "lists" / kept).read_text("utf-8"), kept


def test_export_marks_every_hit_in_the_timeline(quay: Run) -> None:
    quay("export", "lists", "--only", "otio", "--title", "Q")
    timeline = otio.adapters.read_from_file("lists/Q_24.otio")
    names = [marker.name for clip in timeline.find_clips() for marker in clip.markers]
    assert [name for name in names if name.startswith("hit")] == [
        "hit S12T2A.1", "hit S12T2A.2", "hit S12T3B.1"
    ]  # fmt: skip
    assert [name for name in names if name.startswith("splice")] == [
        "splice of hit S12T2A.1", "splice of hit S12T2A.2", "splice of hit S12T3B.1"
    ]  # fmt: skip
    assert [track.name for track in timeline.tracks] == ["V1", "A1", "A2"]
    assert quay("export", "lists", "--only", "marks", "--title", "Q").exit_code == 0
    text = Path("lists/Q_24_marks.csv").read_text("utf-8")
    assert text.count(",contact,") == text.count(",splice,") == 3
    assert timeline.duration().to_frames() == WIDE.frames + CLOSE.frames - 6


def in_frames(start: int, length: int) -> otio.opentime.TimeRange:
    time = otio.opentime.RationalTime
    return otio.opentime.TimeRange(time(start, 24), time(length, 24))


def laid_out(name: str = "cut.otio") -> otio.schema.Timeline:
    """A nested shot of the wide clip under a shot of somebody else's, with sound, from 01:00."""
    shot = otio.schema.Clip("shot", source_range=in_frames(WIDE.source_start + 24, 48))
    shot.media_reference = otio.schema.ExternalReference("file:///cards/S12_T2_A.mov")
    other = otio.schema.Clip("gulls", source_range=in_frames(0, 60))
    sound = otio.schema.Clip("shot", shot.media_reference.deepcopy(), shot.source_range)
    nest = otio.schema.Stack("fight", [otio.schema.Track("", [shot])])
    timeline = otio.schema.Timeline(
        "QUAY", global_start_time=otio.opentime.RationalTime(86_400, 24)
    )
    kinds = otio.schema.TrackKind
    timeline.tracks.extend([
        otio.schema.Track("", [nest], kind=kinds.Video),
        otio.schema.Track("", [other], kind=kinds.Video),
        otio.schema.Track("", [sound], kind=kinds.Audio),
    ])  # fmt: skip
    otio.adapters.write_to_file(timeline, name)
    return timeline


def test_a_timeline_is_recut_with_its_lists(quay: Run) -> None:
    laid_out()
    result = quay("recut", "cut.otio", "out/new.otio", "--title", "KAI 2 – Nacht")
    assert result.exit_code == 0, result.output
    assert [Path(line).name for line in result.stdout.splitlines()] == [
        "new.otio", "new_changes.csv", "new_spotting.csv"
    ]  # fmt: skip
    assert "1 trim made; the new cut is 2 frames shorter; not in the list: 2 trims" in result.stderr
    assert "so not looked at for hits: gulls (event 1)" in result.stderr
    new = otio.adapters.read_from_file("out/new.otio")
    assert new.name == "KAI 2 – Nacht" and "ASCII" not in result.stderr
    for track in (new.tracks[0][0][0], new.tracks[2]):
        # Frames 46 and 47 of the clip go.
        assert [shot.source_range for shot in track] == [
            in_frames(WIDE.source_start + 24, 22), in_frames(WIDE.source_start + 48, 24)
        ]  # fmt: skip
    changes = parse_change_csv(Path("out/new_changes.csv").read_bytes().decode("utf-8"))
    assert {(*each.tracks, each.record.start, each.frames) for each in changes.adjustments} == {
        (track, 86_422, 2) for track in ("V2", "V3", "A1")
    }
    cues = csv.DictReader(Path("out/new_spotting.csv").read_text("utf-8").splitlines())
    # The contact is on frame 47, which went: 22 frames of the shot are left before the splice.
    assert "01:00:00:22" in {cue["tc_hit"] for cue in cues}


def test_a_timeline_that_counts_from_0_is_recut_and_the_count_named(quay: Run) -> None:
    timeline = laid_out()
    for shot in timeline.find_clips():
        if shot.name == "shot":
            shot.source_range = in_frames(24, 48)
    otio.adapters.write_to_file(timeline, "cut.otio")
    result = quay("recut", "cut.otio", "new.otio")
    assert result.exit_code == 0, result.output
    told = "counts S12_T2_A.mov from 0 and not by its timecode, which begins at 01:02:10:00"
    assert " ".join(result.stderr.split()).count(told) == 1
    shots = otio.adapters.read_from_file("new.otio").tracks[2]
    assert [shot.source_range for shot in shots] == [in_frames(24, 22), in_frames(48, 24)]


def test_a_bundle_is_recut_with_its_media(quay: Run, tmp_path: Path) -> None:
    media = {}
    for name in ("S12_T2_A.mov", "gulls.mov"):
        media[name] = name.encode() * 500
        (tmp_path / name).write_bytes(media[name])
    timeline = laid_out()
    for shot in timeline.find_clips():
        name = "gulls.mov" if shot.name == "gulls" else "S12_T2_A.mov"
        shot.media_reference = otio.schema.ExternalReference((tmp_path / name).as_uri())
    otio.adapters.write_to_file(timeline, "cut.otioz")
    result = quay("recut", "cut.otioz", "new.otioz")
    assert result.exit_code == 0, result.output
    (tmp_path / "opened").mkdir()
    new = otio.adapters.otioz.read_from_file("new.otioz", extract_to_directory="opened")
    for name, content in media.items():
        (copy,) = (tmp_path / "opened").rglob(name)
        assert copy.read_bytes() == content
    shots = list(new.find_clips())
    assert {shot.media_reference.target_url for shot in shots} == {
        "media/S12_T2_A.mov", "media/gulls.mov"
    }  # fmt: skip
    assert quay("recut", "cut.otio", "alone.otio").exit_code == 0
    alone = otio.adapters.read_from_file("alone.otio")
    assert [shot.source_range for shot in alone.find_clips()] == [s.source_range for s in shots]
    names = [marker.name for shot in shots for marker in shot.markers]
    assert names == ["hit S12T2A.1", "splice of hit S12T2A.1"]
    # Marks of this program's are not brought in as somebody's.
    assert quay("add", "--from", "new.otioz").exit_code == 2


def test_a_bundle_that_is_none_is_named(quay: Run, tmp_path: Path) -> None:
    laid_out()
    (tmp_path / "cut.otioz").write_bytes(Path("cut.otio").read_bytes())
    with zipfile.ZipFile("bare.otioz", "w") as bundle:
        bundle.writestr("version.txt", "1.0.0")
    for name, why in [
        ("cut.otioz", "is no bundle of a timeline and its media"),
        ("bare.otioz", "no item named 'content.otio'"),
        ("gone.otioz", "cannot be read (No such file or directory)"),
    ]:
        result = quay("recut", name, "new.otioz")
        assert result.exit_code == 2 and f"{name}: " in result.stderr and why in result.stderr
    result = quay("recut", "cut.otioz", "new.otio")
    assert result.exit_code == 2 and "name it new.otioz" in result.stderr
    assert quay("recut", "cut.otio", "new.otioz").exit_code == 2


def test_a_timeline_that_holds_its_length(quay: Run) -> None:
    old = laid_out()
    result = quay("recut", "cut.otio", "new.otio", "--hold", "tail")
    assert result.exit_code == 0, result.output
    assert otio.adapters.read_from_file("new.otio").duration() == old.duration()
    assert "the new cut is as long as before;" in result.stderr


def test_clips_that_are_switched_off_are_said(quay: Run) -> None:
    timeline = laid_out()
    timeline.tracks[0][0].enabled = False
    otio.adapters.write_to_file(timeline, "cut.otio")
    result = quay("recut", "cut.otio", "new.otio")
    assert result.exit_code == 2
    assert "switched off, so not looked at for hits: 1 clip\n" in result.stderr
    assert re.search(r"not in the list: hit S12T2A\.1 in S12_T2_A\.mov", result.stderr)


def test_a_refusal_in_a_timeline_says_which_clip_its_number_means(quay: Run) -> None:
    timeline = laid_out()
    timeline.tracks[1][0].effects.append(otio.schema.FreezeFrame())
    otio.adapters.write_to_file(timeline, "cut.otio")
    result = quay("recut", "cut.otio", "new.otio", "--dry-run")
    assert result.exit_code == 2 and not Path("new.otio").exists()
    assert "event 1 does not run at its own speed (FreezeFrame)" in result.stderr
    assert (
        "event 1 is gulls at 01:00:00:00 on V2; "
        "event 3 is S12_T2_A.mov at 01:00:00:00 on V3, nested"
    ) in result.stderr


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("cut.otio", "new.edl"), "new.edl: is named as another kind of file than cut.otio; name "),
        (("in.edl", "new.otio", "--rate", "24"), "name it new.edl"),
        (("cut.otio", "new.otio", "--rate", "25"), "cut.otio: counts 24 frames a second, not 25"),
        (("none.otio", "new.otio"), "none.otio: cannot be read (No such file"),
        (("bad.otio", "new.otio"), "bad.otio: cannot be read as OpenTimelineIO JSON"),
        (("later.otio", "new.otio"), "later.otio: is of a newer schema than the OpenTimelineIO"),
        (("latin.otio", "new.otio"), "latin.otio: is not UTF-8, as JSON is"),
        (("sounds.otio", "new.otio", "--whole-sound"), "sounds.otio: sound in nested stacks"),
    ],
)
def test_timelines_that_cannot_be_recut(quay: Run, arguments: tuple[str, ...], told: str) -> None:
    listed(ONE)
    laid_out()
    Path("bad.otio").write_text(ONE)
    Path("later.otio").write_text('{"OTIO_SCHEMA": "Timeline.99"}')
    Path("latin.otio").write_bytes('{"ä": 1}'.encode("latin-1"))
    nested = laid_out("sounds.otio")
    nested.tracks[0][0][0].kind = otio.schema.TrackKind.Audio
    otio.adapters.write_to_file(nested, "sounds.otio")
    result = quay("recut", *arguments)
    assert result.exit_code == 2 and told in result.stderr
    assert not Path("new.otio").exists() and not Path("new.edl").exists()


def test_without_the_extra_a_timeline_names_the_remedy(
    quay: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    laid_out()
    monkeypatch.setitem(sys.modules, "opentimelineio", None)
    result = quay("recut", "cut.otio", "new.otio")
    assert result.exit_code == 2
    assert "cut.otio: a timeline needs OpenTimelineIO; install it" in result.stderr


def test_a_title_that_an_edl_cannot_hold_is_said_once(quay: Run) -> None:
    result = quay("recut", listed(ONE), "new.edl", "--rate", "24", "--title", "KÄI 2")
    assert result.stderr.count("the title KÄI 2 is written KAI 2, in ASCII") == 1
    assert Path("new.edl").read_text("ascii").startswith("TITLE: KAI 2\n")


def test_picture_that_is_shorter_than_whole_sound_is_told(quay: Run) -> None:
    sound = "002  AX       A     C        00:00:00:00 00:00:02:00 01:00:00:00 01:00:02:00\n"
    result = quay("recut", listed(ONE + sound), "new.edl", "--rate", "24", "--whole-sound")
    assert "the new cut is as long as before, its picture 2 frames shorter;" in result.stderr


def test_a_timeline_counts_drop_frame_where_its_clips_do(run: Run, tmp_path: Path) -> None:
    rate = Fraction(30000, 1001)
    start = otio.opentime.from_timecode("01:09:59;20", float(rate)).to_frames()
    make_quay_project(
        tmp_path / "night.db", replace(WIDE, rate=rate, drop_frame=True, source_start=start)
    )
    time = otio.opentime.RationalTime
    shown = otio.opentime.TimeRange(time(start, float(rate)), time(90, float(rate)))
    timeline = otio.schema.Timeline("QUAY")
    timeline.tracks.append(
        otio.schema.Track("", [otio.schema.Clip("S12_T2_A.mov", source_range=shown)])
    )
    otio.adapters.write_to_file(timeline, "cut.otio")
    assert run("recut", "cut.otio", "new.otio").exit_code == 0
    (row,) = csv.DictReader(Path("new_changes.csv").read_text("utf-8").splitlines())
    # Frame 46, and 00:00:01;16, after 46 frames; 01:10 leaves no label out (SMPTE ST 12-1).
    assert (row["source_first"], row["record_old_in"]) == ("01:10:01;06", "00:00:01;16")
    (first, second) = otio.adapters.read_from_file("new.otio").tracks[0]
    assert second.source_range.start_time.to_timecode(float(rate), True) == "01:10:01;08"
    assert first.source_range.duration.to_frames() == 46


def test_a_reel_map_names_the_clip_of_a_timeline(quay: Run) -> None:
    timeline = laid_out()
    for shot in timeline.find_clips():
        if shot.name == "shot":
            shot.media_reference.target_url = "file:///cards/fight%20one.mxf"
    otio.adapters.write_to_file(timeline, "cut.otio")
    assert quay("recut", "cut.otio", "new.otio").exit_code == 2
    Path("reels.csv").write_text("reel_or_clip_name,project_clip\r\nfight one.mxf,S12_T2_A.mov\r\n")
    result = quay("recut", "cut.otio", "new.otio", "--reels", "reels.csv")
    assert result.exit_code == 0, result.output
    assert "1 trim made" in result.stderr
