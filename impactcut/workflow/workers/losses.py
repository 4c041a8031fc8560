"""Saying why a measuring process was lost, and what to do about it."""

from __future__ import annotations

import signal
from pathlib import Path

from impactcut.errors import LostProcessError

_GIB = 1 << 30


def crashed(path: Path, code: int) -> LostProcessError:
    """The process ended by itself with exit ``code``, negative for a signal."""
    if code == -signal.SIGTERM or code == -getattr(signal, "SIGKILL", 0):
        return LostProcessError(
            f"{path}: the process that measured it was ended from outside ({_named(code)}), "
            "as systems do when memory is short; close other programs, or take fewer --jobs"
        )
    return LostProcessError(
        f"{path}: the process that measured it crashed ({_named(code)}); "
        "the file may be damaged: copy it again from the card, or transcode it"
    )


def hung(path: Path, patience: float) -> LostProcessError:
    """No frame came for ``patience`` seconds."""
    return LostProcessError(
        f"{path}: no frame of it was measured for {patience:.0f} s; check that its disk answers, "
        "transcode it, or wait longer with --patience"
    )


def too_big(path: Path, memory: int) -> LostProcessError:
    """Measuring took more than ``memory`` bytes."""
    return LostProcessError(
        f"{path}: measuring it takes more than {memory / _GIB:.1f} GiB of memory; "
        "allow more with --memory, or transcode it to a smaller picture"
    )


def _named(code: int) -> str:
    if code >= 0:
        return f"exit code {code}"
    try:
        return signal.Signals(-code).name
    except ValueError:
        return f"signal {-code}"
