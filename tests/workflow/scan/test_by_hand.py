"""Hits by hand: on the frame of the contact, kept through every scan, and taken back whole.

The clip is a physics engine's (pymunk), whose collision times say where contacts are.
"""

from __future__ import annotations

import json
import os
import shutil
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import Result

from impactcut.core.detect.mark import SNAP
from impactcut.core.detect.spot import Spot
from impactcut.core.fight.entries import HitEntry
from impactcut.errors import LostProcessError
from impactcut.project import Project
from impactcut.workflow.hits.deciding import Signature
from impactcut.workflow.hits.listing import find_hit
from impactcut.workflow.hits.undo_history import history, undo
from impactcut.workflow.scan import at_mark
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis, analyse_clip
from impactcut.workflow.scan.by_hand import Place, add_hits, frame_of, move_hit
from impactcut.workflow.scan.scanning import ScanReport
from impactcut.workflow.workers.this_machine import OtherProcesses
from tests.helpers.footage.physics_scenes import film, two_bounces
from tests.helpers.footage.true_spots import spotter
from tests.helpers.projects.answering import approve, decline
from tests.helpers.running.commands import run_command
from tests.helpers.running.this_process import ThisProcess
from tests.helpers.running.watched_scans import run

ANNA, TOM = Signature("Anna"), Signature("Tom")
RATE = Fraction(25)
ANALYSED: dict[tuple[bytes, tuple[Spot, ...]], ClipAnalysis] = {}
"""What was measured already, by the file's content and the spots that were seen."""
add_command = sys.modules["impactcut.cli.hits.by_hand"]


@pytest.fixture(scope="module")
def bounce(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[int]]:
    """A clip of a ball that bounces, and the frames of its contacts."""
    path = tmp_path_factory.mktemp("bounce") / "S2_T1_A.mp4"
    return path, film(path, two_bounces(), RATE)


@pytest.fixture(autouse=True)
def in_this_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands measure here, which is quicker."""
    monkeypatch.setattr(add_command, "local_executor", lambda *limits: ThisProcess())


@pytest.fixture
def clip(bounce: tuple[Path, list[int]], tmp_path: Path) -> Path:
    return Path(shutil.copy(bounce[0], tmp_path / "S2_T1_A.mp4"))


@pytest.fixture
def truth(bounce: tuple[Path, list[int]]) -> list[int]:
    return bounce[1]


def scan(project: Project, *paths: Path, spots: tuple[Spot, ...] = ()) -> ScanReport:
    """Scan with a spotter that sees those and no others."""

    def analyse(path: Path, *_: object) -> ClipAnalysis:
        seen = (path.read_bytes(), spots)
        if seen not in ANALYSED:
            ANALYSED[seen] = analyse_clip(path, AnalysisSettings(), find=spotter(spots))
        return replace(ANALYSED[seen], clip=replace(ANALYSED[seen].clip, path=str(path)))

    return run(project, *paths, analyse=analyse, again=True)


def spot(frame: int, chance: float = 0.9) -> Spot:
    return Spot(float(frame), frame, chance, (0.5, 0.4))


def add(project: Project, *frames: int, exact: bool = False) -> list[HitEntry]:
    places = [Place(1, frame) for frame in frames]
    marked = add_hits(project, places, ANNA, exact)
    assert all(each.error is None for each in marked), marked
    return [each.entry for each in marked if each.entry is not None]


def contacts(project: Project) -> dict[int, str]:
    """Whose hits there are, by contact; empty for those found."""
    return {hit.impact.contact: hit.by_hand for hit in project.hits(1)}


def named(project: Project, number: int) -> str:
    return find_hit(project, number).called


@pytest.mark.parametrize("off", [-3, 0, 2])
def test_a_mark_lands_on_the_contact_nearby(
    project: Project, clip: Path, truth: list[int], off: int
) -> None:
    scan(project, clip)
    (entry,) = add(project, truth[0] + off)
    assert abs(entry.impact.contact - truth[0]) <= 1
    assert (entry.by_hand, entry.impact.confidence) == ("Anna", 1.0)
    assert entry.sureness == "by hand, Anna" and entry.proposal.trims


def crash(*_: object) -> None:
    os.abort()


def hang(*_: object) -> None:
    time.sleep(60)


@pytest.mark.parametrize(("bad", "said"), [(crash, "SIGABRT"), (hang, "for 3 s")])
def test_a_clip_that_crashes_or_hangs_harms_nobody_but_its_mark(
    project: Project,
    clip: Path,
    truth: list[int],
    monkeypatch: pytest.MonkeyPatch,
    bad: Callable[..., None],
    said: str,
) -> None:
    scan(project, clip)
    with OtherProcesses(1, patience=3.0) as executor:
        with monkeypatch.context() as patched:
            patched.setattr(at_mark, "measure_mark", bad)
            (marked,) = add_hits(project, [Place(1, truth[0])], ANNA, False, executor.call)
        assert isinstance(marked.error, LostProcessError)
        assert str(clip) in str(marked.error) and said in str(marked.error)
        assert project.hits(1) == ()
    with OtherProcesses(1) as executor:
        (marked,) = add_hits(project, [Place(1, truth[0])], ANNA, False, executor.call)
    assert marked.error is None and len(project.hits(1)) == 1


def test_a_frame_can_be_taken_as_given(project: Project, clip: Path, truth: list[int]) -> None:
    scan(project, clip)
    (entry,) = add(project, truth[0] + 3, exact=True)
    assert entry.impact.contact == truth[0] + 3


def test_a_hit_by_hand_is_measured_as_one_that_is_found(
    project: Project, clip: Path, truth: list[int]
) -> None:
    scan(project, clip, spots=(spot(truth[0]),))
    (found,) = project.hits(1)
    motion = project.motion(found.id)
    move_hit(project, found.id, truth[0], ANNA)
    (moved,) = project.hits(1)
    assert (moved.id, moved.label, moved.by_hand) == (found.id, found.label, "Anna")
    assert moved.impact.region == pytest.approx(found.impact.region, abs=0.15)
    assert moved.impact.peak_speed == pytest.approx(found.impact.peak_speed, rel=0.3)
    again = project.motion(found.id)
    assert again.rate == motion.rate and abs(again.intervals - motion.intervals) <= 2
    assert (again.skips is None) == (motion.skips is None)


def test_it_outlives_scans_and_other_weights_and_renames_nothing(
    project: Project, clip: Path, truth: list[int]
) -> None:
    scan(project, clip, spots=(spot(truth[0]),))
    add(project, truth[1], exact=True)
    number = project.hits(1)[1].id
    assert named(project, number) == "S2T1A.2"
    scan(project, clip)
    assert contacts(project) == {truth[1]: "Anna"}
    scan(project, clip, spots=(spot(truth[0]), spot(truth[1] - 1), spot(truth[1] + 2, 0.5)))
    assert contacts(project) == {truth[0]: "", truth[1]: "Anna"}
    assert [named(project, hit.id) for hit in project.hits(1)] == ["S2T1A.1", "S2T1A.2"]


def test_it_goes_with_a_moved_file_and_stays_on_one_that_was_made_again(
    project: Project, clip: Path, truth: list[int], tmp_path: Path
) -> None:
    scan(project, clip)
    add(project, truth[0], exact=True)
    elsewhere = tmp_path / "card" / clip.name
    elsewhere.parent.mkdir()
    clip.rename(elsewhere)
    assert run(project, elsewhere).plan.moved == 1 and contacts(project) == {truth[0]: "Anna"}
    before = project.motion(project.hits(1)[0].id)
    film(elsewhere, two_bounces(), RATE, shake=0.4)
    scan(project, elsewhere)
    (hit,) = project.hits(1)
    assert (hit.impact.contact, hit.by_hand) == (truth[0], "Anna")
    after = project.motion(hit.id)
    assert after.difference.tolist() != before.difference.tolist(), "it was not measured again"


def test_what_was_decided_on_and_is_found_no_more_stays_and_is_named(
    project: Project, clip: Path, truth: list[int]
) -> None:
    scan(project, clip, spots=(spot(truth[0]), spot(truth[1]), spot(truth[0] + 12, 0.2)))
    decline(project, 1, TOM)
    report = scan(project, clip, spots=(spot(truth[1] + 2),))
    assert contacts(project) == {truth[0]: "Tom", truth[1] + 2: ""}
    assert project.orphans(1) == ()
    assert [note for note in report.notes if "S2T1A.1 is no longer found" in note]
    decision = project.hit(1).decision
    assert decision is not None and decision.who == "Tom"
    assert scan(project, clip, spots=(spot(truth[0]),)).notes == ()


def test_an_approval_that_no_longer_fits_is_put_off_and_named(
    project: Project, clip: Path, truth: list[int]
) -> None:
    scan(project, clip, spots=(spot(truth[0]),))
    trim = next(each for each in find_hit(project, 1).proposal.trims if not each.vetoes)
    approve(project, 1, Signature("Tom", "sells it"), trim.frames)
    marked = move_hit(project, 1, truth[0] + 11, ANNA)
    assert marked.put_off is not None and marked.put_off.trim == trim.frames
    decision = project.hit(1).decision
    assert decision is not None
    assert (decision.answer, decision.note, decision.note_who) == ("later", "sells it", "Tom")
    undo(project, ANNA.by)
    (hit,) = project.hits(1)
    assert (hit.impact.contact, hit.by_hand) == (truth[0], "")
    assert hit.decision is not None and hit.decision.trim == trim.frames


def test_a_scan_puts_off_what_no_longer_fits(
    project: Project, clip: Path, truth: list[int]
) -> None:
    scan(project, clip, spots=(spot(truth[0]),))
    first = truth[0] - 3
    trims = [each for each in find_hit(project, 1).proposal.trims if not each.vetoes]
    trim = min(trims, key=lambda each: each.first)
    approve(project, 1, TOM, trim.frames)
    report = scan(project, clip, spots=(spot(truth[0] + 2),))
    now = find_hit(project, 1)
    fits = [each for each in now.proposal.trims if each.frames == trim.frames and not each.vetoes]
    assert now.decision is not None and first
    assert (now.decision.answer == "later") == (not fits)
    assert any("no longer fits and is put off" in note for note in report.notes) == (not fits)


def test_moving_takes_the_hit_away_from_where_it_was_found(
    project: Project, clip: Path, truth: list[int]
) -> None:
    seen = (spot(truth[0]),)
    scan(project, clip, spots=seen)
    decline(project, 1, TOM)
    move_hit(project, 1, truth[0] + 6, ANNA)
    assert project.hit(1).decision is not None
    scan(project, clip, spots=seen)
    assert contacts(project) == {truth[0] + 6: "Anna"}
    decision = project.hit(1).decision
    assert decision is not None and (decision.answer, decision.who) == ("declined", "Tom")
    undo(project, TOM.by)
    scan(project, clip, spots=seen)
    assert contacts(project) == {truth[0]: ""} and project.hit(1).decision is not None


def test_adding_is_taken_back_whole_and_kept_in_the_history(
    project: Project, clip: Path, truth: list[int]
) -> None:
    scan(project, clip, spots=(spot(truth[1], 0.1),))
    add(project, truth[0], truth[1], exact=True)
    assert contacts(project) == {truth[0]: "Anna", truth[1]: "Anna"}
    told = [line.words for line in history(project)]
    assert told == [f"by hand, on frame {truth[0]}",
                    f"by hand, on frame {truth[1]}"]  # fmt: skip
    assert len(undo(project, TOM.by)) == 2
    assert contacts(project) == {truth[1]: ""} and project.hits(1)[0].impact.confidence == 0.1
    assert [line.who for line in history(project)] == ["Anna", "Anna", "Tom", "Tom"]
    (entry,) = add(project, truth[0], exact=True)
    assert entry.called == "S2T1A.1", "a hit that comes back has its name again"


def test_a_doubtful_find_becomes_the_hit_and_what_is_listed_is_not_added(
    project: Project, clip: Path, truth: list[int]
) -> None:
    scan(project, clip, spots=(spot(truth[0], 0.1), spot(truth[1])))
    places = [Place(1, truth[0], "the elbow"), Place(1, truth[0]), Place(1, truth[1])]
    first, twice, there = add_hits(project, places, ANNA, exact=True)
    assert first.entry is not None and first.entry.id == 1
    assert first.entry.decision is not None and first.entry.decision.note == "the elbow"
    assert "the same contact as another" in str(twice.error)
    assert "hit S2T1A.1 is there already" in str(there.error)
    with pytest.raises(Exception, match="is there already"):
        move_hit(project, 1, truth[1] + 1, ANNA)


def test_frames_and_timecodes(project: Project, clip: Path) -> None:
    scan(project, clip)
    stored = project.clips()[0].clip
    assert stored is not None
    assert frame_of(stored, "7") == frame_of(stored, "00:00:00:07") == 7
    for wrong in ("9999", "01:00:00:00", "soon", "-1", "00:00:00:30"):
        with pytest.raises(Exception, match=r"S2_T1_A\.mp4: "):
            frame_of(stored, wrong)


@pytest.fixture
def command(project: Project, clip: Path) -> Callable[..., Result]:
    scan(project, clip)
    return lambda *words: run_command(*words, "--project", project.path)


def test_commands(command: Callable[..., Result], truth: list[int], clip: Path) -> None:
    done = command("add", "S2T1A", truth[0] - 2, "--note", "the elbow")
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("hit S2T1A.1 in S2_T1_A.mp4: contact on frame ")
    assert done.stdout.endswith("; by hand, Mara\n")
    assert "by hand, Mara" in command("hits").stdout
    (hit,) = json.loads(command("hits", "--json").stdout)["clips"][0]["hits"]
    assert (hit["name"], hit["by_hand"], hit["decision"]["note"]) == (
        "S2T1A.1", "Mara", "the elbow",
    )  # fmt: skip
    moved = command("move", "S2T1A.1", truth[0] + 5)
    assert f"contact on frame {truth[0] + 5} " in moved.stdout and "as given" in moved.stdout
    folder = clip.parent / "lists"
    assert command("export", folder, "--only", "spotting", "--proposed").exit_code in (0, 2)
    for wrong in (("add",), ("add", "S2T1A"), ("add", "S9T9A", 5), ("add", "S2T1A", 99999)):
        refused = command(*wrong)
        assert refused.exit_code == 2 and refused.stderr
    assert command("undo").exit_code == command("undo").exit_code == 0
    assert json.loads(command("hits", "--json").stdout)["clips"][0]["hits"] == []


def test_marks_come_from_a_table(
    command: Callable[..., Result], truth: list[int], tmp_path: Path
) -> None:
    table = tmp_path / "marks.csv"
    label = f"00:00:{truth[1] // 25:02d}:{truth[1] % 25:02d}"
    table.write_text(
        f"Clip,Frame,Timecode,Note\nS2_T1_A.mp4,{truth[0]},,elbow\ns2_t1_a.MP4,,{label},\n"
        "gone.mov,5,,\nS2_T1_A.mp4,99999,,\n"
    )
    done = command("add", "--from", table, "--exact")
    assert done.exit_code == 1 and len(done.stdout.splitlines()) == 2
    assert "line 4: it belongs to no clip of the project" in done.stderr
    assert "line 5: S2_T1_A.mp4: 99999 is not in the clip" in done.stderr
    (clip,) = json.loads(command("hits", "--json").stdout)["clips"]
    assert [hit["contact"] for hit in clip["hits"]] == truth[:2]
    assert len(command("undo").stdout.splitlines()) >= 2
    table.write_text("what,where\n1,2\n")
    assert "names no columns of a list of marks" in command("add", "--from", table).stderr


def test_marks_come_from_an_edl(
    command: Callable[..., Result], truth: list[int], tmp_path: Path
) -> None:
    """The clip's frame 5 is at 01:00:00:00; LOC notes carry record timecode (common practice)."""
    at = truth[0] - 5
    cut = tmp_path / "cut.edl"
    cut.write_text(
        "TITLE: NIGHT\nFCM: NON-DROP FRAME\n\n"
        "001  S2_T1_A  V     C        00:00:00:05 00:00:01:20 01:00:00:00 01:00:01:15\n"
        "* FROM CLIP NAME: S2_T1_A.mp4\n"
        f"* LOC: 01:00:{at // 25:02d}:{at % 25:02d} RED     the elbow\n"
        "* LOC: 01:09:00:00 GREEN   nowhere\n"
    )
    done = command("add", "--from", cut, "--exact")
    assert done.exit_code == 1 and "line 7: no event is there" in done.stderr
    assert f"contact on frame {truth[0]} " in done.stdout
    (clip,) = json.loads(command("hits", "--json").stdout)["clips"]
    assert clip["hits"][0]["decision"]["note"] == "the elbow"


def test_marks_come_from_a_timeline(
    command: Callable[..., Result], truth: list[int], tmp_path: Path
) -> None:
    otio = pytest.importorskip("opentimelineio")
    time, span = otio.opentime.RationalTime, otio.opentime.TimeRange
    shot = otio.schema.Clip(
        name="S2_T1_A.mp4",
        media_reference=otio.schema.ExternalReference("file:///cards/S2_T1_A.mp4"),
        source_range=span(time(5, 25), time(40, 25)),
    )
    shot.markers.append(otio.schema.Marker("elbow", span(time(truth[0], 25), time(1, 25))))
    timeline = otio.schema.Timeline("night")
    timeline.tracks.append(otio.schema.Track("V1", kind="Video"))
    timeline.tracks[0].append(shot)
    timeline.tracks.markers.append(otio.schema.Marker("lost", span(time(0, 25), time(1, 25))))
    file = tmp_path / "cut.otio"
    otio.adapters.write_to_file(timeline, str(file))
    done = command("add", "--from", file, "--exact")
    assert done.exit_code == 1 and "marker 'lost': it belongs to no clip" in done.stderr
    assert f"contact on frame {truth[0]} " in done.stdout


def test_what_stops_hardest_is_taken_where_no_contact_is_seen(
    project: Project, clip: Path, truth: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    scan(project, clip)
    monkeypatch.setattr("impactcut.workflow.scan.spotting.Spotting.__call__", lambda *_: [])
    for off in (-SNAP, 0, 3):
        (marked,) = add_hits(project, [Place(1, truth[0] + off)], ANNA, exact=False)
        assert marked.entry is not None, marked.error
        assert abs(marked.entry.impact.contact - truth[0]) <= 1
        assert marked.why == "what moves there stops the hardest"
        undo(project, ANNA.by)
