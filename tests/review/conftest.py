"""Fixtures: a browser, and the pages of a project that is served to it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.helpers.projects.review_site import Site, make_project, open_browser, opened, served


@pytest.fixture(scope="package")
def browser() -> Iterator[Any]:
    """A headless Chromium."""
    with open_browser() as opened:
        yield opened


@pytest.fixture(scope="session")
def reviewed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a project that no test writes to, and of the pictures that all share."""
    folder = tmp_path_factory.mktemp("reviewed")
    make_project(folder)
    return folder


@pytest.fixture
def own_project(reviewed: Path, tmp_path: Path) -> Path:
    """A project of the test's own."""
    return Path(shutil.copy(reviewed / "night.db", tmp_path))


@pytest.fixture
def site(reviewed: Path, own_project: Path) -> Iterator[Site]:
    """The page of that project, served."""
    with served(own_project, reviewed / "cache") as running:
        yield running


@pytest.fixture
def context(browser: Any) -> Iterator[Any]:
    """A browser that knows nothing yet."""
    made = browser.new_context(viewport={"width": 1280, "height": 800})
    made.set_default_timeout(60_000)
    yield made
    made.close()


@pytest.fixture
def overview_tab(context: Any, site: Site) -> Any:
    """A tab at the overview."""
    return opened(context, site)


@pytest.fixture(scope="module")
def still(browser: Any, reviewed: Path) -> Iterator[Any]:
    """A tab whose modules are tried by themselves."""
    with served(reviewed / "night.db", reviewed / "cache") as site:
        context = browser.new_context()
        yield opened(context, site)
        context.close()
