"""Make the pictures of the README from the demo's project.

python scripts/pictures.py samples/footage/demo.db HIT samples/pictures

HIT is the one whose trims are drawn. Needs playwright and Chromium, as the tests of the page do.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import cv2
from playwright.sync_api import sync_playwright

PAGE, OVERVIEW = (1280, 720), (1200, 600)
"""Widths and heights of windows, pixels."""
PAGE_WIDTH, HIT_WIDTH = 1000, 1200


def impactcut(project: Path, *words: str | Path) -> None:
    """Run one command on the project."""
    command = [sys.executable, "-m", "impactcut", *map(str, words), "--project", str(project)]
    subprocess.run(command, check=True)


def photograph(page: Path, size: tuple[int, int], picture: Path, hit: str = "") -> None:
    """What a browser's window of that size shows of a file, or of a hit opened in it."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=["--no-sandbox"])
        tab = browser.new_page(viewport={"width": size[0], "height": size[1]})
        tab.goto(page.resolve().as_uri(), wait_until="load")
        if hit:
            tab.locator(".card", has_text=f"Hit {hit} ").click()
            tab.wait_for_selector(".hit.ready")
            tab.keyboard.press("c")
        tab.wait_for_timeout(1000)
        tab.screenshot(path=picture)
        browser.close()


def shrink(picture: Path, width: int) -> None:
    """Make a picture that wide."""
    pixels = cv2.imread(str(picture))
    if pixels is None:
        raise SystemExit(f"{picture}: cannot be read")
    height = round(pixels.shape[0] * width / pixels.shape[1])
    cv2.imwrite(str(picture), cv2.resize(pixels, (width, height), interpolation=cv2.INTER_AREA))


def main() -> None:
    """Make all three."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("project", type=Path)
    parser.add_argument("hit")
    parser.add_argument("folder", type=Path)
    options = parser.parse_args()
    plot = options.folder / "hit.png"
    impactcut(options.project, "trims", options.hit, "--plot", plot, "--force")
    shrink(plot, HIT_WIDTH)
    with tempfile.TemporaryDirectory() as made:
        page = Path(made, "page.html")
        impactcut(options.project, "page", page, "--quiet")
        photograph(page, PAGE, options.folder / "page.png", options.hit)
        shrink(options.folder / "page.png", PAGE_WIDTH)
        title = ("--only", "overview", "--title", "QUAY WAREHOUSE")
        impactcut(options.project, "export", made, *title)
        (drawing,) = Path(made).glob("*_overview.svg")
        framed = drawing.with_suffix(".html")
        framed.write_text(
            f"<meta charset='utf-8'><body style='margin: 0'>{drawing.read_text('utf-8')}</body>",
            "utf-8",
        )
        photograph(framed, OVERVIEW, options.folder / "overview.png")


if __name__ == "__main__":
    main()
