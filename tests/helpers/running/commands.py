"""Running `impactcut` commands in tests."""

from __future__ import annotations

from collections.abc import Callable

from click.testing import CliRunner, Result

from impactcut.cli import main

Run = Callable[..., Result]


def run_command(*arguments: object) -> Result:
    """The command of those words; a traceback must never reach a user."""
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert "Traceback" not in result.output
    return result
