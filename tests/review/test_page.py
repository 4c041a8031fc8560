"""The page as one file: whole, small enough, without a network, and its answers brought back."""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from impactcut.core.trims.decision import Decision
from impactcut.core.viewer.flashes import Flashes
from impactcut.media.render.pictures import Picture
from impactcut.project import Project
from impactcut.review.assets import block_text
from impactcut.review.packing import pack_run
from impactcut.review.page import make_page
from impactcut.workflow.pictures.hit_pictures import fit_run
from tests.helpers.footage.media_files import Recipe, numbered, write_planes
from tests.helpers.projects.review_site import (
    FRAMES,
    add_filmed,
    make_project,
    stay,
    without_flashes,
)
from tests.helpers.running.commands import Run, run_command


@pytest.fixture
def run(own_project: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("IMPACTCUT_PROJECT", str(own_project))
    return run_command


@pytest.fixture
def context(browser: Any) -> Iterator[Any]:
    made = browser.new_context(offline=True, accept_downloads=True)
    made.set_default_timeout(60_000)
    yield made
    made.close()


def blocks(html: str) -> dict[str, str]:
    """The data in a page by their ids."""
    found = re.findall(r'<script type="text/plain" id="([\w-]+)">([^<]*)</script>', html)
    return dict(found)


def opened(context: Any, file: Path, hit: int | None = None) -> Any:
    tab = context.new_page()
    tab.troubles = []
    tab.on("pageerror", lambda error: tab.troubles.append(str(error)))
    tab.on("dialog", lambda dialog: tab.troubles.append(dialog.message))
    tab.on("request", lambda request: tab.troubles.append(request.url) if "http" in request.url[:4]
           else None)  # fmt: skip
    tab.goto(file.as_uri() + ("" if hit is None else f"#hit-{hit}"))
    tab.wait_for_selector(".card" if hit is None else ".hit.ready")
    return tab


def test_command_writes_one_file(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "judge.html"
    first = run("page", file)
    assert first.exit_code == 0 and first.stdout == f"{file}\n"
    assert "4 hits" in first.stderr and "KB a hit" in first.stderr
    again = run("page", file)
    assert again.exit_code == 2 and "--force" in again.stderr
    assert run("page", file, "--force", "--quiet").stderr == ""
    assert run("page", tmp_path / "one.html", "--section", "2", "--quiet").exit_code == 0
    held = json.loads(blocks((tmp_path / "one.html").read_text())["review"])
    assert {hit["section"] for hit in held["hits"]} == {"2"}
    nothing = run("page", tmp_path / "none.html", "--section", "2", "--early")
    assert nothing.exit_code == 2 and "no such hit" in nothing.stderr
    unknown = run("page", tmp_path / "none.html", "--section", "9")
    assert unknown.exit_code == 2 and "section '9'; there are 1, 2" in unknown.stderr
    wrong = run("page", tmp_path / "none.pdf")
    assert wrong.exit_code == 2 and "must end in .html" in wrong.stderr
    assert not list(tmp_path.glob("none.*"))


def test_a_page_that_is_there_is_refused_before_any_work(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def make(*_: object, **__: object) -> None:
        raise AssertionError("made in vain")

    monkeypatch.setattr("impactcut.review.page.make_page", make)
    (tmp_path / "judge.html").write_text("mine")
    there = run("page", tmp_path / "judge.html")
    assert there.exit_code == 2 and "judge.html: already there" in there.stderr
    nowhere = run("page", tmp_path / "judge.html/one.html")
    assert nowhere.exit_code == 2 and "cannot be written" in nowhere.stderr
    (tmp_path / "folder.html").mkdir()
    folder = run("page", tmp_path / "folder.html", "--force")
    assert folder.exit_code == 2 and "folder.html' is a directory" in folder.stderr


def test_hits_whose_clip_is_gone_are_named_and_the_rest_is_written(
    run: Run, own_project: Path, reviewed: Path, tmp_path: Path
) -> None:
    clip = reviewed / "cards" / "S2_T1_B_quay.mov"
    away = clip.rename(clip.with_suffix(".away"))
    try:
        result = run("page", tmp_path / "judge.html")
    finally:
        away.rename(clip)
    assert result.exit_code == 1 and result.stderr.count("left out hit") == 2
    held = json.loads(blocks((tmp_path / "judge.html").read_text())["review"])
    assert {hit["clip"] for hit in held["hits"]} == {"S1_T1_A_quay.mov"}


def test_every_hit_takes_less_than_400_kilobytes(tmp_path: Path) -> None:
    """Noise is the hardest to compress."""
    random = np.random.default_rng(1)
    planes = [random.integers(90, 140, (180, 320)) for _ in range(FRAMES)]
    noisy = write_planes(tmp_path / "S1_T2_A_noise.mov", planes, Recipe(options={"qp": "1"}))
    with Project(tmp_path / "night.db", create=True) as project:
        add_filmed(project, noisy, [50])
        made = make_page(project, most_bytes=10**9)
        small = make_page(project, most_bytes=150_000)
    assert 200_000 < made.most_bytes < 396_000
    assert sum(map(len, blocks(made.html).values())) - made.most_bytes < 4_000
    assert small.most_bytes < 150_000


def test_the_file_shows_every_frame_in_its_turn_and_colour(still: Any) -> None:
    """Frames carry their numbers, and a red whose green BT.601 would show as 24."""
    pictures = []
    for number in range(20, 45):
        plane = without_flashes(numbered(number))
        picture = np.repeat(plane[:, :, None], 3, axis=2)
        picture[100:, :160], picture[100:, 160:] = (40, 40, 190), (180, 60, 30)
        pictures.append(Picture(number, picture))
    run = fit_run(pictures, 400_000)
    pack = base64.b64encode(pack_run(run, Flashes())).decode()
    found = still.evaluate(
        """async (pack) => {
          const { decodePack } = await import("./static/data/pack.js");
          const bytes = Uint8Array.from(atob(pack), (letter) => letter.charCodeAt(0));
          const { bitmaps, first } = await decodePack(bytes.buffer);
          const canvas = new OffscreenCanvas(bitmaps[0].width, bitmaps[0].height);
          const context = canvas.getContext("2d");
          return [first, bitmaps.map((bitmap) => {
            context.drawImage(bitmap, 0, 0);
            const at = (x, y) => [...context.getImageData(x, y, 1, 1).data].slice(0, 3);
            const number = [0, 1, 2, 3, 4, 5, 6, 7]
              .reduce((sum, bit) => sum + (at(20 + 40 * bit, 20)[1] > 128 ? 1 << bit : 0), 0);
            return [number, at(80, 150), at(240, 150)];
          })];
        }""",
        pack,
    )
    assert found[0] == 20
    assert [number for number, *_ in found[1]] == list(range(20, 45))
    for _, red, blue in found[1]:
        assert np.abs(np.subtract(red, (190, 40, 40))).max() <= 6
        assert np.abs(np.subtract(blue, (30, 60, 180))).max() <= 10


def test_page_asks_for_nothing_from_outside_and_allows_only_its_own_script(
    own_project: Path,
) -> None:
    with Project(own_project) as opened_project:
        html = make_page(opened_project, most_bytes=10**7).html
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', html)
    assert policy is not None
    assert "default-src 'none'" in policy[1] and "unsafe" not in policy[1]
    assert "connect-src" not in policy[1]
    assert not re.search(r'(?:src|href)="(?!data:|#)', html)
    assert str(own_project.parent) not in html
    assert str(own_project.parent.parent / "reviewed") not in html


def test_data_cannot_end_their_element() -> None:
    hostile = {"note": "</script><!--<script>&\u2028"}
    text = block_text(json.dumps(hostile, ensure_ascii=False))
    assert not set("<>&\u2028") & set(text)
    assert json.loads(text) == hostile


def test_same_project_gives_the_same_pictures(own_project: Path) -> None:
    with Project(own_project) as opened_project:
        first, second = (blocks(make_page(opened_project, most_bytes=10**7).html) for _ in range(2))
    first.pop("review")
    second.pop("review")
    assert first == second
    assert base64.b64decode(first["pictures-1"])[4:5] == b"{"


def test_director_answers_offline_and_the_answers_come_back(
    run: Run, own_project: Path, context: Any, tmp_path: Path
) -> None:
    file = tmp_path / "judge.html"
    run("page", file)
    tab = opened(context, file)
    assert tab.locator(".card").count() == 4
    tab.get_by_label("Your name").fill("Ines")
    tab.locator(".card").first.click()
    tab.wait_for_selector(".hit.ready")
    stay(tab)
    tab.keyboard.press("2")
    tab.keyboard.press("Shift+ArrowLeft")
    tab.get_by_label("Note for everybody").fill("yes: <this> one\nwith a line")
    tab.get_by_role("button", name="Approve").click()
    tab.keyboard.press("ArrowDown")
    tab.wait_for_function("() => location.hash === '#hit-2'")
    tab.wait_for_selector(".hit.ready")
    tab.keyboard.press("a")
    tab.keyboard.press("d")
    tab.keyboard.press("ArrowDown")
    tab.wait_for_function("() => location.hash === '#hit-3'")
    tab.wait_for_selector(".hit.ready")
    tab.keyboard.press("l")
    tab.keyboard.press("u")
    tab.reload()
    tab.wait_for_selector(".hit.ready")
    assert tab.locator(".saved").inner_text() == "2 answers, kept in this browser"
    with tab.expect_download() as download:
        tab.get_by_role("button", name="Save answers as a file").click()
    assert tab.troubles == []
    name = download.value.suggested_filename
    assert name == "answers_night_Ines.json"
    answers = tmp_path / name
    download.value.save_as(answers)
    result = run("decide", "--answers", answers)
    assert result.exit_code == 0, result.output
    assert result.stdout.count("\n") == 2
    with Project(own_project) as opened_project:
        one, two, three = (opened_project.hit(hit).decision for hit in (1, 2, 3))
    assert one is not None and one.answer == "approved" and one.trim is not None
    assert len(one.trim) == 2 and (one.who, one.note) == ("Ines", "yes: <this> one\nwith a line")
    assert two is not None and two.answer == "declined"
    assert three is None
    again = run("decide", "--answers", answers)
    assert again.exit_code == 0 and again.stdout.count("as it was already") == 2


def test_pages_of_one_project_keep_their_answers_apart(
    run: Run, context: Any, own_project: Path, tmp_path: Path
) -> None:
    run("page", tmp_path / "one.html")
    tab = opened(context, tmp_path / "one.html", 1)
    tab.get_by_role("button", name="Later", exact=True).click()
    made = tmp_path / "two.html"
    run("page", made)
    html = made.read_text()
    made.write_text(re.sub(r'("made": ")\d{4}', r"\g<1>2001", html))
    other = opened(context, made, 1)
    assert other.locator(".state").inner_text() == "Undecided"


def test_hostile_names_stay_text_in_the_file(context: Any, tmp_path: Path) -> None:
    name = "S1_T1_A_<img src=x onerror=alert(1)>\"'&amp;<script>alert(2)<!--.mov"
    path = make_project(tmp_path, [name])
    note = "</script><script>alert(3)</script><!--"
    with Project(path) as project:
        project.decide(1, Decision("later", None, note, "2024-03-01T20:00:00Z", note))
        html = make_page(project, most_bytes=10**7).html
    (tmp_path / "judge.html").write_text(html)
    tab = opened(context, tmp_path / "judge.html", 1)
    assert name in tab.locator(".facts").inner_text()
    assert tab.get_by_label("Note for everybody").input_value() == note
    assert tab.troubles == []


@pytest.mark.parametrize(("width", "height"), [(1280, 720), (390, 844)])
def test_the_file_acts_as_the_served_page_does_and_axe_finds_nothing(
    run: Run, browser: Any, tmp_path: Path, width: int, height: int
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    run("page", tmp_path / "judge.html")
    context = browser.new_context(bypass_csp=True, viewport={"width": width, "height": height})
    tab = opened(context, tmp_path / "judge.html")
    for place in ("", "#beats", "#hit-1"):
        tab.goto((tmp_path / "judge.html").as_uri() + place)
        tab.wait_for_selector(".hit.ready" if "hit" in place else ".card")
        found = axe.Axe().run(tab)
        assert [(v["id"], v["nodes"][0]["html"]) for v in found.response["violations"]] == []
    tab.get_by_label("Your name").fill("Ines")
    tab.locator("h1").focus()
    for key in "fdal":
        tab.keyboard.press(key)
    assert tab.url.endswith("#hit-4")
    assert tab.locator("#said").inner_text().startswith("Hit S2T1B.1: Later")
    assert tab.locator("body").get_attribute("data-screening") == "true"
    context.close()
