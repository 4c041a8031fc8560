"""The served page goes on: a refused answer holds nothing up, loads come again, pages agree."""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from typing import Any

import numpy as np

from impactcut.core.trims.decision import Decision
from impactcut.project import Clearing, Project
from tests.helpers.footage.media_files import Recipe, write_planes
from tests.helpers.projects.review_site import (
    FRAMES,
    SAVED,
    Site,
    add_filmed,
    opened,
    served,
    stay,
    text,
    until,
)

AWAY = "() => document.querySelector('.saved').dataset.away === 'true'"
LOOK = "() => document.dispatchEvent(new Event('visibilitychange'))"


def go_to(tab: Any, hit: int) -> None:
    tab.evaluate(f"() => {{ location.hash = '#hit-{hit}'; }}")
    until(tab, f"() => location.hash === '#hit-{hit}' && document.querySelector('.hit.ready')")


def write_note(tab: Any, note: str) -> None:
    """As a keyboard would, but with halves of characters, which Playwright cannot type."""
    tab.evaluate(
        """(note) => {
          const field = document.querySelector("#note");
          field.value = JSON.parse(note);
          field.dispatchEvent(new Event("input"));
        }""",
        json.dumps(note),
    )


def test_half_a_character_in_a_note_holds_no_answer_up(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    write_note(tab, "stop \ud83d here")
    tab.keyboard.press("d")
    go_to(tab, 2)
    tab.locator("h1").focus()
    tab.keyboard.press("l")
    until(tab, SAVED)
    decisions = site.decisions()
    assert decisions[1].note == "stop \ufffd here" and decisions[1].answer == "declined"
    assert decisions[2].answer == "later"
    assert tab.locator(".notice").count() == 0


def test_an_answer_that_is_refused_holds_no_other_up(context: Any, site: Site) -> None:
    """Left in the browser by an earlier version, say: refused, told, and gone."""
    tab = opened(context, site)
    tab.evaluate(
        """() => {
          const name = Object.keys(localStorage).find((each) => each.endsWith(":who"));
          const start = name.slice(0, -3);
          const entry = { id: "aa", tab: "old", at: 1, hit: 1, answer: "maybe" };
          localStorage.setItem(`${start}answer:aa`, JSON.stringify(entry));
          localStorage.setItem(`${start}answer:bb`, "7");
          localStorage.setItem(`${start}answer:cc`, "not JSON");
        }"""
    )
    tab.reload()
    tab.wait_for_selector(".notice")
    assert "the answer could not be taken" in text(tab, ".notice")
    go_to(tab, 2)
    tab.keyboard.press("d")
    until(tab, SAVED)
    assert site.decisions()[2].answer == "declined"
    left = tab.evaluate("() => Object.keys(localStorage).filter((name) => /:answer:/.test(name))")
    assert left == []


def test_where_the_program_fails_at_one_answer_the_others_go_on(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)

    def fail_at_one(route: Any) -> None:
        if json.loads(route.request.post_data)["hit"] == 1:
            route.fulfill(status=500, body="broken")
        else:
            route.continue_()

    tab.route("**/api/answers", fail_at_one)
    tab.keyboard.press("d")
    tab.keyboard.press("l")
    go_to(tab, 2)
    tab.keyboard.press("d")
    go_to(tab, 3)
    tab.keyboard.press("x")
    until(tab, "() => document.querySelector('.saved').textContent.includes('(2 answers)')")
    until(tab, AWAY)
    decisions = site.decisions()
    assert decisions[1] is None
    assert (decisions[2].answer, decisions[3].answer) == ("declined", "not-a-hit")
    assert tab.locator(".notice").count() == 1 and "not be stored yet" in text(tab, ".notice")
    tab.unroute("**/api/answers")
    until(tab, SAVED)
    assert site.decisions()[1].answer == "later"
    with Project(site.project) as project:
        told = [entry.said for entry in project.history(project.hit(1).clip_id)]
    said = [each.answer for each in told if isinstance(each, Decision)]
    assert said == ["declined", "declined", "later"], "in the order given, hit by hit"


def test_failed_loads_come_again_and_keys_work(context: Any, site: Site) -> None:
    tab = opened(context, site, 4)  # which has hits 1 and 2 loaded ahead
    broken = True
    ways = itertools.cycle(["abort", 503])

    def fail_first(route: Any) -> None:
        how = next(ways)
        if not broken:
            route.continue_()
        elif how == "abort":
            route.abort()
        else:
            route.fulfill(status=503, body="{}")

    tab.route("**/api/hits/3", fail_first)
    tab.route("**/api/hits/3/pictures", fail_first)
    tab.evaluate("() => { location.hash = '#hit-3'; }")
    until(tab, "() => document.querySelector('.hit h1').textContent.includes('S2T1B.1')")
    stay(tab)
    tab.keyboard.press("d")
    until(tab, AWAY)
    assert "asking for them again" in text(tab, ".saved")
    broken = False
    tab.wait_for_selector(".hit.ready")
    until(tab, SAVED)
    assert site.decisions()[3].answer == "declined"
    tab.keyboard.press("l")
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Later')")


def test_a_program_that_is_away_before_the_hits_have_come_is_told_of(
    context: Any, site: Site
) -> None:
    tab = context.new_page()
    answers = {"fulfill": {"status": 403, "body": "no running review"}}

    def be_away(route: Any) -> None:
        if answers:
            route.fulfill(**answers["fulfill"])
        else:
            route.abort()

    tab.route("**/api/review", be_away)
    tab.goto(site.address)
    until(tab, "() => document.querySelector('#opening').textContent.includes('has ended')")
    assert "Open the one that 'impactcut review' printed last" in text(tab, "#opening")
    answers["fulfill"] = {"status": 503, "json": {"error": "night.db is locked"}}
    tab.reload()
    until(tab, "() => document.querySelector('#opening').textContent.includes('is locked')")
    answers.clear()
    tab.reload()
    until(tab, "() => document.querySelector('#opening').textContent.includes('not answer')")
    said = text(tab, "#opening")
    assert "start it again" in said and "goes on asking" in said
    assert tab.locator("#opening").get_attribute("role") == "alert"
    tab.unroute("**/api/review")
    tab.wait_for_selector(".card")
    assert tab.locator("#opening").count() == 0


def test_strips_takes_and_clips_come_once_the_program_is_back(context: Any, site: Site) -> None:
    tab = opened(context, site)
    away = True

    def be_away(route: Any) -> None:
        if away:
            route.abort()
        else:
            route.continue_()

    for kind in ("beats", "clips/**", "hits/*/strip"):
        tab.route(f"**/api/{kind}", be_away)
    tab.reload()
    tab.wait_for_selector("#card-1 .cell")
    until(tab, AWAY)
    sheet = "() => document.querySelector('#card-1 .strip').style.getPropertyValue('--sheet')"
    assert tab.evaluate(sheet) == ""
    tab.get_by_role("link", name="Beats").click()
    tab.wait_for_selector(".board")
    assert text(tab, ".board") == "Comparing the takes …"
    away = False
    tab.wait_for_selector(".board td .card")
    until(tab, sheet)
    away = True
    tab.get_by_label("Tap along with a clip").select_option("S1_T1_A_quay.mov")
    until(tab, AWAY)
    assert "cannot be shown" not in text(tab, ".clip")
    away = False
    tab.wait_for_selector(".clip.ready")


def test_what_cannot_be_had_is_said_and_not_asked_for_for_ever(context: Any, site: Site) -> None:
    tab = opened(context, site)
    asked: list[str] = []

    def refuse(route: Any) -> None:
        asked.append(route.request.url)
        route.fulfill(status=409, json={"error": "quay.mov: has changed"})

    tab.route("**/api/hits/2/pictures", refuse)
    tab.evaluate("() => { location.hash = '#hit-2'; }")
    until(tab, "() => document.querySelector('.trouble')?.textContent.includes('has changed')")
    tab.wait_for_timeout(700)
    assert len(asked) == 1
    tab.unroute("**/api/hits/2/pictures")
    go_to(tab, 1)
    go_to(tab, 2)


def test_hits_are_loaded_ahead(context: Any, site: Site) -> None:
    """The next two; opening the next asks for nothing that it needs."""
    tab = opened(context, site)
    asked: list[str] = []
    tab.on("request", lambda request: asked.append(request.url.removeprefix(site.address)))
    go_to(tab, 1)
    for _ in range(100):
        if "api/hits/3/pictures" in asked:
            break
        tab.wait_for_timeout(100)
    for hit in (1, 2, 3):
        assert asked.count(f"api/hits/{hit}") == asked.count(f"api/hits/{hit}/pictures") == 1
    assert "api/hits/4" not in asked
    go_to(tab, 2)
    go_to(tab, 1)
    assert asked.count("api/hits/1") == asked.count("api/hits/2/pictures") == 1


def test_two_browsers_agree(browser: Any, site: Site) -> None:
    people = [browser.new_context() for _ in range(2)]
    one, other = opened(people[0], site, 1, "Ines"), opened(people[1], site, 1, "Jo")
    one.keyboard.press("d")
    until(one, SAVED)
    other.evaluate(LOOK)
    until(other, "() => document.querySelector('.state').textContent.includes('by Ines')")
    other.keyboard.press("x")
    until(other, SAVED)
    one.evaluate(LOOK)
    until(one, "() => document.querySelector('.state').textContent.includes('by Jo')")
    assert text(one, ".state") == text(other, ".state")
    for tab in (one, other):
        assert tab.locator(".notice").count() == 0
        tab.keyboard.press("Escape")
        until(tab, "() => document.querySelector('.card') && !document.querySelector('#card-1')")
    for context in people:
        context.close()


def test_undo_signs_with_the_present_name(context: Any, site: Site) -> None:
    with Project(site.project) as project:
        project.decide(1, Decision("declined", None, "Ines", "2024-03-01T20:00:00Z"))
    tab = opened(context, site, 1, who="Jo")
    tab.keyboard.press("l")
    until(tab, SAVED)
    tab.keyboard.press("u")
    until(tab, "() => document.querySelector('.state').textContent.startsWith('As shot by Jo')")
    until(tab, SAVED)
    assert (site.decisions()[1].answer, site.decisions()[1].who) == ("declined", "Jo")
    go_to(tab, 2)
    tab.keyboard.press("x")
    until(tab, SAVED)
    tab.get_by_label("Your name").fill("Mara")
    tab.locator("h1").focus()
    tab.keyboard.press("u")
    until(tab, "() => document.querySelector('.state').textContent === 'Undecided'")
    until(tab, SAVED)
    with Project(site.project) as project:
        last = project.history(project.hit(2).clip_id)[-1].said
    assert isinstance(last, Clearing) and last.who == "Mara"


def test_undo_leaves_what_somebody_else_answered_since(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.keyboard.press("d")
    until(tab, SAVED)
    with Project(site.project) as project:
        project.decide(1, Decision("later", None, "Jo", "2999-01-01T00:00:00Z"))
    tab.evaluate(LOOK)
    until(tab, "() => document.querySelector('.state').textContent.includes('by Jo')")
    tab.keyboard.press("u")
    tab.wait_for_selector(".notice")
    assert "answered differently since" in text(tab, ".notice")
    assert text(tab, "#said") == "", "what no longer holds is not said any more"
    assert site.decisions()[1].who == "Jo"


def test_a_scan_meanwhile_is_told_and_the_new_hits_come_on_request(
    context: Any, site: Site, reviewed: Path
) -> None:
    tab = opened(context, site, 1)
    write_note(tab, "half a th")
    tab.evaluate(LOOK)
    tab.wait_for_timeout(300)
    assert tab.locator(".notice").count() == 0
    with Project(site.project) as project:
        add_filmed(project, reviewed / "cards" / "S1_T1_A_quay.mov", (30, 50, 66))
    tab.evaluate(LOOK)
    tab.wait_for_selector(".notice")
    assert "scanned again" in text(tab, ".notice")
    tab.evaluate(LOOK)
    tab.wait_for_timeout(300)
    assert tab.locator(".notice").count() == 1
    tab.get_by_role("button", name="Show the hits as they are now").click()
    tab.wait_for_selector(".hit.ready")
    assert tab.get_by_label("Note for everybody").input_value() == "half a th"
    tab.keyboard.press("Escape")
    until(tab, "() => document.querySelectorAll('.card').length === 5")


def test_a_moment_that_flashes_does_not_play_by_itself(context: Any, tmp_path: Path) -> None:
    """White and black four times a second at one hit, and a room with nothing in it."""
    planes = [np.full((180, 320), 235 if 20 < n < 45 and n // 3 % 2 else 40) for n in range(FRAMES)]
    with Project(tmp_path / "night.db", create=True) as project:
        for name, shown in (("strobe.mov", planes), ("room.mov", planes[:1] * FRAMES)):
            path = write_planes(tmp_path / name, shown, Recipe())
            add_filmed(project, path, [30])
    with served(tmp_path / "night.db", tmp_path / "cache") as site:
        names = {hit["clip"]: hit["id"] for hit in context.request.get(
            f"{site.address}api/review").json()["hits"]}  # fmt: skip
        tab = opened(context, site, names["strobe.mov"])
        said = text(tab, ".trouble")
        assert "WCAG 2.3.1" in said and "not a compliance test" in said and "local rules" in said
        tab.wait_for_timeout(200)
        assert tab.get_by_role("button", name="Play", exact=True).count() == 1
        tab.keyboard.press(" ")
        assert tab.get_by_role("button", name="Pause", exact=True).count() == 1
        go_to(tab, names["room.mov"])
        assert tab.get_by_role("button", name="Pause", exact=True).count() == 1
        assert "WCAG" not in text(tab, ".hit")


def test_a_clip_stands_still_before_a_stretch_that_flashes(context: Any, tmp_path: Path) -> None:
    """Whoever plays a clip has not read of flashes to come (WCAG 2.2, 2.3.1); then it goes on."""
    planes = [np.full((180, 320), 235 if n > 50 and n // 3 % 2 else 40) for n in range(FRAMES)]
    with Project(tmp_path / "night.db", create=True) as project:
        add_filmed(project, write_planes(tmp_path / "strobe.mov", planes, Recipe()), [20])
    with served(tmp_path / "night.db", tmp_path / "cache") as site:
        tab = opened(context, site)
        tab.get_by_label("Tap along with a clip").select_option("strobe.mov")
        until(tab, "() => document.querySelector('.tally')?.textContent === 'frame 0 of 100'")
        assert text(tab, ".trouble") == ""
        tab.keyboard.press(" ")
        until(tab, "() => document.querySelector('.trouble').textContent.includes('WCAG 2.3.1')")
        assert tab.get_by_role("button", name="Play", exact=True).count() == 1
        assert text(tab, ".tally") == "frame 50 of 100"
        tab.keyboard.press(" ")
        until(tab, "() => document.querySelector('.tally').textContent === 'frame 99 of 100'")


HUNDREDS = 500


def test_hundreds_of_hits_load_like_ten(context: Any, site: Site) -> None:
    """Every hit has its card and name at once; what more it tells comes near the window alone."""
    review = context.request.get(f"{site.address}api/review").json()
    hit = review["hits"][0]
    review["hits"] = [{**hit, "id": number} for number in range(1, HUNDREDS + 1)]
    tab = context.new_page()
    asked: list[str] = []
    tab.on("request", lambda request: asked.append(request.url))
    tab.route("**/api/review", lambda route: route.fulfill(json=review))
    tab.goto(site.address)
    tab.wait_for_selector(".card")
    assert tab.locator(".card").count() == HUNDREDS
    assert text(tab, ".count").startswith("500 hits, 500 undecided")
    tab.wait_for_timeout(300)
    assert 4 <= sum(address.endswith("/strip") for address in asked) <= 60
    in_view, filled = (
        tab.evaluate(
            """(which) => [...document.querySelectorAll(which)]
              .filter((node) => node.getBoundingClientRect().top < innerHeight).length""",
            which,
        )
        for which in (".card", ".card:has(.cell):has(.card-gain)")
    )
    assert in_view == filled >= 4
    last = f"/{HUNDREDS}/strip"
    assert not any(address.endswith(last) for address in asked)
    end = tab.locator(f"#card-{HUNDREDS}")
    assert f"Hit {hit['name']} {hit['timecode']}" == end.text_content()
    with tab.expect_request(lambda request: request.url.endswith(last)):
        end.scroll_into_view_if_needed()
    until(tab, f"() => document.querySelectorAll('#card-{HUNDREDS} .cell').length === 7")
    assert "faster" in text(tab, f"#card-{HUNDREDS} .card-gain")
    assert tab.locator(".card:has(.cell)").count() < HUNDREDS / 3
    tab.evaluate("() => document.querySelector('#card-250').focus({ preventScroll: true })")
    tab.keyboard.press("ArrowRight")
    assert tab.evaluate("() => document.activeElement.id") == "card-251"
