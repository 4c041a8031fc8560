"""The served page takes answers: they reach the project, outlive faults, and surprise nobody."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from impactcut.core.trims.decision import Decision
from impactcut.project import Project
from tests.helpers.projects.review_site import SAVED, Site, opened, served, stay, text, until


def test_answers_reach_the_project_and_can_be_undone(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.get_by_label("Your name").fill("Ines")
    tab.get_by_label("Note for everybody").fill("harder, <b>please</b>")
    tab.locator("h1").click()
    tab.keyboard.press("1")
    tab.keyboard.press("a")
    until(tab, SAVED)
    decision = site.decisions()[1]
    assert decision.answer == "approved" and len(decision.trim) == 1
    assert (decision.who, decision.note) == ("Ines", "harder, <b>please</b>")
    assert "Approved: 1 frame out, contact" in text(tab, ".state")
    assert "by Ines" in text(tab, ".state")
    tab.reload()
    tab.wait_for_selector(".hit.ready")
    assert "Approved: 1 frame out, contact" in text(tab, ".state")
    assert "by Ines" in text(tab, ".state")
    assert tab.get_by_label("Note for everybody").input_value() == "harder, <b>please</b>"
    tab.keyboard.press("d")
    until(tab, "() => document.querySelector('.state').textContent.startsWith('As shot')")
    tab.keyboard.press("u")
    tab.keyboard.press("u")
    until(tab, "() => document.querySelector('.state').textContent === 'Undecided'")
    until(tab, SAVED)
    assert site.decisions()[1] is None
    with Project(site.project) as project:
        said = [type(entry.said).__name__ for entry in project.history(project.hit(1).clip_id)]
    assert said == ["Decision", "Decision", "Decision", "Clearing"]


def test_notes_that_are_not_saved_survive_a_reload(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.get_by_label("Note for everybody").type("half a th")
    tab.reload()
    tab.wait_for_selector(".hit.ready")
    assert tab.get_by_label("Note for everybody").input_value() == "half a th"
    tab.get_by_role("button", name="Save note").click()
    until(tab, "() => document.querySelector('.state').textContent === 'Undecided'")
    until(tab, SAVED)
    decision = site.decisions()[1]
    assert (decision.answer, decision.note, decision.note_who) == ("open", "half a th", "Mara")


def test_what_is_no_hit_leaves_the_overview(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.keyboard.press("Escape")
    tab.wait_for_selector("#card-1")
    tab.goto(site.address + "#hit-1")
    tab.wait_for_selector(".hit.ready")
    tab.locator("h1").click()
    tab.keyboard.press("x")
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Not a hit by Mara')")
    until(tab, SAVED)
    tab.keyboard.press("Escape")
    tab.wait_for_selector("#card-2")
    assert tab.locator("#card-1").count() == 0
    assert text(tab, ".count").startswith("3 hits, 3 undecided")
    tab.keyboard.press("u")
    until(tab, SAVED)
    assert site.decisions()[1] is None


def test_what_was_called_no_hit_is_found_again_by_whoever_looks_for_it(
    browser: Any, site: Site
) -> None:
    """editing.md: nowhere in the lists, but in the history; so it is shown only when asked for."""
    with Project(site.project) as project:
        project.decide(3, Decision("not-a-hit", None, "Ines", "2024-03-01T20:00:00Z"))
    context = browser.new_context()
    tab = opened(context, site, who="Jo")
    assert tab.locator(".card").count() == 3 and tab.locator("#card-3").count() == 0
    assert text(tab, ".count") == "3 hits, 3 undecided, 1 not a hit"
    tab.get_by_role("button", name="Not a hit").click()
    assert [card.get_attribute("id") for card in tab.locator(".card").all()] == ["card-3"]
    assert "Left out of the lists" in text(tab, "#card-3") and "Later" in text(tab, ".about")
    tab.locator("#card-3").press("Enter")
    tab.wait_for_selector(".hit.ready")
    assert text(tab, ".state").startswith("Not a hit by Ines")
    tab.keyboard.press("l")
    until(tab, SAVED)
    assert site.decisions()[3].answer == "later"
    assert "the filters leave out 3 that are" in text(tab, "#said")
    tab.keyboard.press("Escape")
    until(tab, "() => document.querySelector('.count')?.textContent === '4 hits, 4 undecided'")
    chip = tab.get_by_role("button", name="Not a hit")
    chip.press(" ")
    assert chip.count() == 0 and tab.evaluate("() => document.activeElement.matches('h1')")
    assert tab.locator(".card").count() == 4
    context.close()


def test_a_card_called_no_hit_stays_and_is_counted_no_more(context: Any, site: Site) -> None:
    tab = opened(context, site)
    tab.locator("#card-1").press("x")
    until(tab, "() => document.querySelector('#card-1 .card-state').textContent === 'Not a hit'")
    assert text(tab, ".count") == "3 hits, 3 undecided, 1 not a hit"
    assert tab.locator(".card").count() == 4
    assert text(tab, "#card-1 .card-gain") == ""


def test_what_the_filters_leave_out_is_not_said_to_be_decided(context: Any, site: Site) -> None:
    tab = opened(context, site)
    tab.get_by_label("Section").select_option("Section 2")
    tab.locator("#card-4").press("Enter")
    tab.wait_for_selector(".hit.ready")
    for _ in range(2):
        tab.keyboard.press("d")
    assert "No hit shown is left undecided; the filters leave out 2 that are." in text(tab, "#said")
    tab.keyboard.press("Escape")
    tab.get_by_label("Section").select_option("All sections")
    tab.locator("#card-1").press("Enter")
    tab.wait_for_selector(".hit.ready")
    tab.keyboard.press("d")
    tab.keyboard.press("l")
    assert "No other hit is left undecided." in text(tab, "#said")
    tab.keyboard.press("d")
    assert "No hits are left undecided." in text(tab, "#said")


def test_a_note_is_seen_at_a_glance_with_its_author(browser: Any, site: Site) -> None:
    """editing.md 4: note and answer have a `who` each."""
    with Project(site.project) as project:
        said = Decision("declined", None, "Ines", "2024-03-01T20:00:00Z", "harder", "Mara")
        project.decide(2, said)
    context = browser.new_context()
    tab = opened(context, site, who="Jo")
    assert text(tab, "#card-2 .card-note") == "Mara: harder"
    tab.get_by_role("button", name="With a note").click()
    assert [card.get_attribute("id") for card in tab.locator(".card").all()] == ["card-2"]
    tab.locator("#card-2").press("Enter")
    tab.wait_for_selector(".hit.ready")
    assert text(tab, ".note-by") == "The note is by Mara"
    tab.get_by_role("button", name="Auto-advance").click()
    tab.keyboard.press("l")
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Later by Jo')")
    assert text(tab, ".note-by") == "The note is by Mara", "on its way, too"
    until(tab, SAVED)
    assert (site.decisions()[2].who, site.decisions()[2].note_who) == ("Jo", "Mara")
    tab.get_by_label("Note for everybody").fill("softer")
    tab.get_by_role("button", name="Save note").click()
    until(tab, "() => document.querySelector('.note-by').textContent === ''")
    context.close()


def test_what_was_called_no_hit_can_be_taken_back_after_a_reload(context: Any, site: Site) -> None:
    """Nor does it stand in the way of earlier answers."""
    tab = opened(context, site, 2, goes_on=True)
    for key in "dx":
        tab.keyboard.press(key)
    until(tab, SAVED)
    assert {hit: said and said.answer for hit, said in site.decisions().items()} == {
        1: None, 2: "declined", 3: "not-a-hit", 4: None,
    }  # fmt: skip
    with tab.expect_response("**/api/decisions"):
        tab.reload()
    tab.wait_for_selector(".hit.ready")
    tab.locator("h1").focus()
    tab.keyboard.press("u")
    assert tab.url.endswith("#hit-3") and "S2T1B.1: taken back" in text(tab, "#said")
    until(tab, SAVED)
    until(tab, "() => document.querySelector('.tally')?.textContent === '3 of 4, 1 answered'")
    assert site.decisions()[3] is None
    tab.keyboard.press("u")
    assert tab.url.endswith("#hit-2") and "S1T1A.2: taken back" in text(tab, "#said")


def test_no_answer_without_a_name(context: Any, site: Site) -> None:
    tab = opened(context, site, 1, who="")
    tab.locator(".answer", has_text="As shot").click()
    assert "Fill in your name first" in text(tab, ".notice")
    assert tab.evaluate("() => document.activeElement.matches('.who input')")
    tab.keyboard.type("Ines")
    assert site.decisions()[1] is None
    tab.locator(".answer", has_text="As shot").click()
    until(tab, SAVED)
    until(tab, "() => document.querySelector('.state').textContent.startsWith('As shot by Ines')")
    until(tab, SAVED)
    assert site.decisions()[1].who == "Ines"


def test_second_tab_hears(context: Any, site: Site) -> None:
    one, other = opened(context, site, 1), opened(context, site, 1)
    one.get_by_label("Your name").fill("Ines")
    one.get_by_role("button", name="Approve").click()
    until(other, "() => document.querySelector('.state').textContent.includes('by Ines')")
    until(one, SAVED)
    with Project(site.project) as project:
        assert len(project.history(project.hit(1).clip_id)) == 1


def test_last_writer_is_told(browser: Any, site: Site) -> None:
    people = [browser.new_context() for _ in range(2)]
    one, other = (opened(context, site, 1) for context in people)
    other.route("**/api/decisions", lambda route: route.abort())
    one.get_by_label("Your name").fill("Ines")
    one.get_by_role("button", name="Approve").click()
    until(one, SAVED)
    other.get_by_label("Your name").fill("Jo")
    other.locator(".answer", has_text="As shot").click()
    other.wait_for_selector(".notice")
    assert "replaced one you had not seen: “Approved" in text(other, ".notice")
    assert "Ines" in text(other, ".notice")
    assert site.decisions()[1].answer == "declined" and site.decisions()[1].who == "Jo"
    until(one, "() => document.querySelector('.state').textContent.startsWith('As shot')")
    for context in people:
        context.close()


def test_answers_older_than_what_stands_give_way_and_are_told(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.route("**/api/*", lambda route: route.abort())
    tab.locator(".answer", has_text="As shot").click()
    until(tab, "() => document.querySelector('.saved').dataset.away === 'true'")
    with Project(site.project) as project:
        project.decide(1, Decision("later", None, "Jo", "2999-01-01T00:00:00Z", "wait"))
    tab.unroute("**/api/*")
    tab.wait_for_selector(".notice")
    assert "came after a later one" in text(tab, ".notice") and "Jo" in text(tab, ".notice")
    assert site.decisions()[1].note == "wait"
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Later by Jo')")


def test_answers_wait_for_the_program_and_follow_it_to_a_new_run(
    context: Any, reviewed: Path, own_project: Path
) -> None:
    with served(own_project, reviewed / "cache") as first:
        tab = opened(context, first, 1)
        port = first.reception.door.port
    tab.get_by_role("button", name="Later", exact=True).click()
    until(tab, "() => document.querySelector('.saved').dataset.away === 'true'")
    assert "kept in this browser" in text(tab, ".saved") and "(1 answer)" in text(tab, ".saved")
    with served(own_project, reviewed / "cache", port) as second:
        newer = opened(context, second)
        until(newer, SAVED)
        assert second.decisions()[1].answer == "later"
        tab.locator(".answer", has_text="As shot").click()
        until(tab, SAVED)
        assert second.decisions()[1].answer == "declined"


def test_everything_goes_by_keyboard(context: Any, site: Site) -> None:
    tab = opened(context, site)
    for _ in range(20):
        tab.keyboard.press("Tab")
        if tab.evaluate("() => document.activeElement.classList.contains('card')"):
            break
    tab.keyboard.press("ArrowRight")
    tab.keyboard.press("Enter")
    tab.wait_for_selector(".hit.ready")
    assert tab.url.endswith("#hit-2")
    stay(tab)
    tab.keyboard.press("?")
    assert tab.locator("dialog[open] dt").count() >= 20
    tab.keyboard.press("Escape")
    tab.keyboard.press("n")
    tab.keyboard.type("look at 3, a d")
    tab.keyboard.press("Escape")
    tab.keyboard.press("1")
    tab.keyboard.press("a")
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Approved: 1')")
    tab.keyboard.press("ArrowDown")
    until(tab, "() => document.querySelector('h1').textContent.trim().startsWith('Hit S2T1B.1')")
    tab.wait_for_selector(".hit.ready")
    tab.keyboard.press("l")
    tab.keyboard.press("o")
    until(tab, "() => location.hash !== '#hit-3'")
    tab.keyboard.press("Escape")
    tab.wait_for_selector(".card")
    until(tab, SAVED)
    decisions = site.decisions()
    assert decisions[2].answer == "approved" and decisions[2].note == "look at 3, a d"
    assert decisions[3].answer == "later"


def test_letters_can_be_switched_off(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.keyboard.press("?")
    tab.get_by_label("Use single letters and digits as keys").uncheck()
    tab.get_by_role("button", name="Close").click()
    tab.locator("h1").click()
    tab.keyboard.press("d")
    tab.wait_for_timeout(200)
    assert text(tab, ".state") == "Undecided"


def test_keys_pressed_before_a_hit_is_there_are_kept(context: Any, site: Site) -> None:
    """Somebody who knows the hits answers faster than they load: every answer arrives."""
    tab = opened(context, site, 1)
    tab.get_by_label("Your name").fill("Ines")
    tab.locator("h1").click()
    hits = sorted(site.decisions())

    tab.evaluate(
        """() => {
          const fetched = window.fetch;
          window.fetch = async (address, options) => {
            if (/hits\\/\\d+$/.test(address)) await new Promise((go) => setTimeout(go, 700));
            return fetched(address, options);
          };
        }"""
    )
    for _ in hits:
        tab.keyboard.press("d")
        tab.keyboard.press("ArrowDown")
        tab.wait_for_timeout(100)
    until(tab, SAVED)
    given = {}
    for _ in range(100):
        given = {hit: said and said.answer for hit, said in site.decisions().items()}
        if all(given.values()):
            break
        tab.wait_for_timeout(100)
    assert given == dict.fromkeys(hits, "declined")
