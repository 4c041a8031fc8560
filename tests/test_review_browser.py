"""The served page in a real browser: what is presented, chosen, answered, and kept.

Presented pictures are read back from the canvas: every frame of the footage carries its number as
bright and dark blocks (tests/media_files.py), so the page's own count is not trusted. Frame rates
are checked against a clock that the test makes up. Contrast, names and roles are checked by
axe-core against WCAG 2.2 A and AA.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from impactcut.core.decisions import Decision
from impactcut.core.frames import FrameRange
from impactcut.project import Project
from review_site import CONTACTS, FRAMES, Site, make_project, open_browser, served

WATCH = """
() => {
  window.seen = [];
  const canvas = document.querySelector("canvas");
  const context = canvas.getContext("2d");
  canvas.addEventListener("shown", (event) => {
    let number = 0;
    for (let bit = 0; bit < 8; bit += 1) {
      const x = Math.floor(((2 * bit + 1) * canvas.width) / 16);
      const [, green] = context.getImageData(x, Math.floor(canvas.height / 8), 1, 1).data;
      if (green > 128) number += 1 << bit;
    }
    window.seen.push([event.detail.frame, number]);
  });
}
"""


SAVED = "() => document.querySelector('.saved').textContent === 'All answers are saved'"


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with open_browser() as opened:
        yield opened


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a project that no test writes to, and of the pictures that all share."""
    folder = tmp_path_factory.mktemp("filmed")
    make_project(folder)
    return folder


@pytest.fixture
def project(filmed: Path, tmp_path: Path) -> Path:
    """A project of the test's own."""
    return Path(shutil.copy(filmed / "night.db", tmp_path))


@pytest.fixture
def site(filmed: Path, project: Path) -> Iterator[Site]:
    with served(project, filmed / "cache") as running:
        yield running


@pytest.fixture
def context(browser: Any) -> Iterator[Any]:
    made = browser.new_context(viewport={"width": 1280, "height": 800})
    made.set_default_timeout(15_000)
    yield made
    made.close()


@pytest.fixture
def page(context: Any, site: Site) -> Any:
    return opened(context, site)


def opened(context: Any, site: Site, hit: int | None = None) -> Any:
    """A tab at the overview, or at a hit whose moment is ready."""
    tab = context.new_page()
    tab.troubles = []
    tab.on("pageerror", lambda error: tab.troubles.append(str(error)))
    tab.on("dialog", lambda dialog: tab.troubles.append(dialog.message))
    tab.goto(site.address + ("" if hit is None else f"#hit-{hit}"))
    tab.wait_for_selector(".card" if hit is None else ".hit.ready")
    return tab


def until(tab: Any, condition: str) -> None:
    tab.wait_for_function(condition)


def text(tab: Any, selector: str) -> str:
    return str(tab.locator(selector).inner_text())


def table(tab: Any, site: Site, hit: int) -> list[dict[str, Any]]:
    """The stored trims of a hit, as the program gives them."""
    answer = tab.request.get(f"{site.address}api/hits/{hit}", headers={"Origin": origin(site)})
    trims: list[dict[str, Any]] = answer.json()["trims"]
    return trims


def origin(site: Site) -> str:
    return site.address.rsplit("/", 2)[0]


def collected(tab: Any, count: int) -> list[int]:
    """The frames that are presented from now on, each told by its picture."""
    tab.evaluate("() => { window.seen = []; }")
    until(tab, f"() => window.seen.length >= {count}")
    seen = tab.evaluate("() => window.seen")
    assert [frame for frame, _ in seen] == [number for _, number in seen]
    return [frame for frame, _ in seen]


def assert_round(frames: list[int], kept: list[int]) -> None:
    """Every frame is followed by the next one kept, and the last one by the first."""
    following = dict(zip(kept, [*kept[1:], kept[0]], strict=True))
    for before, after in pairwise(frames):
        assert after == following[before], (before, after)
    assert set(frames) == set(kept)


def test_overview_shows_every_hit_and_opens_one(page: Any, site: Site) -> None:
    assert page.locator(".card").count() == 4
    assert text(page, ".count") == "4 hits, 4 undecided"
    assert [item.inner_text() for item in page.locator(".group h2").all()] == [
        "Section 1",
        "Section 2",
    ]
    until(page, "() => [...document.images].every((image) => image.naturalWidth > 0)")
    page.locator(".card").first.click()
    page.wait_for_selector(".hit.ready")
    assert page.url.endswith("#hit-1") and page.title().startswith("Hit 1")
    assert "contact 00:00:01:05" in text(page, ".hit h1")
    page.go_back()
    page.wait_for_selector(".card")
    assert page.evaluate("() => document.activeElement.id") == "card-1"
    assert page.troubles == []


def test_filters_and_order(page: Any, site: Site) -> None:
    page.get_by_label("Section").select_option("Section 2")
    assert [card.get_attribute("id") for card in page.locator(".card").all()] == [
        "card-3",
        "card-4",
    ]
    page.get_by_role("button", name="Flagged").click()
    flagged = page.locator(".card").count()
    page.get_by_role("button", name="Flagged").click()
    with Project(site.project) as project:
        project.decide(3, Decision("declined", None, "Ines", "2024-03-01T20:00:00Z"))
    until(page, "() => document.querySelector('#card-3').dataset.answer === 'declined'")
    page.get_by_role("button", name="Undecided").click()
    assert page.locator(".card").count() == 1 and flagged in (0, 2)
    page.reload()
    page.wait_for_selector(".card")
    assert page.locator(".card").count() == 1
    page.get_by_label("Section").select_option("All sections")
    page.get_by_label("Sort").select_option("Most gained first")
    assert page.locator(".card").count() == 3


def test_presented_frames_are_exact_for_every_count(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.evaluate(WATCH)
    shown = list(range(max(0, CONTACTS[0] - 18), CONTACTS[0] + 19))
    trims = table(tab, site, 1)
    for count in (0, 1, 2, 3):
        tab.keyboard.press(str(count))
        tab.evaluate("() => { window.seen = []; }")
        until(tab, "() => window.seen.length >= 2")
        frames = collected(tab, len(shown) + 6)
        gone = set(shown) - set(frames)
        assert len(gone) == count
        if gone:
            assert any(set(range(t["first"], t["first"] + count)) == gone for t in trims)
        assert_round(frames, [frame for frame in shown if frame not in gone])
    assert tab.troubles == []


def test_frames_step_one_by_one_and_slower_speeds_show_the_same_frames(
    context: Any, site: Site
) -> None:
    tab = opened(context, site, 1)
    tab.evaluate(WATCH)
    tab.keyboard.press("0")
    tab.keyboard.press("c")
    tab.evaluate("() => { window.seen = []; }")
    for key in ("ArrowRight", "ArrowRight", "ArrowLeft"):
        tab.keyboard.press(key)
    assert [number for _, number in tab.evaluate("() => window.seen")] == [31, 32, 31]
    assert "contact +1" in text(tab, ".frame-now")
    tab.keyboard.press("s")
    assert tab.get_by_label("Half").is_checked()
    tab.keyboard.press(" ")
    frames = collected(tab, 8)
    assert frames == list(range(frames[0], frames[0] + len(frames)))


def test_before_and_after_change_places_at_the_same_frame(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    assert "out" in text(tab, ".shown-now")
    tab.keyboard.press("c")
    tab.keyboard.press("b")
    assert text(tab, ".shown-now") == "As shot"
    assert "contact" in text(tab, ".frame-now")
    tab.keyboard.press("b")
    assert "out" in text(tab, ".shown-now")
    tab.keyboard.press("r")
    tab.keyboard.press(" ")
    until(tab, "() => document.querySelector('.shown-now').textContent === 'As shot'")
    until(tab, "() => document.querySelector('.shown-now').textContent.includes('out')")


CADENCE = """
async ({rate, refresh, seconds, stall}) => {
  const { Cadence } = await import(`${location.pathname}static/clock.js`);
  const cadence = new Cadence(rate);
  const pictures = [];
  let noise = 12345;
  for (let tick = 0; tick * refresh < seconds * 1000; tick += 1) {
    if (stall && tick > 100 && tick < 100 + stall) continue;
    noise = (noise * 1103515245 + 12345) % 2147483648;
    const now = 5000 + tick * refresh + (noise / 2147483648 - 0.5) * 1.5;
    const steps = cadence.step(now);
    if (steps > 0) pictures.push([now, steps]);
  }
  return pictures;
}
"""


@pytest.mark.parametrize("rate", [24000 / 1001, 24, 25, 30000 / 1001, 50, 60000 / 1001])
@pytest.mark.parametrize("speed", [1, 0.5, 0.25])
def test_mean_rate_is_within_a_hundredth_and_no_frame_is_skipped(
    still: Any, rate: float, speed: float
) -> None:
    asked = {"rate": rate * speed, "refresh": 1000 / 60, "seconds": 60, "stall": 0}
    pictures = still.evaluate(CADENCE, asked)
    assert {steps for _, steps in pictures} == {1}
    (first, _), (last, _) = pictures[0], pictures[-1]
    measured = (len(pictures) - 1) / (last - first) * 1000
    assert measured == pytest.approx(rate * speed, rel=0.01)


def test_stalls_skip_no_frame_and_slow_screens_keep_the_rate(still: Any) -> None:
    for stall in (5, 30, 300):
        asked = {"rate": 24, "refresh": 1000 / 60, "seconds": 20, "stall": stall}
        assert {steps for _, steps in still.evaluate(CADENCE, asked)} == {1}
    asked = {"rate": 120, "refresh": 1000 / 60, "seconds": 20, "stall": 0}
    pictures = still.evaluate(CADENCE, asked)[60:]
    span = pictures[-1][0] - pictures[0][0]
    assert sum(steps for _, steps in pictures[1:]) / span * 1000 == pytest.approx(120, rel=0.01)


@pytest.fixture(scope="module")
def still(browser: Any, filmed: Path) -> Iterator[Any]:
    """A tab whose modules are tried by themselves."""
    with served(filmed / "night.db", filmed / "cache") as site:
        context = browser.new_context()
        yield opened(context, site)
        context.close()


def test_sound_follows_the_picture(still: Any) -> None:
    plan = still.evaluate(
        """async ({kept, contact}) => {
          const { soundPlan } = await import(`${location.pathname}static/sound.js`);
          return soundPlan(kept, 10, contact, 25);
        }""",
        {"kept": [10, 11, 12, 15, 16], "contact": 14},
    )
    assert plan["hit"] == pytest.approx(3 / 25)
    assert [piece["at"] for piece in plan["pieces"]] == pytest.approx([0, 3 / 25])
    assert [piece["from"] for piece in plan["pieces"]] == pytest.approx([0, 5 / 25])
    assert [piece["length"] for piece in plan["pieces"]] == pytest.approx([3 / 25, 2 / 25])


def test_sound_is_off_until_asked_for(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.evaluate(
        """() => {
          window.started = [];
          const real = AudioBufferSourceNode.prototype.start;
          AudioBufferSourceNode.prototype.start = function (...times) {
            window.started.push([this.buffer.duration, ...times]);
            return real.apply(this, times);
          };
        }"""
    )
    tab.wait_for_timeout(300)
    assert tab.evaluate("() => window.started") == []
    button = tab.get_by_role("button", name="Sound")
    button.click()
    until(tab, "() => window.started.length >= 3")
    assert button.get_attribute("aria-pressed") == "true"
    assert any(
        duration == pytest.approx(0.22) for duration, *_ in tab.evaluate("() => window.started")
    )
    assert tab.troubles == []


def test_nudging_shows_the_stored_gain_at_once(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    trims = {(trim["first"], trim["count"]): trim for trim in table(tab, site, 1)}
    tab.keyboard.press("2")
    first = min(first for first, count in trims if count == 2)
    for _ in range(8):
        tab.keyboard.press("Shift+ArrowLeft")
    for place in range(first, first + 4):
        trim = trims[place, 2]
        assert tab.locator(".dial .gain").text_content() == f"{trim['gain']:.2f}×"
        judged = text(tab, ".judgement").casefold()
        assert all(reason.casefold() in judged for reason in (*trim["reasons"], *trim["vetoes"]))
        tab.keyboard.press("Shift+ArrowRight")
    tab.keyboard.press("p")
    assert tab.get_by_role("button", name="Proposed").get_attribute("aria-disabled") == "true"


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
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Declined')")
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
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Later')")
    until(tab, SAVED)
    assert site.decisions()[1].note == "half a th"


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
    other.get_by_role("button", name="Decline").click()
    other.wait_for_selector(".notice")
    assert "replaced one you had not seen: “Approved" in text(other, ".notice")
    assert "Ines" in text(other, ".notice")
    assert site.decisions()[1].answer == "declined" and site.decisions()[1].who == "Jo"
    until(one, "() => document.querySelector('.state').textContent.startsWith('Declined')")
    for context in people:
        context.close()


def test_answers_older_than_what_stands_give_way_and_are_told(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.route("**/api/*", lambda route: route.abort())
    tab.get_by_role("button", name="Decline").click()
    until(tab, "() => document.querySelector('.saved').dataset.away === 'true'")
    with Project(site.project) as project:
        project.decide(1, Decision("later", None, "Jo", "2999-01-01T00:00:00Z", "wait"))
    tab.unroute("**/api/*")
    tab.wait_for_selector(".notice")
    assert "came after a later one" in text(tab, ".notice") and "Jo" in text(tab, ".notice")
    assert site.decisions()[1].note == "wait"
    until(tab, "() => document.querySelector('.state').textContent.startsWith('Later by Jo')")


def test_answers_wait_for_the_program_and_follow_it_to_a_new_run(
    context: Any, filmed: Path, project: Path
) -> None:
    with served(project, filmed / "cache") as first:
        tab = opened(context, first, 1)
        port = first.reception.door.port
    tab.get_by_role("button", name="Later", exact=True).click()
    until(tab, "() => document.querySelector('.saved').dataset.away === 'true'")
    assert "kept in this browser" in text(tab, ".saved") and "(1 answer)" in text(tab, ".saved")
    with served(project, filmed / "cache", port) as second:
        newer = opened(context, second)
        until(newer, SAVED)
        assert second.decisions()[1].answer == "later"
        tab.get_by_role("button", name="Decline").click()
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
    until(tab, "() => location.hash === '#hit-3'")
    tab.keyboard.press("l")
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
    tab.get_by_label("Single letters and digits are keys").uncheck()
    tab.get_by_role("button", name="Close").click()
    tab.locator("h1").click()
    tab.keyboard.press("d")
    tab.wait_for_timeout(200)
    assert text(tab, ".state") == "Undecided"


def test_nothing_plays_by_itself_where_motion_is_to_be_reduced(browser: Any, site: Site) -> None:
    context = browser.new_context(reduced_motion="reduce")
    tab = opened(context, site, 1)
    before = text(tab, ".frame-now")
    tab.wait_for_timeout(400)
    assert text(tab, ".frame-now") == before
    assert tab.get_by_role("button", name="Play", exact=True).count() == 1
    context.close()


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
            """() => [...document.querySelectorAll("button, select, .speed, .option")]
              .map((node) => node.getBoundingClientRect())
              .filter((box) => box.width > 0 && (box.width < 24 || box.height < 24)).length"""
        )
        assert small == 0
    context.close()


@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing(browser: Any, site: Site, width: int) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    context = browser.new_context(viewport={"width": width, "height": 800}, bypass_csp=True)
    rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    for hit in (None, 1):
        tab = opened(context, site, hit)
        for help_open in (False, True):
            if help_open:
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
        assert tab.locator("main img:not(.waiting), main script, main svg[onload]").count() == 0
        tab.keyboard.press("Escape")
        tab.wait_for_selector(".card")
        tab.wait_for_timeout(200)
        assert tab.troubles == []


def test_scripts_from_elsewhere_do_not_run(page: Any) -> None:
    blocked = page.evaluate(
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


def test_two_hundred_hits_are_all_there(context: Any, site: Site) -> None:
    review = json.loads(context.request.get(f"{site.address}api/review").text())
    hit = review["hits"][0]
    review["hits"] = [{**hit, "id": number, "section": str(number % 7)} for number in range(1, 201)]
    tab = context.new_page()
    tab.route("**/api/review", lambda route: route.fulfill(json=review))
    tab.goto(site.address)
    tab.wait_for_selector(".card")
    assert tab.locator(".card").count() == 200
    assert text(tab, ".count") == "200 hits, 200 undecided"


def test_frames_shown_lie_around_the_contact(page: Any, site: Site) -> None:
    hits = page.request.get(f"{site.address}api/review").json()["hits"]
    for hit in hits:
        first, count = hit["shown"]
        assert 0 <= first < hit["contact"] < first + count <= FRAMES
