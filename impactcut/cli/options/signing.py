"""Who acts: nobody decides anything without a name, and nobody is called root."""

from __future__ import annotations

import getpass
import sys
from typing import Final

import click

_NOBODY: Final = ("", "root")


def signer(who: str | None) -> str:
    """The name of whoever acts: as given, or the login name, or as they answer when asked.

    Raises
    ------
    click.UsageError
        If there is no name, and nobody can be asked.
    """
    if who is not None and _is_nobody(who):
        raise click.UsageError(f"{who!r} is nobody's name: say --who NAME")
    name = _login_name() if who is None else who
    if not _is_nobody(name):
        return name.strip()
    if not can_ask():
        raise click.UsageError("whose word is this? say --who NAME, or set IMPACTCUT_WHO")
    return str(click.prompt("Your name, kept with what you do", value_proc=_somebody, err=True))


def can_ask() -> bool:
    """Whether there is a person at the terminal."""
    return sys.stdin.isatty()


def _somebody(text: str) -> str:
    if _is_nobody(text):
        raise click.BadParameter("say a name by which others know you")
    return text.strip()


def _is_nobody(name: str) -> bool:
    return name.strip().casefold() in _NOBODY


def _login_name() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""
