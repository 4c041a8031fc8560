"""`impactcut scan` and `impactcut demo` from end to end, in processes of their own."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from impactcut.errors import OutputError
from impactcut.workflow import demo
from impactcut.workflow.scan import scanning
from tests.helpers.footage.staged_clips import film, measure
from tests.helpers.running.commands import run_command

RENDERER = """
import json, sys
from pathlib import Path
sys.path.insert(0, {root!r})
from tests.helpers.footage.staged_clips import film, measure
folder = Path(sys.argv[1])
film(folder / "S1_T1_A.mov", frames=40)
print("1/1 S1_T1_A.mov", file=sys.stderr)
truth = [{{"clip": "S1_T1_A.mov", "hits": [{{"frame": 20}}, {{"frame": 30}}]}}]
(folder / "truth.json").write_text(json.dumps(truth))
"""


@pytest.fixture
def renderer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    script = tmp_path / "render.py"
    script.write_text(RENDERER.format(root=str(Path(__file__).parents[2])))
    monkeypatch.setattr(demo, "find_renderer", lambda: script)
    monkeypatch.chdir(tmp_path)
    return script


def test_module_runs_as_a_program(tmp_path: Path) -> None:
    film(tmp_path / "S1_T1_A.mov", frames=40)
    command = [sys.executable, "-m", "impactcut"]
    scan = subprocess.run(
        [*command, "scan", ".", "--jobs", "1"], cwd=tmp_path, capture_output=True, text=True
    )
    assert (scan.returncode, scan.stderr) == (
        0,
        "names are read as S[ection]_{section}_T[ake]_{take}[_[Angle_]{angle}]: S1_T1_A.mov is "
        "section 1, take 1, angle A; 'impactcut shots' shows and changes it\n"
        "1 of 1: measured S1_T1_A.mov\n",
    )
    hits = subprocess.run(
        [*command, "hits", "--json"], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    (clip,) = json.loads(hits.stdout)["clips"]
    assert (clip["name"], clip["frames"], clip["rate"]) == ("S1_T1_A.mov", 40, "24")


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys; from impactcut.cli import main; main(['--help'], standalone_mode=False); "
        "print(sorted({'numpy', 'scipy', 'cv2', 'av', 'rich', 'sqlite3'} & sys.modules.keys()))"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.splitlines()[-1] == "[]"


def test_demo_renders_scans_lists_and_scores(
    renderer: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The stand-in for measuring finds a hit in the middle, where one of the two was staged."""
    monkeypatch.setattr(scanning, "analyse_clip", measure)
    result = run_command("demo", "night", "--jobs", "1")
    assert result.exit_code == 0
    assert "1/1 S1_T1_A.mov" in result.stderr
    assert "1 of 2 staged hits found to within a frame; 0 other hits found" in result.stdout
    written = {path.suffix for path in (tmp_path / "night/lists").iterdir()}
    assert {".csv", ".edl", ".wav"} <= written
    assert {"night/demo.db", "night/lists"} <= set(result.stdout.split())
    renderer.unlink()
    again = run_command("demo", "night", "--jobs", "1")
    assert again.exit_code == 0 and "1 clip unchanged" in again.stdout


def test_demo_that_cannot_render_says_why(renderer: Path, tmp_path: Path) -> None:
    renderer.write_text("import sys; sys.exit('no room left')")
    result = run_command("demo", "night")
    assert result.exit_code == 2
    assert "could not be rendered there (no room left)" in result.stderr
    assert not demo.is_rendered(tmp_path / "night")


def test_renderer_is_found_in_the_source_tree() -> None:
    assert demo.find_renderer().parts[-3:] == ("samples", "warehouse", "render.py")


def test_unreadable_truth_is_named(tmp_path: Path) -> None:
    (tmp_path / "truth.json").write_text("[{")
    with pytest.raises(OutputError, match=r"truth\.json: cannot be read"):
        demo.is_rendered(tmp_path)
