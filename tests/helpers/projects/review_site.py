"""A small project with footage whose frames carry their own numbers, its page served, a browser."""

from __future__ import annotations

import os
import shutil
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from impactcut.core.takes.shot_names import read_shot_name
from impactcut.media.probe.container import probe
from impactcut.project import Project
from impactcut.review.cache import PictureCache
from impactcut.review.material import Material
from impactcut.review.serve import Reception, make_server, receive
from impactcut.workflow.files.fingerprint import fingerprint
from tests.helpers.footage.media_files import Recipe, numbered, write_planes
from tests.helpers.projects.kept_clips import keep_clip

SAVED = "() => document.querySelector('.saved').textContent === 'All answers are saved'"
FRAMES = 100
CONTACTS = (30, 66)
NAMES = ("S1_T1_A_quay.mov", "S2_T1_B_quay.mov")
ARGUMENTS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


def add_clip(
    project: Project,
    path: Path,
    contacts: Sequence[int] = CONTACTS,
    rate: Fraction = Fraction(25),
    sound: bool = False,
) -> None:
    """Film a clip of numbered frames, and say that there are hits in it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    recipe = Recipe(rate=rate, sound=sound, options={"g": "12"})
    write_planes(path, [without_flashes(numbered(n)) for n in range(FRAMES)], recipe)
    add_filmed(project, path, contacts)


def without_flashes(plane: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """A numbered frame whose blocks differ by less than a tenth of the greatest luminance."""
    return np.clip(plane, 120, 140)


def add_filmed(project: Project, path: Path, contacts: Sequence[int] = CONTACTS) -> None:
    """Say that there are hits in a clip."""
    named = read_shot_name(path.name)
    clip = probe(path, rate=None, reel=None)
    clip = replace(clip, section=named.section, take=named.take, angle=named.angle)
    keep_clip(project, clip, *contacts, seen=fingerprint(path))


def make_project(folder: Path, names: Sequence[str] = NAMES) -> Path:
    """A project of clips with two hits each, as its path."""
    path = folder / "night.db"
    with Project(path, create=True) as project:
        for number, name in enumerate(names):
            add_clip(project, folder / "cards" / name, sound=number == 0)
    return path


@dataclass
class Site:
    """A served page."""

    project: Path
    reception: Reception

    @property
    def address(self) -> str:
        return self.reception.address

    def decisions(self) -> dict[int, Any]:
        """What is decided, by hit."""
        with Project(self.project) as project:
            hits = [hit for clip in project.clips() for hit in project.hits(clip.id)]
        return {hit.id: hit.decision for hit in hits}


@contextmanager
def served(project: Path, cache: Path, port: int | None = None) -> Iterator[Site]:
    """Serve a project's page until the block ends."""
    material = Material(project, PictureCache(cache))
    reception = receive(project, port=port)
    server = make_server(material, reception)
    thread = threading.Thread(target=server.run, args=([reception.socket],))
    thread.start()
    try:
        while not server.started:
            time.sleep(0.01)
        yield Site(project, reception)
    finally:
        server.should_exit = True
        thread.join()


@contextmanager
def open_browser() -> Iterator[Any]:
    """A headless Chromium, or a skip that says what is missing."""
    playwright = pytest.importorskip(
        "playwright.sync_api", reason="playwright is not installed: pip install playwright"
    )
    named = os.environ.get("IMPACTCUT_BROWSER")
    found = named or shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("no Chromium found; scripts/browser installs one, or name it in "
                    "IMPACTCUT_BROWSER")  # fmt: skip
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=found, args=ARGUMENTS)
        try:
            yield browser
        finally:
            browser.close()


def opened(
    context: Any, site: Site, hit: int | None = None, who: str = "Mara", goes_on: bool = False
) -> Any:
    """A tab at the overview, or at a hit whose moment is ready, before somebody of that name.

    With ``goes_on`` the next hit comes by itself after an answer, as it does for people.
    """
    tab = context.new_page()
    tab.troubles = []
    tab.on("pageerror", lambda error: tab.troubles.append(str(error)))
    tab.on("dialog", lambda dialog: tab.troubles.append(dialog.message))
    tab.goto(site.address + ("" if hit is None else f"#hit-{hit}"))
    tab.wait_for_selector(".card" if hit is None else ".hit.ready")
    name = tab.get_by_label("Your name")
    if who and name.input_value() != who:
        name.fill(who)
        name.blur()
    if hit is not None:
        if not goes_on:
            stay(tab)
        tab.locator("h1").focus()
    return tab


def stay(tab: Any) -> None:
    """Have an opened hit stay after its answer."""
    switch = tab.get_by_role("button", name="Auto-advance")
    if switch.get_attribute("aria-pressed") == "true":
        switch.click()


def until(tab: Any, condition: str) -> None:
    """Wait until a JavaScript function says yes."""
    tab.wait_for_function(condition)


def text(tab: Any, selector: str) -> str:
    """The text that is seen in an element."""
    return str(tab.locator(selector).inner_text())
