"""The page under the hand: one key a hit, the strip, the screening, and everything in view.

Where nothing else is named, the checks are of the program's own promises (issue 24).
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.strip import lay_strip, small_frames, strip_frames
from impactcut.project import Project
from tests.helpers.projects.review_site import SAVED, Site, add_clip, opened, served, text, until

SIZES = ((1440, 900), (1280, 720), (1024, 768), (390, 844), (844, 390))
JUDGING = (
    ".frame", ".strip-place .strip", ".judged", ".steps button", ".controls button",
    ".answers button", ".state", ".note textarea", ".tally",
)  # fmt: skip
FOCUS = "() => document.activeElement.textContent"


def hits_of(count: int, folder: Path) -> Path:
    """A project with that many hits."""
    path = folder / "night.db"
    with Project(path, create=True) as project:
        for take in range(1, count // 5 + 1):
            name = f"S1_T{take}_A_quay.mov"
            add_clip(project, folder / "cards" / name, contacts=(15, 32, 49, 66, 83))
    return path


def test_fifteen_answers_at_a_tenth_of_a_second_are_stored_in_order(
    context: Any, tmp_path: Path
) -> None:
    """Nobody waits for a hit to load: the answers know the hits from the overview."""
    with served(hits_of(15, tmp_path), tmp_path / "cache") as site:
        tab = opened(context, site, 1, goes_on=True)
        keys = "adlxaadlaaddaxa"
        for key in keys:
            tab.keyboard.press(key)
            tab.wait_for_timeout(100)
        tab.wait_for_function(SAVED, timeout=60_000)
        meant = {"a": "approved", "d": "declined", "l": "later", "x": "not-a-hit"}
        wanted = [meant[key] for key in keys]
        told = site.decisions()
        assert [told[hit].answer for hit in sorted(told)] == wanted
        with Project(site.project) as project:
            said = [entry for clip in project.clips() for entry in project.history(clip.id)]
        in_order = sorted(said, key=lambda entry: entry.act)
        assert [entry.said.answer for entry in in_order] == wanted  # type: ignore[union-attr]
        assert "U takes it back" in text(tab, "#said")


def test_the_next_undecided_hit_comes_by_itself_and_undo_goes_back(
    context: Any, site: Site
) -> None:
    tab = opened(context, site, 1, goes_on=True)
    assert text(tab, ".tally") == "1 of 4, 0 answered"
    tab.keyboard.press("a")
    assert tab.url.endswith("#hit-2") and text(tab, ".tally") == "2 of 4, 1 answered"
    assert text(tab, "#said").startswith("Hit S1T1A.1: Approved: 1 frame out.")
    tab.keyboard.press("u")
    assert tab.url.endswith("#hit-1") and "taken back" in text(tab, "#said")
    for key in "dada":
        tab.keyboard.press(key)
    assert tab.url.endswith("#hit-4") and "No hits are left undecided" in text(tab, "#said")


def test_a_name_is_asked_for_once_and_the_answer_waits_for_it(context: Any, site: Site) -> None:
    tab = opened(context, site, 1, who="")
    tab.keyboard.press("d")
    assert "Fill in your name first" in text(tab, ".notice")
    tab.keyboard.type("Ines")
    tab.keyboard.press("Enter")
    until(tab, "() => document.querySelector('.state').textContent.startsWith('As shot by Ines')")
    tab.keyboard.press("l")
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Later by Ines')")
    assert tab.locator(".notice").count() == 0


def test_after_every_kind_of_click_the_keys_mean_what_they_mean(context: Any, site: Site) -> None:
    """Space plays and stands, the arrows go from frame to frame, whatever was clicked before."""
    tab = opened(context, site, 1)
    names = ("Wider", "Narrower", "Gap earlier", "Proposed", "+1 frame", "Full speed", "In turn",
             "Compare", "Sound", "Screening", "Save note", "Auto-advance",
             "Undo")  # fmt: skip
    clicked = [
        *(tab.get_by_role("button", name=name) for name in names),
        tab.locator(".why summary"),
        tab.locator(".strip-place .cell").nth(1),
        tab.locator("canvas"), tab.locator(".numbers summary"), tab.locator(".mast .saved"),
    ]  # fmt: skip
    assert len(clicked) > 12
    for place in clicked:
        tab.locator("#note").focus()
        place.click(force=True)
        playing = tab.get_by_role("button", name="Pause").count()
        tab.keyboard.press(" ")
        assert tab.get_by_role("button", name="Pause").count() == 1 - playing, place
        tab.keyboard.press("c")
        at_contact = tab.locator(".frame-now").text_content()
        tab.keyboard.press("ArrowRight")
        assert tab.locator(".frame-now").text_content() != at_contact
        if tab.evaluate("() => document.body.dataset.screening") == "true":
            tab.keyboard.press("f")
    assert tab.locator("#note").input_value() == ""


def test_tab_goes_from_the_heading_through_what_judges_in_order(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    order = []
    for _ in range(22):
        tab.keyboard.press("Tab")
        order.append(str(tab.evaluate(FOCUS)))
    wanted = ["Why", "Gap earlier", "Wider", "Compare", "Screening", "Approve 1 out",
              "As shot", "Later", "Not a hit"]  # fmt: skip
    places = [order.index(each) for each in wanted]
    assert places == sorted(places)
    tab.locator(".answer", has_text="Later").focus()
    tab.keyboard.press(" ")
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Later')")
    assert tab.evaluate(FOCUS) == "Later"


def test_changes_by_key_are_announced_once(context: Any, site: Site) -> None:
    """One live region says them, politely (WCAG 2.2, 4.1.3)."""
    tab = opened(context, site, 1)
    assert tab.locator(".hit [role=status], .hit [aria-live]").count() == 0
    tab.keyboard.press("2")
    assert text(tab, "#said").startswith("2 frames out: Shows")
    tab.keyboard.press("0")
    assert text(tab, "#said") == "As shot"
    tab.keyboard.press("a")
    assert text(tab, "#said").startswith("No trim is chosen")
    tab.keyboard.press("d")
    assert text(tab, "#said").startswith("Hit S1T1A.1: As shot.")
    assert tab.locator("#said").get_attribute("role") == "status"


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_everything_that_judges_is_in_view_and_axe_finds_nothing(
    browser: Any, site: Site, width: int, height: int
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    context = browser.new_context(
        viewport={"width": width, "height": height}, bypass_csp=True, forced_colors="none"
    )
    tab = opened(context, site, 1)
    for selector in JUDGING:
        for box in [each.bounding_box() for each in tab.locator(selector).all()]:
            assert box is not None, selector
            assert box["x"] >= 0 and box["x"] + box["width"] <= width + 1, (selector, box)
            assert box["y"] >= 0 and box["y"] + box["height"] <= height + 1, (selector, box)
    assert tab.locator(".frame").bounding_box()["height"] > height * 0.2
    for key in (None, "f"):
        if key:
            tab.keyboard.press(key)
            tab.wait_for_selector("body[data-screening=true]")
        found = axe.Axe().run(tab)
        assert [(v["id"], v["nodes"][0]["html"]) for v in found.response["violations"]] == []
    screening = tab.locator(".frame").bounding_box()
    assert screening["width"] > width * 0.98 or screening["height"] > height * 0.75
    for button in tab.locator(".answers button").all():
        box = button.bounding_box()
        assert box["y"] + box["height"] <= height
    context.close()


def test_forced_colours_keep_the_strip_and_what_is_pressed(browser: Any, site: Site) -> None:
    context = browser.new_context(forced_colors="active")
    tab = opened(context, site, 1)
    tab.keyboard.press("d")
    colours = tab.evaluate(
        """() => {
          const style = (selector, pseudo) =>
            getComputedStyle(document.querySelector(selector), pseudo);
          return [
            style(".cell[data-kind=out]", "::after").backgroundImage,
            style(".answer[aria-pressed=true]", "::before").content,
            style(".strip-place .strip").forcedColorAdjust,
          ];
        }"""
    )
    assert "linear-gradient" in colours[0] and "✓" in colours[1] and colours[2] == "none"
    context.close()


def test_the_screening_stays_from_hit_to_hit_until_escape(context: Any, site: Site) -> None:
    tab = opened(context, site, 1, goes_on=True)
    before = tab.locator(".frame").bounding_box()
    tab.keyboard.press("f")
    tab.wait_for_selector("body[data-screening=true]")
    assert tab.locator(".frame").bounding_box()["width"] > before["width"]
    tab.keyboard.press("a")
    tab.wait_for_selector(".hit.ready")
    assert tab.url.endswith("#hit-2") and not tab.locator(".mast").is_visible()
    tab.keyboard.press("Escape")
    tab.wait_for_selector("body[data-screening=false]")
    assert tab.url.endswith("#hit-2") and tab.locator(".mast").is_visible()


def test_the_page_lays_the_strip_as_the_program_does(still: Any) -> None:
    shown = strip_frames(40, 100)
    trims = [None, *((first, count) for first in range(36, 44) for count in (1, 2, 3))]
    laid = still.evaluate(
        """async ({shown, contact, trims}) => {
          const { layStrip, smallPart } = await import(`${location.pathname}static/hit/strip.js`);
          return trims.map((trim) => {
            const part = smallPart(shown, contact, trim);
            return [part, layStrip(part, trim), layStrip(shown, trim)];
          });
        }""",
        {
            "shown": [shown.start, len(shown)],
            "contact": 40,
            "trims": [trim and {"first": trim[0], "count": trim[1]} for trim in trims],
        },
    )
    for trim, (part, small, whole) in zip(trims, laid, strict=True):
        out = None if trim is None else FrameRange(trim[0], sum(trim))
        expected = small_frames(shown, 40, out)
        assert part == [expected.start, len(expected)]
        for drawn, frames in ((small, expected), (whole, shown)):
            strip = lay_strip(frames, out)
            assert drawn["seam"] == strip.seam
            for cell, placed in zip(drawn["cells"], strip.cells, strict=True):
                assert (cell["frame"], cell["kind"]) == (placed.frame, placed.kind)
                corner = (placed.left, placed.top, placed.side)
                assert (cell["left"], cell["top"], cell["side"]) == pytest.approx(corner)


def test_the_gap_is_dragged_widened_and_put_back_on_the_strip(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)

    def out() -> list[int]:
        cells = tab.locator(".strip-place .cell[data-kind=out]").all()
        return [int(cell.get_attribute("data-frame")) for cell in cells]

    def at(frame: int) -> Any:
        return tab.locator(f".strip-place .cell[data-frame='{frame}']")

    tab.keyboard.press("1")
    (first,) = out()
    at(first + 1).click()
    assert out() == [first, first + 1]
    at(first).click()
    assert out() == [first + 1]
    tab.wait_for_timeout(300)
    box, end = at(first + 1).bounding_box(), at(32).bounding_box()
    tab.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    tab.mouse.down()
    places = set()
    for step in range(1, 9):
        tab.mouse.move(box["x"] + (end["x"] - box["x"]) * step / 8, box["y"] + 10)
        places.add(text(tab, ".where"))
    tab.mouse.up()
    assert out()[0] > first + 1 and len(out()) == 1 and len(places) > 1
    tab.keyboard.press("0")
    assert out() == [] and text(tab, ".where") == "Nothing goes out"


def test_the_frames_that_meet_touch_below_those_that_are_lifted() -> None:
    for count in (1, 2, 3):
        strip = lay_strip(FrameRange(34, 48), FrameRange(38, 38 + count))
        pair = [cell for cell in strip.cells if cell.kind == "meets"]
        out = [cell for cell in strip.cells if cell.kind == "out"]
        assert [cell.frame for cell in pair] == [37, 38 + count] and len(out) == count
        assert pair[0].left + pair[0].side == pytest.approx(pair[1].left) == strip.seam
        middle = sum(cell.left + cell.side / 2 for cell in out) / count
        assert middle == pytest.approx(strip.seam)
        row = [cell for cell in strip.cells if cell.kind != "out"]
        assert all(a.left + a.side <= b.left + 1e-9 for a, b in pairwise(row))
        assert max(cell.top + cell.side for cell in out) < row[0].top


def test_a_playing_hit_keeps_its_rate_by_the_clock_of_the_page(context: Any, site: Site) -> None:
    """25 frames a second, within 1 % over ten seconds, none left out; the clock is the test's."""
    tab = opened(context, site, 1)
    tab.keyboard.press("r")
    tab.keyboard.press("0")
    tab.clock.install()
    tab.evaluate(
        """() => {
          window.seen = [];
          document.querySelector("canvas").addEventListener("shown", (event) => seen.push(
            [event.detail.frame, event.detail.at]));
        }"""
    )
    tab.keyboard.press(" ")
    tab.keyboard.press(" ")
    tab.clock.run_for(200)
    tab.evaluate("() => { window.seen.length = 0; }")
    tab.clock.run_for(10_000)
    seen = tab.evaluate("() => window.seen")
    first, last = 12, 48
    runs = [after[1] - before[1] for before, after in pairwise(seen) if after[0] == before[0] + 1]
    assert all(b[0] == a[0] + 1 or (a[0], b[0]) == (last, first) for a, b in pairwise(seen))
    assert len(runs) > 120 and sum(runs) / len(runs) == pytest.approx(1000 / 25, rel=0.01)
