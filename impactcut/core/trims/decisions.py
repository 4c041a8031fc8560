"""What people decided about a hit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from impactcut.core.time.frames import FrameRange

Answer = Literal["approved", "declined", "later"]


@dataclass(frozen=True)
class Decision:
    """One person's answer about one hit.

    Parameters
    ----------
    answer : {"approved", "declined", "later"}
    trim : FrameRange or None
        Frames of the clip to take out, for an approved hit; None otherwise.
    who : str
        Name of the person who answered.
    when : str
        UTC, ISO 8601, to the second.
    note : str
    """

    answer: Answer
    trim: FrameRange | None = None
    who: str = ""
    when: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        if (self.answer == "approved") != (self.trim is not None):
            raise ValueError("an approved hit names its trim, and only an approved hit does")
        if self.trim is not None and not 1 <= len(self.trim) <= 3:
            raise ValueError(f"a trim takes out 1 to 3 frames, not {len(self.trim)}")
