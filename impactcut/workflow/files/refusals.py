"""What was left out, why, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass

from impactcut.errors import ImpactcutError
from impactcut.project import StoredClip

MOST_TRIES = 3
"""Failed tries after which a file is measured only on request."""


@dataclass(frozen=True)
class Refusal:
    """A file, clip or hit that was left out: which, why, and what to do about it."""

    name: str
    error: str
    remedy: str = ""


def refusal_of(path: str, error: Exception) -> Refusal:
    """An error about a file, cut into what is wrong and what to do about it."""
    if not isinstance(error, ImpactcutError):
        return Refusal(
            path,
            f"a fault of this program ({type(error).__name__}: {error})",
            "run again with --debug and report what it says",
        )
    wrong, _, remedy = str(error).removeprefix(f"{path}: ").partition("; ")
    return Refusal(path, wrong, remedy)


def failure_of(known: StoredClip) -> Refusal:
    """Why a file could not be measured, and whether it is tried again unasked."""
    if known.tries < MOST_TRIES:
        return Refusal(known.path, known.error, known.remedy)
    error = f"set aside after {known.tries} tries: {known.error}"
    return Refusal(known.path, error, f"{known.remedy}; 'impactcut scan --retry' tries once more")
