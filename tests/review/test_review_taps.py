"""Contacts tapped on the page become hits by hand; clips to tap along with; the beat board."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from impactcut.core.trims.decision import Decision
from impactcut.project import Actor, Clearing, Project
from impactcut.review.page import make_page
from impactcut.workflow.hits.answers_file import parse_answers
from impactcut.workflow.hits.page_answers import GivenTap
from impactcut.workflow.scan.taps import take_back_tap, take_tap
from tests.helpers.projects.review_site import (
    FRAMES,
    SAVED,
    Site,
    make_project,
    opened,
    served,
    stay,
    text,
    until,
)
from tests.helpers.running.commands import run_command

WHEN = "2026-03-01T20:00:00Z"


def tap_of(project: Project, frame: int) -> GivenTap:
    stored = project.clips()[0]
    assert stored.clip is not None
    return GivenTap(stored.clip.name, stored.measured, frame, "Ines", WHEN)


def contacts(site: Site) -> list[int]:
    with Project(site.project) as project:
        return sorted(hit.impact.contact for hit in project.hits(project.clips()[0].id))


def opened_file(context: Any, project_path: Path, file: Path) -> Any:
    """The page as one file, at the first hit, signed by Ines."""
    with Project(project_path) as project:
        file.write_text(make_page(project, most_bytes=10**7).html)
    tab = context.new_page()
    tab.goto(file.as_uri() + "#hit-1")
    tab.wait_for_selector(".hit.ready")
    tab.get_by_label("Your name").fill("Ines")
    tab.get_by_label("Your name").press("Enter")
    stay(tab)
    return tab


def test_a_tap_is_measured_kept_and_taken_back(own_project: Path) -> None:
    with Project(own_project) as project:
        taken = take_tap(project, tap_of(project, 50))
        assert taken.entry is not None and abs(taken.entry.impact.contact - 50) <= 4
        assert taken.entry.by_hand == "Ines" and taken.act is not None
        assert take_back_tap(project, taken.act, "Ines") == ""
        assert len(project.hits(project.clips()[0].id)) == 2
        assert "was said since" in take_back_tap(project, taken.act, "Ines")


def test_a_tap_is_taken_back_whatever_was_said_of_other_hits_but_not_of_its_own(
    own_project: Path,
) -> None:
    no, clearing = Decision("declined", None, "Jo", WHEN), Clearing("Jo", WHEN)
    with Project(own_project) as project:
        first, second = (
            take_tap(project, tap_of(project, 50)),
            take_tap(project, tap_of(project, 85)),
        )
        assert first.entry and second.entry and first.act and second.act
        project.decide(1, no)
        assert take_back_tap(project, first.act, "Ines") == ""
        project.decide(second.entry.id, no)
        assert "was said since of its hit" in take_back_tap(project, second.act, "Ines")
        assert len(project.hits(project.clips()[0].id)) == 3
        project.decide(second.entry.id, clearing)
        assert take_back_tap(project, second.act, "Ines") == ""
        assert len(project.hits(project.clips()[0].id)) == 2
        said = project.hit(1).decision
        assert said is not None and said.answer == "declined"
        assert project.undo(Actor("Jo", WHEN)) is not None


def test_a_tap_where_a_hit_is_or_no_clip_is_says_so(own_project: Path) -> None:
    with Project(own_project) as project:
        there = take_tap(project, tap_of(project, 30))
        assert there.entry is None and "is there already" in there.reason
        strange = GivenTap("other.mov", "aa", 3, "Ines", WHEN)
        assert "no clip other.mov" in take_tap(project, strange).reason


def test_tapping_in_a_hit_adds_one_and_undo_takes_it_back(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.keyboard.press("0")
    tab.keyboard.press("c")
    for _ in range(15):
        tab.keyboard.press("ArrowRight")
    tab.keyboard.press("t")
    assert "Tapped at frame 45" in text(tab, "#said")
    tab.wait_for_function(
        "() => document.querySelector('#said').textContent.includes('contact on frame')",
        timeout=60_000,
    )
    assert len(contacts(site)) == 3
    tab.keyboard.press("u")
    until(tab, "() => document.querySelector('#said').textContent.includes('taken back')")
    assert contacts(site) == [30, 66]


def step_to(tab: Any, frame: int) -> None:
    """Stand at a frame of the first clip's first hit, as shot."""
    tab.keyboard.press("0")
    tab.keyboard.press("c")
    for _ in range(frame - 30):
        tab.keyboard.press("ArrowRight")


def wait_said(tab: Any, words: str) -> None:
    tab.wait_for_function(
        "(words) => document.querySelector('#said').textContent.includes(words)",
        arg=words, timeout=60_000,
    )  # fmt: skip


def test_undo_takes_back_what_was_done_last_be_it_a_tap_or_an_answer(
    context: Any, site: Site
) -> None:
    """Nothing else, though the page was read anew since."""
    tab = opened(context, site, 1)
    tab.keyboard.press("d")
    step_to(tab, 45)
    tab.keyboard.press("t")
    wait_said(tab, "contact on frame")
    tapped = contacts(site)
    assert len(tapped) == 3
    tab.keyboard.press("Escape")
    until(tab, "() => document.querySelectorAll('.card').length === 5")
    tab.locator("#card-2").press("l")
    until(tab, SAVED)
    tab.keyboard.press("u")
    wait_said(tab, "S1T1A.2: taken back")
    until(tab, SAVED)
    assert contacts(site) == tapped and site.decisions()[1].answer == "declined"
    tab.reload()
    tab.wait_for_selector(".card")
    tab.keyboard.press("u")
    until(tab, "() => document.querySelectorAll('.card').length === 4")
    assert contacts(site) == [30, 66] and site.decisions()[1].answer == "declined"
    tab.keyboard.press("u")
    wait_said(tab, "S1T1A.1: taken back")
    until(tab, SAVED)
    assert site.decisions()[1] is None
    tab.keyboard.press("u")
    assert text(tab, "#said") == "There is nothing to take back"


def test_a_tap_is_taken_back_while_it_is_measured_and_no_earlier_one(
    context: Any, site: Site
) -> None:
    tab = opened(context, site, 1)
    step_to(tab, 45)
    tab.keyboard.press("t")
    wait_said(tab, "contact on frame")
    tapped = contacts(site)
    held: list[Any] = []
    tab.route("**/api/taps", lambda route: route.continue_() if held else held.append(route))
    for _ in range(9):
        tab.keyboard.press("ArrowRight")
    with tab.expect_request("**/api/taps"):
        tab.keyboard.press("t")
    tab.keyboard.press("u")
    wait_said(tab, "taken back as soon as it is measured")
    held[0].continue_()
    wait_said(tab, "The tap is taken back")
    assert contacts(site) == tapped


def test_the_file_undoes_a_tap_after_a_reload_and_tells_taps_from_answers(
    browser: Any, own_project: Path, tmp_path: Path
) -> None:
    context = browser.new_context(offline=True)
    tab = opened_file(context, own_project, tmp_path / "judge.html")
    tab.keyboard.press("d")
    tab.keyboard.press("t")
    assert text(tab, ".saved").startswith("1 answer and 1 tap, kept")
    tab.reload()
    tab.wait_for_selector(".hit.ready")
    tab.locator("h1").focus()
    tab.keyboard.press("u")
    until(tab, "() => document.querySelector('.saved').textContent.startsWith('1 answer, kept')")
    context.close()


def test_a_clip_tells_the_timecode_of_its_frames(context: Any, site: Site) -> None:
    tab = opened(context, site)
    tab.get_by_label("Tap along with a clip").select_option("S1_T1_A_quay.mov")
    tab.wait_for_selector(".clip.ready")
    assert text(tab, ".frame-now") == "00:00:00:00"
    for _ in range(26):
        tab.keyboard.press("ArrowRight")
    until(tab, "() => document.querySelector('.frame-now').textContent === '00:00:01:01'")


def test_a_whole_clip_is_played_and_tapped_along_with(context: Any, site: Site) -> None:
    tab = opened(context, site)
    tab.get_by_label("Tap along with a clip").select_option("S1_T1_A_quay.mov")
    until(tab, "() => document.querySelector('.tally')?.textContent === 'frame 0 of 100'")
    tab.keyboard.press(" ")
    until(tab, f"() => document.querySelector('.tally').textContent === 'frame 99 of {FRAMES}'")
    for _ in range(49):
        tab.keyboard.press("ArrowLeft")
    assert text(tab, ".tally") == "frame 50 of 100"
    tab.locator("canvas").click()
    tab.wait_for_function(
        "() => document.querySelector('.taps li')?.textContent.includes('contact on frame')",
        timeout=60_000,
    )
    assert len(contacts(site)) == 3
    tab.keyboard.press("Escape")
    until(tab, "() => document.querySelectorAll('.card').length === 5")


def test_a_clip_that_is_not_seen_takes_no_tap_and_its_button_undoes_no_answer(
    context: Any, site: Site
) -> None:
    tab = opened(context, site, 1)
    tab.keyboard.press("d")
    until(tab, SAVED)
    held: list[Any] = []
    tab.route("**/api/clips/**", lambda route: held.append(route))
    tab.evaluate("() => { location.hash = '#clip-1'; }")
    tab.wait_for_selector(".clip")
    for name in ("Undo the last tap", "Tap"):
        tab.get_by_role("button", name=name, exact=True).click()
    assert text(tab, "#said") == "There is no tap left to take back"
    until(tab, SAVED)
    assert contacts(site) == [30, 66] and site.decisions()[1].answer == "declined"
    assert tab.url.endswith("#clip-1")
    for route in held:
        route.abort()


def test_taps_of_the_file_come_back_with_the_answers(
    browser: Any, own_project: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    context = browser.new_context(offline=True, accept_downloads=True)
    tab = opened_file(context, own_project, tmp_path / "judge.html")
    tab.keyboard.press("0")
    tab.keyboard.press("c")
    for _ in range(16):
        tab.keyboard.press("ArrowRight")
    tab.keyboard.press("t")
    tab.keyboard.press("t")
    tab.keyboard.press("u")
    tab.keyboard.press("d")
    with tab.expect_download() as download:
        tab.get_by_role("button", name="Save answers as a file").click()
    download.value.save_as(tmp_path / "answers.json")
    context.close()
    assert [tap.frame for tap in parse_answers((tmp_path / "answers.json").read_text()).taps] == [
        46
    ]
    monkeypatch.setenv("IMPACTCUT_PROJECT", str(own_project))
    result = run_command("decide", "--answers", tmp_path / "answers.json")
    assert result.exit_code == 0, result.output
    assert "by hand, contact frame" in result.stdout
    with Project(own_project) as project:
        assert len(project.hits(project.clips()[0].id)) == 3


def test_files_of_answers_without_taps_are_read_and_wrong_taps_are_named() -> None:
    file = {"schema": 1, "kind": "impactcut answers", "project": "p", "made": "m", "answers": []}
    assert parse_answers(json.dumps(file)).taps == ()
    tap = {"clip": "a.mov", "digest": "aa", "frame": -1, "who": "Ines", "when": WHEN}
    with pytest.raises(ValueError, match="tap 1: Expected `int` >= 0"):
        parse_answers(json.dumps({**file, "taps": [tap]}))


def test_beats_are_rows_takes_are_columns_and_the_best_is_marked(
    context: Any, tmp_path: Path
) -> None:
    project = make_project(tmp_path, ("S1_T1_A_quay.mov", "S1_T2_B_quay.mov"))
    with served(project, tmp_path / "cache") as site:
        judge_beats(opened(context, site))


BEST = "() => document.querySelector('tbody .best .why-best')?.textContent.startsWith('{}')"


def test_the_best_of_a_part_is_not_said_to_be_the_best_of_all(context: Any, tmp_path: Path) -> None:
    """What is told of the others is measured by the first, so it must be seen where that is not."""
    project = make_project(tmp_path, [f"S1_T{take}_A_quay.mov" for take in (1, 2, 3)])
    with served(project, tmp_path / "cache") as site:
        tab = opened(context, site)
        tab.get_by_role("link", name="Beats").click()
        tab.wait_for_selector(".board td .card")
        row = tab.locator("tbody tr").first
        until(tab, BEST.format("Best: "))
        row.locator(".best .card").focus()
        tab.keyboard.press("x")
        for shown in ("Angle A", "All angles"):
            tab.get_by_label("Show").select_option(shown)
        assert row.locator(".cell-beat").count() == 2
        until(tab, BEST.format("Best of those shown: "))
        until(tab, SAVED)
        tab.get_by_role("link", name="All hits").click()
        tab.wait_for_selector(".cards")
        tab.get_by_role("link", name="Beats").click()
        until(tab, BEST.format("Best: "))


def judge_beats(tab: Any) -> None:
    tab.get_by_role("link", name="Beats").click()
    tab.wait_for_selector(".board td .card")
    assert [each.inner_text() for each in tab.locator("thead th").all()] == [
        "Beat", "Take 1", "Take 2",
    ]  # fmt: skip
    assert tab.locator("tbody tr").count() == 2
    assert tab.locator(".cell-beat").count() == 4 and tab.locator(".cell-beat.best").count() == 2
    tab.get_by_label("Show").select_option("Angle B")
    assert tab.locator(".cell-beat").count() == 2
    tab.get_by_label("Show").select_option("All angles")
    tab.locator("#card-1").focus()
    tab.keyboard.press("d")
    until(tab, "() => document.querySelector('#card-1').dataset.answer === 'declined'")
    tab.locator("#card-1").press("Enter")
    tab.wait_for_selector(".hit.ready")
    tab.keyboard.press("Escape")
    tab.wait_for_selector(".board td .card")
    assert tab.evaluate("() => document.activeElement.id") == "card-1"
