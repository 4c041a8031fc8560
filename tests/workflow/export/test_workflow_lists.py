"""From decisions to files: what is selected, written, refused, and never half-written.

EDLs are read back by OpenTimelineIO's CMX3600 adapter, CSV by the standard library.
"""

from __future__ import annotations

import csv
import io
import os
import sys
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.trim import Proposal
from impactcut.core.viewer.judge import Judge
from impactcut.errors import OutputError, TrimError, UnknownHitError
from impactcut.project import Project, StoredHit
from impactcut.workflow.export.exporting import ExportOptions, ExportReport, export_lists
from impactcut.workflow.files import writing
from impactcut.workflow.files.writing import write_files
from impactcut.workflow.hits.deciding import Signature, Wish, answer_one
from impactcut.workflow.hits.hit_filter import HitFilter, unmatched_paths
from impactcut.workflow.hits.listing import find_hit, list_hits
from impactcut.workflow.hits.removals import select_removals
from impactcut.workflow.reports.status import project_status
from impactcut.workflow.viewers.session import make_session
from tests.helpers.footage.media_files import write_clip
from tests.helpers.projects.answering import add_note, approve, decline
from tests.helpers.projects.kept_clips import keep_clip, keep_proposed
from tests.helpers.projects.project_values import make_clip, make_hit, make_proposal

INES = Signature("Ines")
NTSC = Fraction(30000, 1001)


@pytest.fixture
def project(tmp_path: Path) -> Iterator[Project]:
    """Two clips at 24 and one at 29.97 drop-frame; hits at 60 and 100, 2 frames proposed each."""
    with Project(tmp_path / "night.db", create=True) as opened:
        for name, rate, drop in (
            ("S1_T1_A.mov", Fraction(24), False),
            ("S2_T1_A.mov", Fraction(24), False),
            ("S3_T1_A.mov", NTSC, True),
        ):
            clip = make_clip(
                f"/quay/{name}", rate=rate, drop_frame=drop, section=name[1], reel=f"A00{name[1]}"
            )
            keep_proposed(opened, clip, 60, 100)
        yield opened


def put_proposals(project: Project, *hits: StoredHit) -> None:
    project.store_proposals([(hit, make_proposal(hit.impact.contact)) for hit in hits])


def propose_nothing(project: Project, hit_id: int) -> None:
    nothing = Proposal(make_proposal(60).trims, None, "nothing gained")
    project.store_proposals([(project.hit(hit_id), nothing)])


def export(project: Project, folder: Path, **changes: object) -> ExportReport:
    options = replace(ExportOptions("QUAY NIGHT"), **changes)  # type: ignore[arg-type]
    return export_lists(project, folder, options)


def test_approving_takes_the_proposal_a_count_or_frames(project: Project) -> None:
    cases = [(None, FrameRange(59, 61)), (1, FrameRange(59, 60)), (FrameRange(58, 61),) * 2]
    for choice, expected in cases:
        entry = approve(project, 1, INES, choice)
        assert entry.decision is not None and entry.decision.trim == expected
        assert (entry.decision.who, entry.decision.answer) == ("Ines", "approved")


def test_what_must_not_or_cannot_go_is_refused(project: Project) -> None:
    with pytest.raises(TrimError, match="no frame after the contact"):
        approve(project, 1, INES, FrameRange(60, 63))
    with pytest.raises(TrimError, match="not among its trims"):
        approve(project, 1, INES, FrameRange(10, 11))
    propose_nothing(project, 2)
    with pytest.raises(TrimError, match="nothing gained"):
        approve(project, 2, INES)
    with pytest.raises(UnknownHitError, match="no hit 99"):
        approve(project, 99, INES)
    assert project.history(1) == ()


def test_approved_trims_keep_a_frame_between_them(project: Project, tmp_path: Path) -> None:
    first, second = keep_proposed(project, make_clip("/quay/near.mov"), 100, 102)
    approve(project, first.id, INES, FrameRange(99, 101))
    with pytest.raises(TrimError, match=r"meet or touch the approved trim of hit S2T3B\.1"):
        approve(project, second.id, INES, FrameRange(101, 102))
    selection = select_removals(project, proposed=True)
    assert [refusal.name for refusal in selection.refusals] == ["hit S2T3B.2 in near.mov"]


def test_notes_stay_with_an_answer_until_replaced(project: Project) -> None:
    add_note(project, 1, Signature("Ines", "ask about the crate"))
    assert project.hit(1).decision is not None
    entry = approve(project, 1, Signature("Tomas"))
    assert entry.decision is not None and entry.decision.note == "ask about the crate"
    entry = add_note(project, 1, Signature("Ines", ""))
    assert entry.decision is not None
    assert (entry.decision.answer, entry.decision.note) == ("approved", "")
    assert answer_one(project, 1, Wish("cleared"), INES).decision is None
    assert project.hit(1).decision is None
    assert len(project.history(1)) == 4


def test_filters(project: Project) -> None:
    def listed(**conditions: object) -> list[int]:
        wanted = replace(HitFilter(), **conditions)  # type: ignore[arg-type]
        return [hit.id for clip in list_hits(project, wanted) for hit in clip.hits]

    approve(project, 1, INES)
    decline(project, 2, INES)
    answer_one(project, 3, Wish("later"), INES)
    approve(project, 4, INES, FrameRange(98, 101))
    propose_nothing(project, 5)
    assert listed() == [1, 2, 3, 4, 5, 6]
    assert listed(undecided=True) == [3, 5, 6]
    assert listed(flagged=True) == [4, 5]
    assert listed(section="3", undecided=True) == [5, 6]
    assert listed(paths=(Path("/quay/S2_T1_A.mov"),)) == [3, 4]
    assert listed(paths=(Path("S2_T1_A.mov"), Path("/quay/S3_T1_A.mov"))) == [3, 4, 5, 6]
    assert listed(paths=(Path("/quay"),), section="1") == [1, 2]
    assert listed(late=True) == []
    missing = unmatched_paths(project, [Path("/quay"), Path("/shed"), Path("S2_T1_A.mov")])
    assert missing == (Path("/shed"),)


@pytest.mark.parametrize(("lag", "late"), [(2, False), (3, True), (None, False)])
def test_late_is_more_than_a_tenth_of_a_second(
    project: Project, lag: int | None, late: bool
) -> None:
    """100 ms: where Michotte's launching effect begins to weaken (secondary source)."""
    hit = make_hit(60, reaction=None if lag is None else 60 + lag)
    keep_clip(project, make_clip("/quay/S1_T1_A.mov", rate=Fraction(24)), hit)
    assert bool(find_hit(project, 1).reading.late) is late


def test_nothing_goes_out_unapproved(project: Project, tmp_path: Path) -> None:
    report = export(project, tmp_path / "lists")
    assert report.files == () and report.selection.undecided == 6
    assert not (tmp_path / "lists").exists()


def test_one_list_for_each_rate_read_back_by_others(project: Project, tmp_path: Path) -> None:
    for hit in (1, 2, 3, 5):
        approve(project, hit, INES)
    report = export(project, tmp_path / "lists", formats=("csv", "edl"))
    assert (report.trims, report.refusals) == (4, ())
    assert [path.name for path in report.files] == [
        "QUAY_NIGHT_24.csv",
        "QUAY_NIGHT_24.edl",
        "QUAY_NIGHT_29.97df.csv",
        "QUAY_NIGHT_29.97df.edl",
    ]
    text = (tmp_path / "lists/QUAY_NIGHT_24.edl").read_text("ascii")
    timeline = otio.adapters.read_from_string(text, "cmx_3600", rate=24)
    assert timeline.duration().to_frames() == 2 * 240 - 3 * 2
    rows = list(csv.DictReader(io.StringIO(
        (tmp_path / "lists/QUAY_NIGHT_29.97df.csv").read_bytes().decode("utf-8"), newline=""
    )))  # fmt: skip
    assert len(rows) == 1
    assert (rows[0]["clip"], rows[0]["decision"], rows[0]["who"]) == (
        "S3_T1_A.mov",
        "approved",
        "Ines",
    )


def test_proposals_go_out_on_request_but_never_what_was_declined(
    project: Project, tmp_path: Path
) -> None:
    decline(project, 1, INES)
    approve(project, 2, INES, FrameRange(99, 100))
    propose_nothing(project, 3)
    selection = select_removals(project, proposed=True)
    assert [(r.hit.id, r.frames) for r in selection.removals] == [
        (2, FrameRange(99, 100)),
        (4, FrameRange(99, 101)),
        (5, FrameRange(59, 61)),
        (6, FrameRange(99, 101)),
    ]
    assert len(export(project, tmp_path / "lists", proposed=True, formats=("edl",)).files) == 2


def test_hits_as_shot_are_listed_where_nothing_goes_out(project: Project, tmp_path: Path) -> None:
    approve(project, 1, INES)
    before = export(project, tmp_path / "one", formats=("spotting",))
    assert [path.name for path in before.files] == ["QUAY_NIGHT_24_spotting.csv"]
    assert [clip.name for clip in before.unlisted] == ["S3_T1_A.mov"]
    decline(project, 5, INES)
    both = export(project, tmp_path / "two", formats=("spotting",))
    assert not both.unlisted
    at_2997 = {"QUAY_NIGHT_29.97df_spotting.csv"}
    assert {path.name for path in both.files} - {path.name for path in before.files} == at_2997
    rows = csv.DictReader((tmp_path / "two" / at_2997.pop()).read_text("utf-8").splitlines())
    assert {row["tc_hit"] for row in rows if row["hit"] == "S3T3B.1"} >= {"01:00:02;00"}


def test_lists_for_single_clips(project: Project, tmp_path: Path) -> None:
    keep_proposed(project, make_clip("/shed/S1_T1_A.mov"), 100)
    for hit in (1, 3, 7):
        approve(project, hit, INES)
    report = export(project, tmp_path, per_clip=True, formats=("csv",))
    assert [path.name for path in report.files] == ["S1_T1_A.csv", "S2_T1_A.csv", "S1_T1_A-2.csv"]


def test_approved_frames_that_no_longer_fit_are_refused(project: Project, tmp_path: Path) -> None:
    approve(project, 1, INES)
    approve(project, 2, INES)
    too_near = Proposal((), None, "too near an end")
    project.store_proposals([(project.hit(1), too_near)])
    report = export(project, tmp_path)
    assert report.trims == 1
    (refusal,) = report.refusals
    assert refusal.name == "hit S1T3B.1 in S1_T1_A.mov" and "no longer fit" in refusal.error


def test_list_that_cannot_be_made_does_not_stop_the_others(
    project: Project, tmp_path: Path
) -> None:
    for hit in (1, 5):
        approve(project, hit, INES)
    report = export(project, tmp_path, record_start="00:01:00:00", formats=("edl",))
    assert [path.name for path in report.files] == ["QUAY_NIGHT_24.edl"]
    (refusal,) = report.refusals
    assert "00:01:00:00 does not exist" in refusal.error


def test_clips_above_a_hundred_frames_a_second_are_told_how_they_come_into_lists(
    project: Project, tmp_path: Path
) -> None:
    clip = make_clip("/quay/S4_T1_A.mov", rate=Fraction(120), source_start=432_007)
    (hit, *_) = keep_proposed(project, clip, 60)
    approve(project, hit.id, INES)
    report = export(project, tmp_path / "out")
    assert not report.files
    (refusal,) = report.refusals
    assert refusal.name == "QUAY_NIGHT_120" and refusal.error.endswith("120 frames a second")
    assert "'impactcut scan FILE --rate 24'" in refusal.remedy


def test_a_format_that_cannot_be_made_does_not_stop_the_others(
    project: Project, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where OpenTimelineIO is not installed."""
    monkeypatch.setitem(sys.modules, "opentimelineio", None)
    approve(project, 1, INES)
    report = export(project, tmp_path, formats=("otio", "edl", "csv"))
    assert [path.suffix for path in report.files] == [".edl", ".csv"] and report.trims == 1
    (refusal,) = report.refusals
    assert refusal.name == "QUAY_NIGHT_24 (otio)"
    assert "install 'opentimelineio" in refusal.error


def test_files_are_never_replaced_unasked(project: Project, tmp_path: Path) -> None:
    approve(project, 1, INES)
    export(project, tmp_path / "lists", formats=("edl",))
    edl = tmp_path / "lists/QUAY_NIGHT_24.edl"
    edl.write_text("somebody's own")
    with pytest.raises(OutputError, match=r"QUAY_NIGHT_24\.edl.*--force"):
        export(project, tmp_path / "lists")
    assert [path.name for path in edl.parent.iterdir()] == [edl.name]
    assert edl.read_text() == "somebody's own"
    export(project, tmp_path / "lists", force=True)
    assert edl.read_text().startswith("TITLE: QUAY NIGHT")


def test_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.edl").write_bytes(b"old")
    real, calls = os.fsync, []

    def fill_up(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        real(handle)

    monkeypatch.setattr(writing.os, "fsync", fill_up)
    with pytest.raises(OutputError, match="No space left"):
        write_files(tmp_path, {"a.edl": b"new", "b.csv": b"new"}, replace=True)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a.edl": b"old"}


def test_footage_and_projects_are_never_replaced(project: Project, tmp_path: Path) -> None:
    film, clip, kept = tmp_path / "film.mp4", tmp_path / "clip.mp4", project.path
    make_session(tmp_path, 1, 1, Judge(), lambda done, of: None)
    (tmp_path / "pair_001.mp4").rename(film)
    write_clip(clip, frames=4)
    before = {path: path.read_bytes() for path in (clip, kept)}
    for path, what in ((clip, "is a film that impactcut did not make"), (kept, "is a project")):
        with pytest.raises(OutputError, match=f"{path.name}: {what}, which is never replaced"):
            write_files(path.parent, {path.name: b"new", "b.csv": b"new"}, replace=True)
    assert {path: path.read_bytes() for path in before} == before
    assert not (tmp_path / "b.csv").exists()
    write_files(tmp_path, {film.name: b"new"}, replace=True)
    assert film.read_bytes() == b"new"


def test_what_a_killed_process_left_is_cleared_away(tmp_path: Path) -> None:
    names = (".a.edl.0011aabb.part", ".b.edl.0011aabb.part", ".a.edl.2233ccdd.part", "a.edl.part")
    for name in names:
        (tmp_path / name).write_bytes(b"half")
    for name in (names[0], names[1], names[3]):
        os.utime(tmp_path / name, (1e9, 1e9))
    write_files(tmp_path, {"a.edl": b"new"}, replace=False)
    assert {path.name for path in tmp_path.iterdir()} == {"a.edl", *names[1:]}


def test_place_that_is_no_folder_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="cannot be written"):
        write_files(tmp_path / "file", {"a.edl": b"new"}, replace=False)


def test_status_counts_and_names_what_failed_and_what_hangs(project: Project) -> None:
    project.store_failure("/quay/broken.mov", None, "{}", "is cut short", "copy it again")
    approve(project, 1, INES)
    decline(project, 2, INES)
    answer_one(project, 3, Wish("later"), INES)
    project.drop_hit(1)
    held = project_status(project)
    assert (held.clips, held.hits) == (3, 5)
    assert held.answers == {"declined": 1, "later": 1}
    assert [clip.path for clip in held.failed] == ["/quay/broken.mov"]
    (orphan,) = held.orphans
    assert (orphan.clip.name, orphan.entry.contact) == ("S1_T1_A.mov", 60)


def test_a_link_that_leads_nowhere_is_something_there(tmp_path: Path) -> None:
    link = tmp_path / "a.edl"
    link.symlink_to(tmp_path / "gone.edl")
    with pytest.raises(OutputError, match="already there"):
        write_files(tmp_path, {"a.edl": b"new"}, replace=False)
    assert link.is_symlink()
