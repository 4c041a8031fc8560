"""Patterns of names and shot logs. Logs are written as spreadsheets save them: with commas,
semicolons or tabs, a byte-order mark or none; common practice, without a source."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import Result

from impactcut.core.takes.scale import Scale
from impactcut.core.takes.shot_log import match_log
from impactcut.core.takes.shot_names import ShotName, parse_pattern, read_shot_name
from impactcut.errors import ListFormatError, PatternError
from impactcut.lists.tables.shot_log import parse_shot_log, render_shot_log
from impactcut.project import Project
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip
from tests.helpers.running.commands import Run, run_command

PATHS = (
    "/quay/Section 3/27A-1_A.mov",
    "/quay/Section 3/27A-1_B.mov",
    "/quay/Section 4/28-2_A.mov",
    "/quay/spare/C0001.mov",
)
PATTERN = "Section {section}/{slate}-{take}[_{angle}]"


@pytest.mark.parametrize(
    ("pattern", "path", "expected"),
    [
        (PATTERN, PATHS[0], ShotName("3", "1", "A", "27A")),
        (PATTERN, PATHS[2], ShotName("4", "2", "A", "28")),
        (PATTERN, PATHS[3], ShotName()),
        (PATTERN, r"C:\quay\Section 07\5-02.mxf", ShotName("7", "2", "", "5")),
        ("{section*}/T{take}_{angle}", "/quay/Crate up/t4_b.mov", ShotName("Crate up", "4", "B")),
        ("{section*}/*/{take}", "/night/dock/card 2/11.mov", ShotName("dock", "11")),
        ("cam_{angle*}_tk{take}", "wide CAM-north tk7.mov", ShotName("", "7", "north")),
        ("(x) {take}", "(x) 5.mov", ShotName("", "5")),
        ("{take}", "A1.mov", ShotName()),
        ("S{section} | {slate}-{take}", "27A-3.mov", ShotName("", "3", "", "27A")),
        ("S{section} | {slate}-{take}", "S2 27A-3.mov", ShotName("2")),
    ],
)  # fmt: skip
def test_patterns_read_names(pattern: str, path: str, expected: ShotName) -> None:
    assert read_shot_name(path, parse_pattern(pattern)) == expected


@pytest.mark.parametrize(
    ("pattern", "wrong"),
    [
        ("S2", "no field"),
        ("{scene}", "none of its fields"),
        ("{take}{take*}", "twice"),
        ("[{take}", "has no ']'"),
        ("{take}]", "no other half"),
        ("{take", "no other half"),
        ("{take}|", "no field"),
    ],
)
def test_patterns_that_mean_nothing_are_refused(pattern: str, wrong: str) -> None:
    with pytest.raises(PatternError, match=wrong) as caught:
        parse_pattern(pattern)
    assert "{section}" in str(caught.value)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_logs_as_spreadsheets_save_them(separator: str) -> None:
    lines = (
        ("Notes", "TAKE", "Slate", "circled", "Metres", "clip"),
        ("good, loud", "1", "27A", "x", "4+-1", ""),
        ("", "", "", "", "", ""),
        ("", "2", "", "", "", "C0001"),
    )
    out = io.StringIO()
    csv.writer(out, delimiter=separator).writerows(lines)
    log = parse_shot_log("\ufeff" + out.getvalue())
    assert log.ignored == ("Notes",)
    first, second = log.rows
    assert (first.line, second.line, second.clip) == (2, 4, "C0001")
    assert first.said.known == {"take": "1", "slate": "27A", "circled": True, "scale": Scale(4, 1)}
    assert second.said.known == {"take": "2", "circled": False}


@pytest.mark.parametrize(
    ("text", "line", "remedy"),
    [
        ("", 1, "begin it with clip,"),
        ("when,who\n1,2\n", 1, "name one 'clip'"),
        ("take,angle\n1,A\n", 1, "either 'slate' or 'section'"),
        ("clip,clip\na,b\n", 1, "take one of them out"),
        ("clip,circled\na,yes\nb,perhaps\n", 3, "write yes or no"),
        ("clip,metres\na,wide\n", 2, "write it as 4"),
        ("clip,take\na,1,2\n", 2, "between double quotes"),
        ("clip,take\n,1\n", 2, "fill in 'clip'"),
        ('clip,take\na,1\n"b,2\n', 3, "save it as CSV again"),
    ],
)
def test_malformed_logs_name_line_and_remedy(text: str, line: int, remedy: str) -> None:
    with pytest.raises(ListFormatError, match=rf"line {line}: .*{remedy}"):
        parse_shot_log(text)


def test_lines_find_their_clips() -> None:
    pattern = parse_pattern(PATTERN)
    clips = [
        replace(make_clip(path), section=name.section, take=name.take, angle=name.angle,
                slate=name.slate, reel="R9")
        for path in PATHS
        for name in (read_shot_name(path, pattern),)
    ]  # fmt: skip
    log = parse_shot_log(
        "clip,section,slate,take,angle,circled\n"
        ",,27a,1,,yes\n"
        ",4,,2,B,yes\n"
        "spare/c0001,9,,1,,no\n"
        "R9,,,,,yes\n"
        "gone.mov,,,,,yes\n"
    )
    match = match_log(log.rows, clips)
    assert [(Path(clip.path).name, row.line) for clip, row in match.pairs] == [
        ("27A-1_A.mov", 2),
        ("27A-1_B.mov", 2),
        ("C0001.mov", 4),
    ]
    assert [row.line for row in match.unmatched_rows] == [3, 6]
    assert [row.line for row in match.ambiguous_rows] == [5]
    assert [clip.name for clip in match.unmatched_clips] == ["28-2_A.mov"]
    twice = parse_shot_log("clip,take\nC0001,1\nC0001.mov,2\n")
    with pytest.raises(ListFormatError, match="lines 2 and 3 say different things"):
        match_log(twice.rows, clips)


def test_a_folder_with_a_dot_in_its_name_names_no_clip() -> None:
    clip = make_clip("/quay/day.1/card")
    for name, found in (("day", ()), ("card", (clip,)), ("day.1/card", (clip,))):
        log = parse_shot_log(f"clip,take\n{name},1\n")
        assert tuple(each for each, _ in match_log(log.rows, [clip]).pairs) == found


def test_a_log_that_was_written_reads_the_same() -> None:
    clips = [
        make_clip("/quay/=odd.mov", section="3", circled=True, scale=Scale(3, 0.5)),
        make_clip("/quay/b, c.mov", section="", take="", angle="", slate="27A"),
    ]
    match = match_log(parse_shot_log(render_shot_log(clips)).rows, clips)
    assert [clip for clip, _ in match.pairs] == clips
    assert match.pairs[0][1].said.known == {
        "section": "3", "take": "3", "angle": "B", "circled": True, "scale": Scale(3, 0.5),
    }  # fmt: skip


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command beside a project of `PATHS`, each with a hit."""
    monkeypatch.chdir(tmp_path)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        for path in PATHS:
            name = read_shot_name(path)
            clip = make_clip(path, section=name.section, take=name.take, angle=name.angle)
            keep_clip(project, clip, 100)

    return run_command


def clips_of(result: Result) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(result.stdout)["clips"]
    return found


def test_nothing_is_kept_unasked(run: Run) -> None:
    shown = run("shots", "--pattern", PATTERN)
    assert shown.exit_code == 0 and "3 would change; nothing is kept yet" in shown.stdout
    assert "nothing to change" in run("shots").stdout
    assert "3 changed" in run("shots", "--pattern", PATTERN, "--apply").stdout
    assert "\n2 hits in 2 clips\n" in run("hits", "--section", "3").stdout
    assert f"Names are read as {PATTERN}" in run("shots").stdout
    assert run("shots", "--pattern", "{x}").exit_code == 2


def test_a_log_comes_before_names_and_survives_measuring(run: Run, tmp_path: Path) -> None:
    run("shots", "--pattern", PATTERN, "--apply")
    log = tmp_path / "log.csv"
    log.write_text("slate,take,angle,section,circled\n27A,1,A,3B,yes\n99,1,,,yes\n")
    done = run("shots", "--log", log, "--apply")
    assert done.exit_code == 1
    assert "lines about no clip of the project: line 3 (slate 99, take 1)\n" in done.stderr
    assert "clips about which the log has no line: 27A-1_B.mov, 28-2_A.mov" in done.stderr
    (circled,) = clips_of(run("hits", "--circled", "--json"))
    assert (circled["section"], circled["slate"], circled["angle"]) == ("3B", "27A", "A")
    with Project(tmp_path / "impactcut.db") as project:
        again = make_clip(PATHS[0], section="3", take="1", angle="A", slate="27A")
        keep_clip(project, again, 100)
    assert clips_of(run("hits", "--circled", "--json"))[0]["section"] == "3B"
    log.write_text("slate,take\n" + "".join(f"99,{take}\n" for take in range(40)))
    lost = run("shots", "--log", log)
    assert lost.exit_code == 2 and len(lost.stderr.splitlines()) == 2
    assert "line 6 (slate 99, take 4), and 35 more" in lost.stderr
    log.write_text("clip,circled\n27A-1_A,no\n")
    assert run("shots", "--log", log, "--apply").exit_code == 0
    assert clips_of(run("hits", "--circled", "--json")) == []
    assert clips_of(run("hits", "--section", "3b", "--take", "1", "--angle", "a", "--json"))


def test_a_saved_log_is_given_back(run: Run, tmp_path: Path) -> None:
    assert run("shots", "--save", "log.csv").exit_code == 0
    assert run("shots", "--save", "log.csv").exit_code == 2
    refused = run("shots", "--pattern", PATTERN, "--apply", "--save", "log.csv")
    assert refused.exit_code == 2 and "nothing to change" in run("shots").stdout
    assert f"Names are read as {PATTERN}" not in run("shots").stdout
    log = tmp_path / "log.csv"
    log.write_text(log.read_text("utf-8").replace("C0001.mov,,,,,no", "C0001.mov,9,,4,C,yes"))
    assert run("shots", "--log", log, "--apply").exit_code == 0
    assert "\n1 hit in 1 clip\n" in run("hits", "--circled", "--take", "4").stdout


def test_faulty_logs_name_the_file(run: Run, tmp_path: Path) -> None:
    for content in (b"clip,circled\nC0001,perhaps\n", "clip,take\n".encode("utf-16-le")):
        (tmp_path / "log.csv").write_bytes(content)
        result = run("shots", "--log", "log.csv", "--apply")
        assert result.exit_code == 2 and "log.csv: " in result.stderr and "; " in result.stderr
    assert run("shots", "--log", "gone.csv").exit_code == 2
