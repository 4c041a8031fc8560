"""The help of every command, and its examples run as they stand; shell completion."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import opentimelineio as otio
import pytest
from click.testing import CliRunner

from impactcut.cli import main
from impactcut.core.learn.correction import Check, Correction, Lesson
from impactcut.review.serve import Reception
from impactcut.workflow import demo as demonstrating
from impactcut.workflow.scan import learning, scanning
from impactcut.workflow.viewers import session as viewers
from tests.helpers.footage.staged_clips import FRAMES, film, measure
from tests.helpers.running.commands import run_command
from tests.helpers.running.this_process import ThisProcess

ORDER = (
    "scan", "shots", "mark", "hits", "trims", "compare", "decide", "page", "preview", "export",
    "recut", "review", "demo", "status",
)  # fmt: skip
"""In which the examples make sense; commands that are not named come last."""
CUT = """TITLE: NIGHT
FCM: NON-DROP FRAME
001  A001     V     C        00:00:00:00 00:00:03:00 01:00:00:00 01:00:03:00
"""


def help_of(command: str) -> str:
    result = CliRunner().invoke(main, [command, "--help"], terminal_width=100)
    assert result.exit_code == 0
    return result.stdout


def examples_of(command: str) -> list[str]:
    return re.findall(r"^    (impactcut .*)$", help_of(command).partition("Examples:")[2], re.M)


@pytest.mark.parametrize("command", sorted(main.commands))
def test_help_says_what_and_how(command: str) -> None:
    text = help_of(command)
    assert examples_of(command), "no example"
    assert all(line.split()[1] == command for line in examples_of(command))
    for name in re.findall(r"^  (--[\w-]+)", text, re.M):
        assert re.search(rf"^  {name}\b.*(?:  \S|\n +\S)", text, re.M), f"{name} is not explained"


def stop_at_once(_: object, reception: Reception, __: bool) -> None:
    reception.socket.close()


def render_one(folder: Path, _: object) -> None:
    film(folder / "S1_T1_A.mov")
    (folder / "truth.json").write_text('[{"clip": "S1_T1_A.mov", "hits": [{"frame": 40}]}]')


def test_examples_run_as_they_stand(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(scanning, "analyse_clip", measure)
    monkeypatch.setattr("impactcut.review.serve.serve", stop_at_once)
    taught = Lesson(
        Correction("w", 0.0, 0.0, ()), Check(3, 8, 4, 9, (5, 7), (3, 1), (0.4, 0.3), 0.01)
    )
    monkeypatch.setattr(learning, "learn", lambda project: learning.Learnt(taught, True))
    monkeypatch.setattr(learning, "forget", lambda project: (0, 0))
    monkeypatch.setattr(viewers, "film_pair", lambda path, **_: path.write_bytes(b"film"))
    monkeypatch.setattr(demonstrating, "render_samples", render_one)
    for module in ("options.executors", "project.demo"):
        command_module = sys.modules[f"impactcut.cli.{module}"]
        monkeypatch.setattr(command_module, "local_executor", lambda *limits: ThisProcess())
    executors = sys.modules["impactcut.cli.options.executors"]
    monkeypatch.setattr(executors, "cluster_executor", lambda *limits: ThisProcess())
    for number, name in enumerate(("S1_T1_A.mov", "S1_T2_A.mov", "S2_T1_A.mov")):
        film(tmp_path / "selects" / name, frames=FRAMES + 8 * number, seed=number)
    film(tmp_path / "proxies/S1_T1_A.mov", seed=9)
    (tmp_path / "cut.edl").write_text(CUT)
    timeline = otio.adapters.read_from_string(CUT, "cmx_3600", rate=24)
    otio.adapters.write_to_file(timeline, str(tmp_path / "cut.otio"))
    later = [name for name in sorted(main.commands) if name not in ORDER]
    for command in (*ORDER, *later):
        for line in examples_of(command):
            result = run_command(*shlex.split(line)[1:])
            assert result.exit_code == 0, f"{line}\n{result.output}"


def test_the_documents_name_commands_and_options_that_there_are() -> None:
    here = Path(__file__).parents[2]
    text = "".join((here / name).read_text("utf-8") for name in ("README.md", "DEVELOPERS.md"))
    blocks = "".join(re.findall(r"^```sh$(.*?)^```$", text, re.M | re.S))
    lines = re.findall(r"^impactcut .*$", blocks, re.M) + re.findall(
        r"`(impactcut [a-z][^`\n]*)`", text
    )
    assert len(lines) > 20
    for line in lines:
        _, name, *words = shlex.split(line, comments=True)
        command = main.commands[name]
        command.make_parser(click.Context(command)).parse_args(words)


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_shells_complete(shell: str) -> None:
    """As Click documents it: the script comes from the program itself."""
    if shell == "bash" and sys.platform == "win32":
        pytest.skip("Click asks for a bash of its own there")
    environment = os.environ | {"_IMPACTCUT_COMPLETE": f"{shell}_source"}
    code = "from impactcut.cli import main; main(prog_name='impactcut')"
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True
    )
    assert "_IMPACTCUT_COMPLETE" in shown.stdout
    context = click.Context(main)
    found = {item.value for item in main.shell_complete(context, "s")}
    assert found >= {"scan", "shots", "status"}
