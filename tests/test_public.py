"""What is offered to others: names that packages export, and help for every command."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import tomllib
from pathlib import Path

import click
import pytest

import impactcut
from impactcut.cli import main
from impactcut.cli.lists.documents import DOCUMENTS
from impactcut.cli.lists.export import FORMATS
from impactcut.workflow.export.exporting import LIST_FORMATS
from tests.helpers.running.commands import run_command

PACKAGES = [
    "impactcut",
    *(
        f"impactcut.{module.name}"
        for module in pkgutil.iter_modules(impactcut.__path__)
        if module.ispkg
    ),
]
COMMANDS = sorted(main.commands)


@pytest.mark.parametrize("name", PACKAGES)
def test_exported_names_are_sorted_and_there(name: str) -> None:
    package = importlib.import_module(name)
    names = getattr(package, "__all__", [])
    assert list(names) == sorted(set(names))
    for each in names:
        assert hasattr(package, each), f"{name}.{each}"


def test_the_commands() -> None:
    assert {"decide", "demo", "export", "hits", "scan", "status", "trims"} <= set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_option_has_help(name: str) -> None:
    command = main.commands[name]
    result = run_command(name, "--help")
    assert result.exit_code == 0 and result.stdout.startswith("Usage: ")
    first = inspect.cleandoc(command.help or "").splitlines()[0]
    assert first.endswith(".") and first == command.get_short_help_str(200)
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, f"{name} {parameter.opts}"


def test_export_names_every_format() -> None:
    assert set(FORMATS) == {*LIST_FORMATS, *DOCUMENTS}


def test_the_version_is_stated_alike() -> None:
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text())["project"]
    assert project["version"] == impactcut.__version__


def test_whole_help_and_version() -> None:
    shown = run_command("--help")
    assert shown.exit_code == 0
    for name in COMMANDS:
        line = main.commands[name].get_short_help_str(200)
        assert f"{name} " in shown.stdout and line in " ".join(shown.stdout.split())
    version = run_command("--version")
    assert version.stdout == f"impactcut, version {impactcut.__version__}\n"


def test_every_command_can_be_debugged() -> None:
    for name in COMMANDS:
        options = {flag for each in main.commands[name].params for flag in each.opts}
        assert "--debug" in options, name
