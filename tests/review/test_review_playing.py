"""The served page plays: every frame in its turn, at the right rate, with its sound and its price.

Presented pictures are read back from the canvas: every frame of the footage carries its number as
bright and dark blocks (tests/helpers/footage/media_files.py), so the page's own count is not
trusted. Rates are checked against a clock that the test makes up.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from tests.helpers.projects.review_site import CONTACTS, Site, opened, text, until

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


def test_presented_frames_are_exact_for_every_count(context: Any, site: Site) -> None:
    """The clock is the test's: a busy machine refreshes too slowly for every frame."""
    tab = opened(context, site, 1)
    tab.evaluate(WATCH)
    shown = list(range(max(0, CONTACTS[0] - 18), CONTACTS[0] + 19))
    trims = table(tab, site, 1)
    tab.keyboard.press("r")
    tab.clock.install()
    tab.keyboard.press(" ")
    tab.keyboard.press(" ")
    for count in (0, 1, 2, 3):
        tab.keyboard.press(str(count))
        tab.clock.run_for(200)
        tab.evaluate("() => { window.seen = []; }")
        for _ in range(20):  # pictures that are not there yet hold the playing up, by any clock
            tab.clock.run_for(1000)
            seen = tab.evaluate("() => window.seen")
            if len(seen) > len(shown) + 6:
                break
        frames = [frame for frame, _ in seen]
        assert frames == [number for _, number in seen] and len(frames) > len(shown) + 6
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
    assert tab.get_by_role("button", name="Half speed").is_visible()
    tab.keyboard.press(" ")
    frames = collected(tab, 8)
    assert frames == list(range(frames[0], frames[0] + len(frames)))


def test_the_other_is_seen_as_long_as_a_key_or_button_is_held(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    tab.keyboard.press("c")
    before = text(tab, ".frame-now")
    assert text(tab, ".shown-now").startswith("TRIMMED")
    tab.keyboard.down("b")
    assert text(tab, ".shown-now") == "AS SHOT" and text(tab, ".frame-now") == before
    tab.keyboard.up("b")
    assert text(tab, ".shown-now").startswith("TRIMMED")
    tab.get_by_role("button", name="Compare").hover()
    tab.mouse.down()
    assert text(tab, ".shown-now") == "AS SHOT"
    tab.mouse.up()
    assert text(tab, ".shown-now").startswith("TRIMMED")
    tab.keyboard.down("b")
    tab.evaluate("() => window.dispatchEvent(new Event('blur'))")
    assert text(tab, ".shown-now").startswith("TRIMMED")


def test_as_shot_and_trimmed_are_played_in_turn(context: Any, site: Site) -> None:
    """Unless somebody wants only one of them; the word and the edge of the picture say which."""
    tab = opened(context, site, 1)
    words = "document.querySelector('.shown-now').textContent"
    for _ in range(2):
        until(tab, f"() => {words} === 'AS SHOT'")
        assert tab.locator(".frame").get_attribute("data-cut") == "false"
        until(tab, f"() => {words}.startsWith('TRIMMED ')")
        assert tab.locator(".frame").get_attribute("data-cut") == "true"
    for mode, word in (("Trimmed only", "TRIMMED"), ("As shot only", "AS SHOT")):
        tab.keyboard.press("r")
        assert tab.get_by_role("button", name=mode).is_visible()
        until(tab, f"() => {words}.startsWith('{word}')")
        tab.wait_for_timeout(1200)
        assert text(tab, ".shown-now").startswith(word)


CADENCE = """
async ({rate, refresh, seconds, stall}) => {
  const { Cadence } = await import(`${location.pathname}static/moment/clock.js`);
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


def test_sound_follows_the_picture(still: Any) -> None:
    plan = still.evaluate(
        """async ({kept, contact}) => {
          const { soundPlan } = await import(`${location.pathname}static/moment/sound.js`);
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


def lifted(tab: Any) -> list[dict[str, int]]:
    """The frames that are lifted out of the strip of an opened hit."""
    cells: list[dict[str, int]] = tab.evaluate(
        """() => [...document.querySelectorAll(".strip-place .cell[data-kind=out]")]
             .map((cell) => ({ frame: Number(cell.dataset.frame) }))"""
    )
    return cells


def test_nudging_shows_the_stored_gain_at_once(context: Any, site: Site) -> None:
    tab = opened(context, site, 1)
    trims = {(trim["first"], trim["count"]): trim for trim in table(tab, site, 1)}
    tab.keyboard.press("2")
    first = min(first for first, count in trims if count == 2)
    for _ in range(8):
        tab.keyboard.press("Shift+ArrowLeft")
    for place in range(first, first + 4):
        trim = trims[place, 2]
        assert {cell["frame"] for cell in lifted(tab)} == {place, place + 1}
        judged = str(tab.locator(".judgement").text_content()).casefold()
        assert trim["vetoes"] or f"{trim['gain']:.2f}× faster" in judged or trim["gain"] < 1.005
        assert all(reason.casefold() in judged for reason in (*trim["reasons"], *trim["vetoes"]))
        tab.keyboard.press("Shift+ArrowRight")
    tab.keyboard.press("p")
    assert tab.get_by_role("button", name="Proposed").get_attribute("aria-disabled") == "true"


def test_nothing_plays_by_itself_where_motion_is_to_be_reduced(browser: Any, site: Site) -> None:
    context = browser.new_context(reduced_motion="reduce")
    tab = opened(context, site, 1)
    before = text(tab, ".frame-now")
    tab.wait_for_timeout(400)
    assert text(tab, ".frame-now") == before
    assert tab.get_by_role("button", name="Play", exact=True).count() == 1
    context.close()
