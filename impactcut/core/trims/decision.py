"""What people decided about a hit, as a value; the project keeps it in its statements."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from impactcut.core.time.frames import FrameRange

Answer = Literal["approved", "declined", "later", "not-a-hit", "open"]

AFFIRMING: Final[tuple[Answer, ...]] = ("approved", "declined")
WAITING: Final[tuple[Answer, ...]] = ("later", "open")
"""Answers that make a find a hit, however sure it was, and those that leave open what becomes of
it."""
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


class Answered:
    """What follows for a hit from the decision about it, if there is one."""

    decision: Decision | None

    @property
    def approved_frames(self) -> FrameRange | None:
        """The frames of the clip that somebody approved to go out."""
        return None if self.decision is None else self.decision.trim

    @property
    def affirmed(self) -> bool:
        """Whether somebody said what makes it a hit, however sure the find was."""
        return self._is(*AFFIRMING)

    @property
    def denied(self) -> bool:
        """Whether somebody said that it is no hit."""
        return self._is("not-a-hit")

    @property
    def undecided(self) -> bool:
        """Whether it is still to be said what becomes of the hit."""
        return self.decision is None or self._is(*WAITING)

    @property
    def put_off(self) -> bool:
        """Whether somebody wants to be asked again later; no proposal is taken till then."""
        return self._is("later")

    @property
    def untouched(self) -> bool:
        """Whether it was said that nothing is taken out: as shot, or no hit at all."""
        return self._is("declined", "not-a-hit")

    def _is(self, *answers: Answer) -> bool:
        return self.decision is not None and self.decision.answer in answers
