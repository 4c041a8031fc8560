"""What people decided about a hit, as a value; the project keeps it in its statements."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from impactcut.core.time.frames import FrameRange

Answer = Literal["approved", "declined", "later", "not-a-hit", "open"]

WORDS: Final[dict[str, str]] = {
    "approved": "approved",
    "declined": "as shot",
    "later": "later",
    "not-a-hit": "not a hit",
    "open": "undecided",
    "cleared": "cleared",
}
"""Answers, and their taking back, as people read them."""


@dataclass(frozen=True)
class Decision:
    """One person's answer about one hit.

    Parameters
    ----------
    answer : {"approved", "declined", "later", "not-a-hit", "open"}
        ``"declined"`` leaves a hit as it was shot; ``"open"`` carries a note and no answer.
    trim : FrameRange or None
        Frames of the clip to take out, for an approved hit; None otherwise.
    who : str
        Name of the person who answered.
    when : str
        UTC, ISO 8601, to the second.
    note_who : str
        Name of the person who wrote the note.
    """

    answer: Answer
    trim: FrameRange | None = None
    who: str = ""
    when: str = ""
    note: str = ""
    note_who: str = ""

    def __post_init__(self) -> None:
        if (self.answer == "approved") != (self.trim is not None):
            raise ValueError("an approved hit names its trim, and only an approved hit does")
        if self.trim is not None and not 1 <= len(self.trim) <= 3:
            raise ValueError(f"a trim takes out 1 to 3 frames, not {len(self.trim)}")

    @property
    def makes_a_hit(self) -> bool:
        """Whether the answer says that there is a hit, however sure the find was."""
        return self.answer in ("approved", "declined")

    @property
    def undecided(self) -> bool:
        """Whether it is still to be said what becomes of the hit."""
        return self.answer in ("later", "open")
