"""The overview picture and the one-page summary. The SVG is read by an independent XML parser, the
HTML by the standard library's."""

from __future__ import annotations

import base64
import re
from dataclasses import replace
from fractions import Fraction
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

from impactcut.core import palette
from impactcut.core.fight.overview import FightOverview, fight_overview
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.project import Project
from impactcut.workflow.hits.listing import list_hits
from impactcut.workflow.pictures.fight_picture import render_overview
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.project_values import make_clip, make_hit, make_proposal
from tests.helpers.projects.quay_project import make_quay_project
from tests.helpers.projects.review_site import add_clip
from tests.helpers.running.commands import Run, run_command

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def quay(tmp_path: Path) -> FightOverview:
    path = make_quay_project(tmp_path / "quay.db")
    with Project(path) as project:
        return fight_overview(list_hits(project))


def test_the_overview_adds_up(quay: FightOverview) -> None:
    """Clips of 240 and 120 frames at 24 a second; trims of 2, 3 and 1 frames, all approved."""
    assert quay.seconds == 15
    assert [at for at, _ in quay.hits] == [
        Fraction(47, 24), Fraction(162, 24), 10 + Fraction(50, 24),
    ]  # fmt: skip
    assert quay.frames_out("approved") == (2, 5, 6)
    assert quay.frames_out("proposed") == (0, 0, 0)
    assert quay.seconds_out("approved") == Fraction(6, 24)
    assert quay.crowds() == ()


def test_crowds_are_runs_within_a_second_inside_one_clip(quay: FightOverview) -> None:
    (_, first), _, (_, last) = quay.hits
    assert first.clip != last.clip
    times = (1, Fraction(3, 2), Fraction(5, 2), 5, Fraction(19, 2), 10, Fraction(21, 2))
    hits = tuple((Fraction(at), first if at < 10 else last) for at in times)
    assert replace(quay, hits=hits).crowds() == ((1, Fraction(3, 2), Fraction(5, 2)),)


def test_the_picture_holds_every_hit_and_state(quay: FightOverview) -> None:
    _, first = quay.hits[0]
    kinds = [
        (make_hit(), Decision("approved", FrameRange(99, 101))),
        (make_hit(peak_speed=0.4), None),
        (make_hit(reaction=108), Decision("declined", None)),
        (make_hit(reaction=96), Decision("later", None)),
    ]
    hits = tuple(
        (Fraction(number), replace(
            first, id=number, name="<all>", impact=hit, decision=said, usual_speed=2.5,
            proposal=make_proposal(),
        ))
        for number, (hit, said) in enumerate(kinds)
    )  # fmt: skip
    assert [hit.trim_state for _, hit in hits] == ["approved", "proposed", "declined", "none"]
    picture = ElementTree.fromstring(render_overview("夜 $1 & <FOG>", replace(quay, hits=hits)))
    assert (
        picture.findtext(f"{SVG}title") == "夜 $1 & <FOG>: 4 hits in 0:15, 1 weak, 1 late, 1 early"
    )
    assert "夜 $1 & <FOG>" in [text.text for text in picture.iter(f"{SVG}text")]
    groups = [g for g in picture.iter(f"{SVG}g") if g.find(f"{SVG}title") is not None]
    assert [group.get("id") for group in groups] == [f"hit {number}" for number in range(4)]
    assert (groups[2].findtext(f"{SVG}title") or "").startswith("hit <all>: the receiver reacts 8")
    outlines = {path.get("d") for group in groups for path in group.iter(f"{SVG}path")}
    uses = [use for group in groups for use in group.iter(f"{SVG}use")]
    assert len(outlines) == len({use.get("style") for use in uses}) == 4
    assert all(0 <= float(use.get("x", "")) <= float(picture.get("width", "")[:-2]) for use in uses)
    empty = FightOverview((), ())
    assert ElementTree.fromstring(render_overview("", empty)).tag == f"{SVG}svg"


def test_colours_are_okabe_and_itos() -> None:
    """RGB as published: orange 230 159 0, bluish green 0 158 115, blue 0 114 178, vermilion
    213 94 0, reddish purple 204 121 167 (https://jfly.uni-koeln.de/color/)."""
    published = {
        "ORANGE": (230, 159, 0), "GREEN": (0, 158, 115), "BLUE": (0, 114, 178),
        "VERMILION": (213, 94, 0), "PURPLE": (204, 121, 167),
    }  # fmt: skip
    for name, rgb in published.items():
        assert getattr(palette, name) == "#{:02X}{:02X}{:02X}".format(*rgb)


class Outline(HTMLParser):
    """Headings, texts and addresses of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.headings: list[int] = []
        self.addresses: list[str] = []
        self.tags: set[str] = set()
        self.without_alt = 0
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.add(tag)
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        self.addresses += [given[name] or "" for name in ("src", "href") if name in given]
        self.without_alt += tag == "img" and not given.get("alt")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """A project of a filmed take whose hits are fine, and of one, not there, with odd ones."""
    monkeypatch.chdir(tmp_path)
    with Project(tmp_path / "impactcut.db", create=True) as project:
        add_clip(project, tmp_path / "S1_T1_A_quay.mov")
        clip = make_clip("/quay/S1_T2_A.mov", rate=Fraction(25), section="1", take="2", angle="A")
        odd = (
            make_hit(40, peak_speed=0.4), make_hit(80, reaction=84), make_hit(120, reaction=118),
        )  # fmt: skip
        keep_clip(project, clip, *odd)

    return run_command


def test_the_summary_tells_what_to_look_at(run: Run, tmp_path: Path) -> None:
    result = run("export", "out", "--only", "summary,overview", "--title", "NIGHT <1>")
    assert result.exit_code == 1
    assert "left out picture of hit S1T2A.1 of S1_T2_A.mov" in result.stderr
    assert [Path(line).name for line in result.stdout.splitlines()] == [
        "NIGHT_1_overview.svg",
        "NIGHT_1_summary.html",
    ]
    text = (tmp_path / "out/NIGHT_1_summary.html").read_text("utf-8")
    assert "Visibility is uncalibrated" in text and text.count("calibrated") == 1
    plain = " ".join(re.sub("<[^>]*>", " ", text).split())
    assert "NIGHT &lt;1&gt;" in text and "5 hits in 2 clips" in plain
    assert "1 read weak" in plain and "1 late" in plain and "1 early" in plain
    assert "The receiver moves 2 frames (80 ms) before contact." in plain
    assert "take 1, angle A sells this beat best" in plain.replace("Take", "take")
    assert "never whether a move was or is safe" in plain
    assert "not a harder or closer blow" in plain
    assert run("export", "out", "--only", "summary", "--title", "NIGHT <1>").exit_code == 2


def test_a_take_of_no_known_section_is_not_said_to_be_the_best(run: Run, tmp_path: Path) -> None:
    with Project(tmp_path / "impactcut.db") as project:
        clip = make_clip("/quay/loose.mov", rate=Fraction(25), section="", take="", angle="")
        keep_clip(project, clip, make_hit(40, reaction=44))
    run("export", "out", "--only", "summary", "--title", "NIGHT")
    text = (tmp_path / "out/NIGHT_summary.html").read_text("utf-8")
    assert "section is not known, so it was compared with no other take" in text
    assert text.count("No other take or angle of this beat sells it better") == 1


def test_the_summary_loads_and_runs_nothing(run: Run, tmp_path: Path) -> None:
    run("export", "out", "--only", "summary", "--title", "NIGHT")
    text = (tmp_path / "out/NIGHT_summary.html").read_text("utf-8")
    outline = Outline(text)
    assert outline.headings[0] == 1 and all(b - a <= 1 for a, b in pairwise(outline.headings))
    assert all(address.startswith("data:image/") for address in outline.addresses)
    assert "script" not in outline.tags and outline.without_alt == 0
    (svg,) = (each for each in outline.addresses if each.startswith("data:image/svg+xml"))
    assert ElementTree.fromstring(base64.b64decode(svg.partition(",")[2])).tag == f"{SVG}svg"


def test_lists_and_pages_go_together_and_only_of_some_clips(run: Run, tmp_path: Path) -> None:
    listed = run("export", "a", "--only", "csv,overview", "--proposed", "--take", "1")
    assert listed.exit_code == 0, listed.output
    assert sorted(path.suffix for path in (tmp_path / "a").iterdir()) == [".csv", ".svg"]
    assert "S1_T2" not in next((tmp_path / "a").glob("*.csv")).read_text("utf-8")
    nothing = run("export", "b", "--only", "csv,overview")
    assert nothing.exit_code == 1 and "nothing is approved" in nothing.stderr
    assert [path.name for path in (tmp_path / "b").iterdir()] == ["impactcut_overview.svg"]


def test_a_list_that_is_there_keeps_the_pages_back_too(run: Run, tmp_path: Path) -> None:
    both = ("export", "out", "--proposed", "--only", "summary,csv")
    assert run("export", "out", "--proposed", "--only", "csv").exit_code == 0
    there = {path.name for path in (tmp_path / "out").iterdir()}
    refused = run(*both)
    assert refused.exit_code == 2 and "already there" in refused.stderr
    assert {path.name for path in (tmp_path / "out").iterdir()} == there
    written = run(*both, "--force")
    names = [Path(line).name for line in written.stdout.splitlines()]
    assert names == ["impactcut_summary.html", *sorted(there)]


def test_a_scale_brings_metres_per_second(run: Run, tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text("clip,metres\nS1_T1_A_quay,0.15+-0.03\n")
    assert run("shots", "--log", "log.csv", "--apply").exit_code == 0
    found = run("hits", "--weak").stdout
    uncalibrated = "Visibility is uncalibrated: reasoned from research, not fitted to viewers."
    assert found.endswith(f"3 hits in 2 clips\n{uncalibrated}\n"), (
        "2.5 widths/s across 0.15 m, at most a ninth of the fist: up to 4.1 m/s"
    )
    with Project(tmp_path / "impactcut.db") as project:
        scales = [entry.clip.scale for entry in list_hits(project)]
    assert sorted(map(str, scales)) == ["0.15+-0.03", "None"]
