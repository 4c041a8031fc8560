"""Fixtures: nobody's own settings; a new project; footage."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from impactcut.project import Project
from tests.helpers.footage.staged_clips import film

settings.register_profile("any speed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("any speed")

SLOW = (
    "filmed/", "review/", "training/", "workflow/workers/", "workflow/scan/", "media/render/",
    "media/measure/test_counters", "core/recut/test_recut_random", "core/viewer/test_calibration",
    "core/detect/test_spotter", "lists/otio/test_recut_timeline", "lists/edl/test_edl_fuzz",
    "cli/test_cli_preview", "cli/test_cli_scan", "cli/test_help", "cli/test_readme",
    "cli/test_by", "cli/test_answering_many",
    "core/recut/test_recut_trials", "core/recut/test_recut_transitions", "media/decode/",
    "core/sound/test_speech", "workflow/pictures/", "workflow/hits/test_undo_history",
    "workflow/takes/", "workflow/viewers/", "workflow/export/test_sound", "media/sound/",
)  # fmt: skip
"""Files and folders whose tests film, scan, browse or try thousands of cases: seconds each."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the slow tests, which ``scripts/test --quick`` leaves out."""
    here = Path(__file__).parent
    for item in items:
        if item.path.relative_to(here).as_posix().startswith(SLOW):
            item.add_marker(pytest.mark.slow)


@pytest.fixture(autouse=True)
def plain_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the environment's own project, and with a name that is nobody's login."""
    monkeypatch.delenv("IMPACTCUT_PROJECT", raising=False)
    monkeypatch.setenv("IMPACTCUT_WHO", "Mara")


@pytest.fixture
def project(tmp_path: Path) -> Iterator[Project]:
    """A new project."""
    with Project(tmp_path / "night.db", create=True) as opened:
        yield opened


@pytest.fixture
def footage(tmp_path: Path) -> Path:
    """A folder of two short takes with one staged hit each, the second in a folder of its own."""
    film(tmp_path / "cards/S1_T1_A_x.mov", seed=1)
    film(tmp_path / "cards/sub/S1_T2_B_x.mov", seed=2)
    return tmp_path / "cards"
