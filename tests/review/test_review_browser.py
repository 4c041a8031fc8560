"""The served page for everybody: all hits at a glance, any screen, any name, keyboard or reader.

Contrast, names and roles are checked by axe-core against WCAG 2.2 A and AA.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.reasons import SHOWS
from impactcut.project import Project
from impactcut.workflow.hits.listing import find_hit
from tests.helpers.projects.review_site import (
    FRAMES,
    Site,
    make_project,
    opened,
    served,
    text,
    until,
)


def test_overview_shows_every_hit_and_opens_one(overview_tab: Any, site: Site) -> None:
    assert overview_tab.locator(".card").count() == 4
    assert text(overview_tab, ".count") == "4 hits, 4 undecided"
    assert [item.inner_text() for item in overview_tab.locator(".group h2").all()] == [
        "Section 1",
        "Section 2",
    ]
    assert overview_tab.locator("#card-1 .cell").count() == 7
    overview_tab.locator(".card").first.click()
    overview_tab.wait_for_selector(".hit.ready")
    assert overview_tab.url.endswith("#hit-1") and overview_tab.title().startswith("Hit S1T1A.1")
    assert "contact 00:00:01:05" in text(overview_tab, ".hit-head")
    overview_tab.go_back()
    overview_tab.wait_for_selector(".card")
    assert overview_tab.evaluate("() => document.activeElement.id") == "card-1"
    assert overview_tab.troubles == []


def test_filters_and_order(overview_tab: Any, site: Site) -> None:
    overview_tab.get_by_label("Section").select_option("Section 2")
    assert [card.get_attribute("id") for card in overview_tab.locator(".card").all()] == [
        "card-3",
        "card-4",
    ]
    overview_tab.get_by_role("button", name="Flagged").click()
    flagged = overview_tab.locator(".card").count()
    overview_tab.get_by_role("button", name="Flagged").click()
    with Project(site.project) as project:
        project.decide(3, Decision("declined", None, "Ines", "2024-03-01T20:00:00Z"))
    until(overview_tab, "() => document.querySelector('#card-3').dataset.answer === 'declined'")
    overview_tab.get_by_role("button", name="Undecided").click()
    assert overview_tab.locator(".card").count() == 1 and flagged in (0, 2)
    overview_tab.reload()
    overview_tab.wait_for_selector(".card")
    assert overview_tab.locator(".card").count() == 1
    overview_tab.get_by_label("Section").select_option("All sections")
    overview_tab.get_by_label("Sort").select_option("Most gained first")
    assert overview_tab.locator(".card").count() == 3


def test_a_card_tells_of_the_trim_that_was_approved(overview_tab: Any, site: Site) -> None:
    """The same numbers as the table, which are those of the trim as it was judged."""
    with Project(site.project) as project:
        entry = find_hit(project, 1)
        assert entry.proposal.proposed is not None
        gains = {f"{entry.proposal.proposed.speed_gain:.2f}", "1.00"}
        other = next(
            trim
            for trim in entry.proposal.trims
            if not trim.vetoes and trim.speed_gain > 1 and f"{trim.speed_gain:.2f}" not in gains
        )
        project.decide(1, Decision("approved", other.frames, "Ines", "2024-03-01T20:00:00Z"))
    until(overview_tab, "() => document.querySelector('#card-1').dataset.answer === 'approved'")
    told = f"{other.speed_gain:.2f}× faster, {other.count} out"
    assert text(overview_tab, "#card-1 .card-gain") == told
    assert text(overview_tab, "#card-1 .card-seen") == f"Shows {SHOWS[other.verdict]}"


@pytest.mark.parametrize(
    ("width", "height", "scale"), [(360, 740, 2), (640, 400, 2), (1600, 900, 1)]
)
def test_nothing_lies_beyond_the_edge(
    browser: Any, site: Site, width: int, height: int, scale: int
) -> None:
    """360 px; 1280 x 800 at 200 %; and a large screen. WCAG 2.2, 1.4.10 and 2.5.8."""
    context = browser.new_context(
        viewport={"width": width, "height": height}, device_scale_factor=scale
    )
    for hit in (None, 1):
        tab = opened(context, site, hit)
        assert tab.evaluate("() => document.documentElement.scrollWidth") <= width
        small = tab.evaluate(
            """() => [...document.querySelectorAll("button, select, summary, .card")]
              .map((node) => node.getBoundingClientRect())
              .filter((box) => box.width > 0 && (box.width < 24 || box.height < 24)).length"""
        )
        assert small == 0
    context.close()


def test_no_name_and_no_note_is_too_long(browser: Any, site: Site) -> None:
    who = "Donaudampfschifffahrtselektrizitaetenhauptbetriebswerkbauunterbeamter \U0001f94a"
    with Project(site.project) as project:
        for hit in (1, 2):
            note = "\U0001f94a" + "w" * 300
            said = Decision("later", None, who, "2024-03-01T20:00:00Z", note, who)
            project.decide(hit, said)
    for width in (320, 390, 1024, 1440):
        context = browser.new_context(viewport={"width": width, "height": 800})
        for hit in (None, 1):
            tab = opened(context, site, hit)
            assert tab.evaluate("() => document.documentElement.scrollWidth") <= width
            assert "…" not in text(tab, ".state" if hit else "#card-1 .card-state")
        context.close()


def test_on_the_smallest_screen_the_answers_stay_in_view(browser: Any, site: Site) -> None:
    """320 px, the width at which WCAG 2.2, 1.4.10, asks for no scrolling sideways."""
    context = browser.new_context(viewport={"width": 320, "height": 640})
    tab = opened(context, site, 1)
    for button in tab.locator(".answers button").all():
        box = button.bounding_box()
        assert box["y"] > 0 and box["y"] + box["height"] <= 640
    assert tab.evaluate("() => document.documentElement.scrollWidth") <= 320
    tab.locator(".answer", has_text="Later").click()
    assert text(tab, ".state").startswith("Later")
    context.close()


@pytest.mark.parametrize(
    ("width", "height"), [(1440, 900), (1280, 720), (1024, 768), (390, 844), (844, 390)]
)
def test_axe_finds_nothing(browser: Any, site: Site, width: int, height: int) -> None:
    """In the overview, the beats, and the panel of keys; hits: test_review_hands.py."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    context = browser.new_context(viewport={"width": width, "height": height}, bypass_csp=True)
    rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    tab = opened(context, site)
    for place in ("overview", "beats", "keys"):
        if place == "beats":
            tab.get_by_role("link", name="Beats").click()
            tab.wait_for_selector(".board .card")
        if place == "keys":
            tab.keyboard.press("?")
        found = axe.Axe().run(tab, options={"runOnly": {"type": "tag", "values": rules}})
        told = [(v["id"], v["nodes"][0]["html"]) for v in found.response["violations"]]
        assert told == []
        assert len(found.response["passes"]) > 15
    context.close()


def test_hostile_names_and_notes_stay_text(context: Any, tmp_path: Path) -> None:
    name = "S1_T1_A_<img src=x onerror=alert(1)>\"'&amp;<script>alert(2)<!--.mov"
    project = make_project(tmp_path, [name])
    note = "</textarea></script><img src=x onerror=alert(3)><svg onload=alert(4)>\u202e"
    with Project(project) as opened_project:
        opened_project.decide(
            1, Decision("approved", FrameRange(29, 30), note, "2024-03-01T20:00:00Z", note)
        )
    with served(project, tmp_path / "cache") as site:
        tab = opened(context, site, 1)
        assert name in text(tab, ".facts")
        assert tab.get_by_label("Note for everybody").input_value() == note
        assert note[:30] in text(tab, ".state")
        assert tab.locator("main img, main script, main svg").count() == 0
        tab.keyboard.press("Escape")
        tab.wait_for_selector(".card")
        tab.wait_for_timeout(200)
        assert tab.troubles == []


def test_scripts_from_elsewhere_do_not_run(overview_tab: Any) -> None:
    blocked = overview_tab.evaluate(
        """async () => {
          const said = [];
          document.addEventListener("securitypolicyviolation",
            (event) => said.push(event.effectiveDirective));
          const script = document.createElement("script");
          try { script.textContent = "window.hacked = 1"; document.body.append(script); }
          catch (error) { said.push(error.name); }
          try { document.body.insertAdjacentHTML("beforeend", "<img src=x onerror=hacked=2>"); }
          catch (error) { said.push(error.name); }
          await fetch("https://192.0.2.1/").catch(() => null);
          await new Promise((done) => setTimeout(done, 200));
          return [window.hacked ?? null, said];
        }"""
    )
    assert blocked[0] is None
    assert "TypeError" in blocked[1] and "connect-src" in blocked[1]


def test_frames_shown_lie_around_the_contact(overview_tab: Any, site: Site) -> None:
    hits = overview_tab.request.get(f"{site.address}api/review").json()["hits"]
    for hit in hits:
        first, count = hit["shown"]
        assert 0 <= first < hit["contact"] < first + count <= FRAMES
