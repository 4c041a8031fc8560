"""What the cells of a list say of its clock, and of timecodes beside counts of frames."""

from __future__ import annotations

from impactcut.core.time.timebase import Timebase
from impactcut.errors import ListFormatError


def rate_cell(timebase: Timebase) -> str:
    """Frames per second as an exact fraction: ``24000/1001``."""
    return f"{timebase.rate.numerator}/{timebase.rate.denominator}"


def count_mode(timebase: Timebase) -> str:
    """``"drop-frame"`` or ``"non-drop"``."""
    return "drop-frame" if timebase.drop_frame else "non-drop"


def check_label(timebase: Timebase, label: str, column: str, frame: int) -> None:
    """Refuse a timecode in ``column`` that is not that of the frame count beside it."""
    if timebase.frame(label) != frame % timebase.day:
        raise ListFormatError(
            f"{column} is {label}, and the frame beside it {frame}; a spreadsheet may have changed "
            "one, so export the list again"
        )


def is_drop(cell: str) -> bool:
    """Whether a cell says drop-frame; it must say that or non-drop."""
    if cell not in ("drop-frame", "non-drop"):
        raise ListFormatError(f"{cell!r} is no count mode; write drop-frame or non-drop")
    return cell == "drop-frame"
