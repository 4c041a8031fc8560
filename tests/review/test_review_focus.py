"""The page with a heavy hand and without a mouse: keys held down, keys too early, where focus goes.

Where nothing else is named, the checks are of the program's own promises.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest

from impactcut.core.trims.decision import Decision
from impactcut.project import Project
from tests.helpers.projects.review_site import SAVED, Site, opened, served, stay, text, until

FOCUS = "() => [document.activeElement.tagName, document.activeElement.textContent]"


def keep_only(path: Path, hits: str) -> None:
    """Leave only some hits in a project."""
    with sqlite3.connect(path) as database:
        database.execute("PRAGMA foreign_keys = ON")
        database.execute(f"DELETE FROM hits WHERE id NOT IN ({hits})")


def until_held(tab: Any, held: list[Any]) -> None:
    """Wait until a request that was routed to a list is there."""
    for _ in range(100):
        if held:
            return
        tab.wait_for_timeout(50)
    raise AssertionError("nothing was asked for")


def answers(site: Site) -> dict[int, str]:
    return {hit: said.answer for hit, said in site.decisions().items() if said is not None}


def test_a_key_that_is_held_down_answers_once(context: Any, site: Site) -> None:
    """A finger that rests on a key judges one hit, not all that come after it."""
    tab = opened(context, site, 1, goes_on=True)
    for _ in range(6):
        tab.keyboard.down("d")
    tab.keyboard.up("d")
    assert tab.url.endswith("#hit-2")
    until(tab, SAVED)
    assert answers(site) == {1: "declined"}
    tab.wait_for_selector(".hit.ready")
    tab.keyboard.press("c")
    tab.keyboard.press("0")
    before = tab.locator(".frame-now").text_content()
    for _ in range(3):
        tab.keyboard.down("ArrowRight")
    tab.keyboard.up("ArrowRight")
    assert (before, tab.locator(".frame-now").text_content()) == (
        "00:00:02:16  contact", "00:00:02:19  contact +3",
    )  # fmt: skip


@pytest.mark.parametrize("slow", [False, True])
def test_keys_mean_the_same_whether_a_hit_has_loaded_or_not(
    context: Any, site: Site, slow: bool
) -> None:
    """Two out, approve; the next as shot; both taken back in turn; the first as shot."""
    tab = opened(context, site)
    held: list[Any] = []
    if slow:
        tab.route("**/api/hits/1", lambda route: held.append(route))
    tab.evaluate("() => { location.hash = '#hit-1'; }")
    if slow:
        until_held(tab, held)
    else:
        tab.wait_for_selector(".hit.ready")
    for key in "2aduud":
        tab.keyboard.press(key)
    if slow:
        assert tab.url.endswith("#hit-1") and "still loading" in text(tab, "#said")
        held[0].continue_()
    until(tab, "() => location.hash === '#hit-2'")
    until(tab, "() => document.querySelector('#said').textContent.includes('S1T1A.1: As shot')")
    until(tab, SAVED)
    with Project(site.project) as project:
        told = project.history(project.hit(1).clip_id)
    said = [
        (entry.contact, getattr(entry.said, "answer", "cleared"))
        for entry in sorted(told, key=lambda entry: entry.act)
    ]
    assert said == [
        (30, "approved"), (66, "declined"), (66, "cleared"), (30, "cleared"), (30, "declined"),
    ]  # fmt: skip


def test_focus_is_never_lost(context: Any, site: Site) -> None:
    """What had it goes away: a notice, a hit that the filter no longer shows, a clip."""
    tab = opened(context, site, 1, who="")
    for _ in range(3):
        tab.locator(".answer", has_text="As shot").click()
    assert tab.locator(".notice").count() == 1
    tab.get_by_role("button", name="Got it").focus()
    tab.keyboard.press("Enter")
    assert tab.locator(".notice").count() == 0
    assert tab.evaluate(FOCUS) == ["H1", "Hit S1T1A.1"]
    tab.get_by_label("Your name").fill("Mara")
    tab.keyboard.press("Escape")
    tab.keyboard.press("Escape")
    tab.get_by_role("button", name="Undecided", exact=True).click()
    tab.locator("#card-1").click()
    tab.wait_for_selector(".hit.ready")
    stay(tab)
    tab.keyboard.press("d")
    tab.keyboard.press("Escape")
    tab.wait_for_selector("#card-2")
    assert tab.evaluate(FOCUS) == ["H1", "night"]
    tab.get_by_label("Tap along with a clip").select_option("S1_T1_A_quay.mov")
    until(tab, "() => document.querySelector('.tally')?.textContent === 'frame 0 of 100'")
    tab.keyboard.press("Escape")
    tab.wait_for_selector("#card-2")
    assert tab.evaluate(FOCUS) == ["H1", "night"]


def test_a_name_takes_away_the_question_for_it_and_no_other_notice(
    context: Any, site: Site
) -> None:
    tab = opened(context, site, 1, who="")
    with Project(site.project) as project:
        project.decide(1, Decision("later", None, "Jo", "2024-03-01T20:00:00Z"))
    tab.route("**/api/decisions", lambda route: route.abort())
    tab.get_by_label("Your name").fill("Ines")
    tab.locator(".answer", has_text="As shot").click()
    tab.wait_for_selector(".notice")
    tab.get_by_label("Your name").fill("")
    tab.locator(".answer", has_text="Later").click()
    assert tab.locator(".notice").count() == 2
    tab.keyboard.type("Jo")
    tab.keyboard.press("Enter")
    assert [node.inner_text() for node in tab.locator(".notice p").all()] == [
        told for told in [text(tab, ".notice p")] if "replaced one you had not seen" in told
    ]


def test_one_hit_and_none_are_said_as_they_are(
    context: Any, own_project: Path, tmp_path: Path
) -> None:
    keep_only(own_project, "1")
    with served(own_project, tmp_path / "cache") as site:
        tab = opened(context, site)
        assert text(tab, ".count") == "1 hit, 1 undecided"
        tab.locator("#card-1").focus()
        tab.keyboard.press("d")
        tab.keyboard.press("o")
        assert text(tab, "#said") == "No other hit is left undecided"
    keep_only(own_project, "0")
    with served(own_project, tmp_path / "cache") as site:
        tab = context.new_page()
        tab.goto(site.address)
        assert text(tab, ".nothing").startswith("There are no hits to judge")
        assert tab.get_by_role("button", name="Undecided").count() == 0, "nothing to choose from"


def test_a_trim_can_be_chosen_by_button_where_none_is_proposed(context: Any, site: Site) -> None:
    """Nothing needs a single letter or digit, which can be switched off (WCAG 2.2, 2.1.4)."""
    review = context.request.get(f"{site.address}api/review").json()
    for hit in review["hits"]:
        hit.update(proposed=None, no_trim="every trim that gains shows")
    tab = context.new_page()
    tab.route("**/api/review", lambda route: route.fulfill(json=review))
    tab.goto(f"{site.address}#hit-1")
    tab.wait_for_selector(".hit.ready")
    assert text(tab, ".where") == "Nothing goes out"
    tab.get_by_role("button", name="Wider").click()
    assert text(tab, ".where").startswith("Out: contact")
    assert text(tab, ".answer >> nth=0").startswith("Approve 1 out")


def test_the_screening_shows_its_picture_wherever_the_page_was(browser: Any, site: Site) -> None:
    context = browser.new_context(viewport={"width": 320, "height": 480})
    tab = opened(context, site, 1)
    tab.evaluate("() => scrollTo(0, document.body.scrollHeight)")
    tab.keyboard.press("f")
    tab.wait_for_selector("body[data-screening=true]")
    box = tab.locator(".frame").bounding_box()
    assert box["y"] >= 0 and box["y"] + box["height"] <= 480
    context.close()


def test_the_screening_keeps_the_focus_on_what_is_seen(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.get_by_role("button", name="Gap earlier").focus()
    tab.keyboard.press("f")
    tab.wait_for_selector("body[data-screening=true]")
    assert tab.evaluate(FOCUS) == ["H1", "Hit S1T1A.1"]


def test_escape_leaves_a_field_before_the_hit(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    for field in ("Your name", "Note for everybody"):
        tab.get_by_label(field).focus()
        tab.keyboard.press("Escape")
        assert tab.url.endswith("#hit-1")
        assert tab.evaluate(FOCUS) == ["H1", "Hit S1T1A.1"]
