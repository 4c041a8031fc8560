"""The commands as a person or a script sees them: output, exit codes, and never a traceback."""

from __future__ import annotations

import csv
import json
import sys
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner

from impactcut.cli import main
from impactcut.core.detect.confidence import SURE, UNSURE
from impactcut.project import Project
from impactcut.workflow.scan import scanning
from impactcut.workflow.scan.analyse import AnalysisSettings, ClipAnalysis
from tests.helpers.footage.staged_clips import film, measure, measure_or_fail
from tests.helpers.running.commands import Run, run_command
from tests.helpers.running.this_process import ThisProcess

UNCALIBRATED = "Visibility is uncalibrated: reasoned from research, not fitted to viewers."


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command in an empty folder; clips have one staged hit each, in the middle."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("IMPACTCUT_WHO", "Ines")
    monkeypatch.setattr(scanning, "analyse_clip", measure_or_fail)
    executors = sys.modules["impactcut.cli.options.executors"]
    monkeypatch.setattr(executors, "local_executor", lambda *limits: ThisProcess())

    return run_command


@pytest.fixture
def scanned(run: Run, tmp_path: Path) -> Run:
    film(tmp_path / "cards/S1_T1_A_x.mov", seed=1)
    film(tmp_path / "cards/S1_T2_B_x.mov", seed=2)
    film(tmp_path / "cards/S2_T1_A_x.mov", rate=25, seed=3)
    assert run("scan", "cards", "--order", "name").exit_code == 0
    return run


def proposed_hits(run: Run) -> dict[int, dict[str, int]]:
    found = json.loads(run("hits", "--json").stdout)
    return {
        hit["id"]: hit["proposed"]
        for clip in found["clips"]
        for hit in clip["hits"]
        if hit["proposed"]
    }


def test_scan_says_what_it_did(run: Run, tmp_path: Path) -> None:
    film(tmp_path / "cards/a.mov")
    first = run("scan", "cards")
    assert first.exit_code == 0
    holds = "Project: impactcut.db, which holds 1 clip, 1 hit\n"
    assert first.stdout == f"1 clip measured, 1 hit found. {holds}"
    assert first.stderr == "1 of 1: measured a.mov\n"
    second = run("scan", "cards")
    assert second.stdout == f"0 clips measured, 0 hits found; 1 clip unchanged. {holds}"
    assert second.stderr == ""
    assert run("scan", "cards", "--quiet", "--again").output == ""


def test_scan_with_failures_names_them_and_exits_1(run: Run, tmp_path: Path) -> None:
    film(tmp_path / "cards/a.mov")
    (tmp_path / "cards/b.mov").write_bytes(b"no media")
    film(tmp_path / "cards/fault.mov")
    result = run("scan", "cards", "--jobs", "1")
    assert result.exit_code == 1
    assert "b.mov: is not a media file" in result.stderr
    assert "fault.mov: a fault of this program (ZeroDivisionError" in result.stderr
    shown = CliRunner().invoke(main, ["scan", "cards", "--jobs", "1", "--debug"])
    assert "Traceback" in shown.stderr and "nobody thought of" in shown.stderr
    status = run("status")
    assert status.exit_code == 0
    assert "failed (2 tries)" in status.stdout and "b.mov" in status.stdout
    held = json.loads(run("status", "--json").stdout)
    assert (held["schema"], held["clips"], held["hits"], held["orphans"]) == (1, 1, 1, [])
    assert [(Path(each["path"]).name, each["tries"]) for each in held["failed"]] == [
        ("b.mov", 2),
        ("fault.mov", 2),
    ]


@pytest.mark.parametrize("arguments", [("gone.mov",), (".",)])
def test_scan_without_media_exits_2(run: Run, arguments: tuple[str, ...]) -> None:
    result = run("scan", *arguments)
    assert result.exit_code == 2
    assert result.stderr.startswith("impactcut: ") and result.stdout.count("\n") <= 1
    assert not Path("impactcut.db").exists()


def test_scan_interrupted_exits_130_and_goes_on(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    film(tmp_path / "cards/a.mov", seed=1)
    film(tmp_path / "cards/b.mov", seed=2)

    def interrupted(path: Path, settings: AnalysisSettings, report: object) -> ClipAnalysis:
        if path.name == "b.mov":
            raise KeyboardInterrupt
        return measure(path, settings)

    monkeypatch.setattr(scanning, "analyse_clip", interrupted)
    result = run("scan", "cards", "--jobs", "1")
    assert result.exit_code == 130
    assert "1 of 2 clips are measured and kept in impactcut.db" in result.stderr
    monkeypatch.setattr(scanning, "analyse_clip", measure)
    assert run("scan", "cards", "--jobs", "1").stdout.startswith("1 clip measured, 1 hit found; 1")


def test_rate_and_reel(run: Run, tmp_path: Path) -> None:
    film(tmp_path / "a.mov")
    assert run("scan", "a.mov", "--rate", "29.97df", "--reel", "CARD7").exit_code == 0
    (clip,) = json.loads(run("hits", "--json").stdout)["clips"]
    assert (clip["rate"], clip["drop_frame"], clip["reel"]) == ("30000/1001", True, "CARD7")
    assert run("scan", "a.mov", "--rate", "fast").exit_code == 2
    assert run("scan", ".", "--reel", "CARD7").exit_code == 2


def test_hits_as_json_has_every_field_of_the_form(scanned: Run) -> None:
    found = json.loads(scanned("hits", "--json").stdout)
    assert found["schema"] == 1 and found["project"].endswith("impactcut.db")
    assert [clip["name"] for clip in found["clips"]] == [
        "S1_T1_A_x.mov",
        "S1_T2_B_x.mov",
        "S2_T1_A_x.mov",
    ]
    clip = found["clips"][2]
    assert clip.keys() >= {
        "path", "name", "reel", "section", "take", "angle", "rate", "frames", "drop_frame",
        "start_timecode", "timecode_source", "width", "height", "warnings", "hits",
    }  # fmt: skip
    assert (clip["section"], clip["take"], clip["angle"]) == ("2", "1", "A")
    assert (Fraction(clip["rate"]), clip["frames"], clip["start_timecode"]) == (
        25,
        80,
        "00:00:00:00",
    )
    (hit,) = clip["hits"]
    assert hit.keys() >= {
        "id", "onset", "contact", "contact_exact", "settle", "reaction", "reaction_lag",
        "confidence", "peak_speed", "region", "camera", "contact_timecode", "proposed", "no_trim",
        "trims", "decision",
    }  # fmt: skip
    assert (hit["contact"], hit["contact_timecode"], hit["reaction_lag"]) == (40, "00:00:01:15", 1)
    assert hit["region"] == [16, 8, 13, 6] and hit["decision"] is None
    trims = hit["trims"]
    assert {trim["count"] for trim in trims} == {1, 2, 3}
    for trim in trims:
        assert trim.keys() >= {
            "first", "count", "speed_gain", "visibility", "verdict", "vetoes", "channels",
        }  # fmt: skip
        assert trim["verdict"] in ("clean", "frame-step", "attentive", "obvious")
    assert (hit["proposed"] is None) == (hit["no_trim"] is not None)
    for hit_id, proposed in proposed_hits(scanned).items():
        assert proposed.keys() >= {"first", "count", "worst_channel", "reasons"}, hit_id


def test_hits_as_a_table(scanned: Run) -> None:
    lines = scanned("hits").stdout.splitlines()
    columns = "Hit Clip Contact Frame Conf. Speed Lag Propose Gain Shows Decision"
    assert " ".join(lines[0].split()) == columns
    assert len(lines) == 6 and lines[-2:] == ["3 hits in 3 clips", UNCALIBRATED]
    shown = "S2T1A.1 S2_T1_A_x.mov 00:00:01:15 40 0.90 2.50 1"
    assert " ".join(lines[3].split()[:7]) == shown


def test_hits_are_listed_from_the_confidence_that_scan_and_status_count_from(run: Run) -> None:
    assert f"[default: {SURE};" in run("hits", "--help").stdout


def test_hits_of_some_clips(scanned: Run) -> None:
    assert scanned("hits", "--section", "1").stdout.endswith(f"2 hits in 2 clips\n{UNCALIBRATED}\n")
    assert scanned("hits", "S2_T1_A_x.mov").stdout.endswith(f"1 hit in 1 clip\n{UNCALIBRATED}\n")
    some = scanned("hits", "cards/S1_T1_A_x.mov", "gone.mov")
    assert some.exit_code == 1 and "gone.mov: no measured clip of the project" in some.stderr
    assert scanned("hits", "gone.mov").exit_code == 2
    assert scanned("hits", "--late").stdout == "0 hits in 0 clips\n"


def test_another_field_of_view_is_judged_anew(scanned: Run) -> None:
    def shown(*options: str) -> float:
        trim = json.loads(scanned("trims", "1", "--json", *options).stdout)["hit"]["trims"][0]
        return float(trim["visibility"])

    assert shown("--fov", "60") > shown() > shown("--fov", "10")
    assert scanned("hits", "--fov", "0").exit_code == 2


def test_trims_of_a_hit(scanned: Run) -> None:
    result = scanned("trims", "1")
    assert result.exit_code == 0
    assert result.stdout.startswith("Hit S1T1A.1 in S1_T1_A_x.mov, contact frame 40 (00:00:01:16)")
    found = json.loads(scanned("trims", "1", "--json").stdout)
    assert found["schema"] == 1 and found["hit"]["id"] == 1
    number = len(found["hit"]["trims"])
    assert sum(line[:7] in (f"{n} from " for n in (1, 2, 3)) for line in
               result.stdout.splitlines()) == number  # fmt: skip
    assert "Front row" in result.stdout and "For the casual viewer" in result.stdout
    for trim in found["hit"]["trims"]:
        # An attentive viewer's threshold is 9 % of a speed, a trained observer's 6 %, a casual
        # viewer's 18 % (de'Sperati & Baud-Bovy 2017; McKee & Nakayama 1984).
        shown = {name: each["visibility"] for name, each in trim["viewers"].items()}
        assert shown["attentive"] == pytest.approx(trim["visibility"] * 6 / 9)
        assert shown["casual"] == pytest.approx(trim["visibility"] * 6 / 18)
        assert shown["trained"] == trim["visibility"]
        assert trim["front_row"]["fov_degrees"] == 60
    assert found["judging"].startswith("Visibility is uncalibrated")
    missing = scanned("trims", "99")
    assert missing.exit_code == 2 and "there is no hit 99" in missing.stderr


def test_deciding_then_exporting(scanned: Run, tmp_path: Path) -> None:
    hit, proposed = next(iter(proposed_hits(scanned).items()))
    done = scanned("decide", hit, "--approve", "--note", "sells it", "--who", "Tomas")
    assert done.exit_code == 0
    assert f"approved {proposed['count']} from {proposed['first']}" in done.stdout
    assert "Tomas" in scanned("trims", hit).stdout
    result = scanned("export", "lists", "--title", "NIGHT")
    assert result.exit_code == 0
    files = [Path(line) for line in result.stdout.splitlines()]
    assert {".csv", ".edl", ".wav"} <= {path.suffix for path in files}
    assert "never whether a move was or is safe" in result.stderr
    assert "with nothing out and no hit as shot at their rate: S2_T1_A_x.mov" in result.stderr
    with next(path for path in files if path.suffix == ".csv").open(newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["who"], row["note"]) == ("Tomas", "sells it")
    again = scanned("export", "lists", "--title", "NIGHT")
    assert again.exit_code == 2 and "--force" in again.stderr and again.stdout == ""
    assert scanned("export", "lists", "--title", "NIGHT", "--force", "--quiet").stderr == ""
    only = scanned("export", "other", "--only", "edl").stdout.splitlines()
    assert [Path(line).suffix for line in only] == [".edl"]


def test_nothing_approved_is_said(scanned: Run) -> None:
    result = scanned("export", "lists")
    assert result.exit_code == 2 and "nothing is approved" in result.stderr
    assert scanned("export", "lists", "--proposed").exit_code == 0


def test_decisions_that_fail_are_named(scanned: Run) -> None:
    some = scanned("decide", "1", "99", "--decline")
    assert some.exit_code == 1 and "there is no hit 99" in some.stderr
    assert some.stdout == "hit S1T1A.1 in S1_T1_A_x.mov: as shot\n"
    assert scanned("decide", "99", "--decline").exit_code == 2
    assert scanned("decide", "1", "--clear").stdout == "hit S1T1A.1 in S1_T1_A_x.mov: undecided\n"


@pytest.mark.parametrize(
    "arguments",
    [
        ("decide", "1"),
        ("decide", "1", "--approve", "--decline"),
        ("decide", "1", "--approve", "--first", "3"),
        ("decide", "1", "--decline", "--count", "1"),
        ("decide", "1", "2", "--approve", "--first", "3", "--count", "1"),
        ("decide", "1", "--approve", "--count", "4"),
        ("export", "lists", "--only", "edl,scroll"),
        ("export",),
        ("scan",),
        ("scan", ".", "--jobs", "0"),
        ("trims",),
        ("dance",),
        ("hits", "--project", "."),
    ],
)
def test_wrong_use_exits_2(scanned: Run, arguments: tuple[str, ...]) -> None:
    result = scanned(*arguments)
    assert result.exit_code == 2 and "Error:" in result.stderr and result.stdout == ""


@pytest.mark.parametrize("command", [("hits",), ("status",), ("trims", "1"), ("export", "x")])
def test_without_a_project_the_way_to_one_is_said(run: Run, command: tuple[str, ...]) -> None:
    result = run(*command)
    assert result.exit_code == 2
    assert "there is no such project; run 'impactcut scan FOLDER'" in result.stderr


def test_project_from_the_environment(
    scanned: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("IMPACTCUT_PROJECT", str(tmp_path / "other.db"))
    assert scanned("status").exit_code == 2
    monkeypatch.setenv("IMPACTCUT_PROJECT", str(tmp_path / "impactcut.db"))
    assert scanned("status").stdout.startswith(f"{tmp_path / 'impactcut.db'}: 3 clips measured")


def test_demo_where_no_folder_can_be_made_says_so_in_one_line(run: Run, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").touch()
    result = run("demo", "notes.txt/night")
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1].endswith(
        "notes.txt/night: cannot be made (Not a directory); name another folder"
    )


def test_faults_are_one_line_unless_asked(scanned: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def break_down(*_: object) -> None:
        raise ZeroDivisionError("oops")

    monkeypatch.setattr("impactcut.workflow.reports.status.project_status", break_down)
    result = scanned("status")
    assert result.exit_code == 2 and result.stderr.count("\n") == 1
    assert "a fault of this program" in result.stderr and "--debug" in result.stderr
    shown = CliRunner().invoke(main, ["status", "--debug"])
    assert shown.exit_code == 2 and "Traceback" in shown.stderr


@pytest.mark.parametrize(
    "command",
    [("hits",), ("compare",), ("shots",), ("page", "x.html"), ("export", "x"), ("review",)],
)
def test_a_project_without_clips_says_what_to_do(run: Run, command: tuple[str, ...]) -> None:
    with Project(Path("impactcut.db"), create=True):
        pass
    told = run(*command)
    assert told.exit_code == 2 and told.stderr.count("\n") == 1
    assert "no clip is measured yet; 'impactcut scan FOLDER'" in told.stderr
    assert "'impactcut scan FOLDER' takes clips in" in run("status").stdout


def test_names_of_hits_that_are_nobodys_are_told(scanned: Run) -> None:
    for command in (("trims", "x"), ("decide", "0", "--later"), ("compare", "--apart", "-3")):
        told = scanned(*command)
        assert told.exit_code == 2 and "there is no hit" in told.stderr


def test_names_cannot_steer_the_terminal(run: Run, tmp_path: Path) -> None:
    film(tmp_path / "cards/\x1b[31mred[bold].mov")
    film(tmp_path / "cards/\x1b[2Jfault.mov").write_bytes(b"none")
    for command in (("scan", "cards"), ("hits",), ("trims", "1"), ("status",)):
        assert "\x1b" not in run(*command).output
    assert "\\x1b[31mred[bold].mov" in run("hits").stdout


def test_hits_that_are_left_out_as_unsure_are_counted(scanned: Run) -> None:
    shown = scanned("hits", "--confidence", "0.95").stdout
    more = f"3 more that may be hits: --confidence {UNSURE} lists them too"
    assert f"0 hits in 3 clips\n{more}\n" in shown
    assert "may be hits" not in scanned("hits").stdout


def test_gain_and_splice_are_those_of_the_trim_that_is_approved(scanned: Run) -> None:
    trims = json.loads(scanned("trims", "1", "--json").stdout)["hit"]["trims"]
    gain = f"{proposed_hits(scanned)[1]['speed_gain']:.2f}x"
    other = next(t for t in trims if f"{t['speed_gain']:.2f}x" != gain and not t["vetoes"])
    choice = ("--first", other["first"], "--count", other["count"])
    assert scanned("decide", "1", "--approve", *choice).exit_code == 0
    listed = scanned("hits").stdout.splitlines()
    row = next(line for line in listed if line.split()[:1] == ["S1T1A.1"])
    assert f"{other['speed_gain']:.2f}x" in row
