"""What the review page costs with hundreds of hits, in a real browser, and what the one file holds.

    python scripts/bench/page.py CLIP [--clips 50] [--hits 500] [--runs 3]

CLIP is copied, and hits are said to be in the copies, evenly; nothing is measured in it. It should
be film as people shoot it: sizes are those of its pictures. Times are medians, by the clock but for
the one file's, which are the processor's.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from measuring import asked, load, timed

from impactcut.project import Project
from impactcut.review.page import MOST_PER_HIT, make_page
from impactcut.workflow.hits.hit_filter import HitFilter
from impactcut.workflow.hits.proposing import propose_for_clip
from tests.helpers.projects.review_site import add_filmed, open_browser, stay

ANSWER = """async () => {
  const began = performance.now();
  const saved = document.querySelector(".saved");
  document.dispatchEvent(new KeyboardEvent("keydown", { key: "l", bubbles: true }));
  const wait = (time) => new Promise((go) => setTimeout(go, time));
  for (await wait(0); saved.textContent !== "All answers are saved"; ) await wait(2);
  return performance.now() - began;
}"""
NEXT = """async () => {
  const [began, left] = [performance.now(), location.hash];
  document.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowDown", bubbles: true }));
  while (location.hash === left || !document.querySelector(".hit.ready")) {
    await new Promise((go) => setTimeout(go, 2));
  }
  return new Promise((go) => requestAnimationFrame(() => go(performance.now() - began)));
}"""


def fill(folder: Path, clip: Path, clips: int, hits: int) -> Path:
    """Copies of a clip in a project, with hits in each, as its path."""
    path = folder / "night.db"
    (folder / "cards").mkdir()
    with Project(path, create=True) as project:
        for number in range(clips):
            take = f"S{number // 10 + 1}_T{number % 10 // 2 + 1}_{'AB'[number % 2]}"
            copy = folder / "cards" / f"{take}_quay{clip.suffix}"
            copy.write_bytes(clip.read_bytes())
            each = hits // clips
            add_filmed(project, copy, [20 + 4 * at for at in range(each)])
        for stored in project.clips():
            propose_for_clip(project, stored)
    return path


def drive(address: str, runs: int) -> dict[str, list[float]]:
    """Milliseconds of what a person waits for."""
    told: dict[str, list[float]] = {"first cards": [], "next hit, loaded ahead": [], "answer": []}
    with open_browser() as browser:
        for _ in range(runs):
            context = browser.new_context(viewport={"width": 1440, "height": 900})
            context.set_default_timeout(60_000)
            tab: Any = context.new_page()
            began = time.perf_counter()
            tab.goto(address, wait_until="commit")
            tab.wait_for_selector(".card .cell")
            told["first cards"].append(1000 * (time.perf_counter() - began))
            tab.get_by_label("Your name").fill("Mara")
            tab.goto(f"{address}#hit-3")
            tab.wait_for_selector(".hit.ready")
            stay(tab)
            tab.locator("h1").focus()
            for _ in range(3):
                tab.wait_for_timeout(2000)
                told["next hit, loaded ahead"].append(tab.evaluate(NEXT))
                told["answer"].append(tab.evaluate(ANSWER))
            context.close()
    return told


def main() -> None:
    """Print times and sizes."""
    options = asked(__doc__, "clip", clips=50, hits=500, runs=3)
    with tempfile.TemporaryDirectory() as name:
        path = fill(Path(name), options.clip, options.clips, options.hits)
        print(load())
        command = [sys.executable, "-m", "impactcut", "review", "--no-browser", "--project", path]
        environment = os.environ | {"IMPACTCUT_CACHE": f"{name}/cache"}
        with subprocess.Popen(
            command, stdout=subprocess.PIPE, text=True, env=environment
        ) as server:
            assert server.stdout is not None
            try:
                told = drive(server.stdout.readline().strip(), options.runs)
            finally:
                server.terminate()
        for what, times in told.items():
            print(f"{what:24} {statistics.median(times):6.0f} ms, at most {max(times):.0f}")
        with Project(path) as project, timed() as spent:
            made = make_page(project, HitFilter(section="1", take="1"), most_bytes=10**9)
        each = spent.processor / made.hits
        print(f"one file: {made.hits} hits, {each:.2f} s of the processor a hit")
        print(f"{made.most_bytes / 1000:.0f} kB a hit at most, of {MOST_PER_HIT / 1000:.0f}")
        print(json.dumps({what: [round(each) for each in times] for what, times in told.items()}))


if __name__ == "__main__":
    main()
