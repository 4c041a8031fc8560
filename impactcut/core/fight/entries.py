"""One hit as it is listed: what was measured, proposed and decided, and what follows from that."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

from impactcut.core.detect.hits import Hit
from impactcut.core.fight.reading import Reading, read_hit
from impactcut.core.learn.taste import Taste, taste_note
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.names import called
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Answered, Decision
from impactcut.core.trims.propose import best_for_each_count
from impactcut.core.trims.reasons import COUNTER, verdict_words
from impactcut.core.trims.trim import Proposal, Trim
from impactcut.core.viewer.calibration import Calibration, calibration_note
from impactcut.core.viewer.judge import AS_PUBLISHED, Judge

TrimState = Literal["approved", "proposed", "declined", "none"]

_SHOWS: Final = ("attentive", "obvious")


@dataclass(frozen=True)
class HitEntry(Answered):
    """One hit of a clip: what was measured, proposed and decided.

    ``impact`` is what was measured; ``usual_speed`` is that of the sure hits of the whole project,
    picture widths per second; ``judge`` made the proposal, by ``calibration`` if there was one;
    ``name`` is what people call it, and ``by_hand`` who says that its contact is there, or empty
    where it was found; ``taste`` is that by which trims are proposed, if by one.
    """

    id: int
    clip: Clip
    impact: Hit
    proposal: Proposal
    decision: Decision | None
    usual_speed: float | None = None
    judge: Judge = AS_PUBLISHED
    calibration: Calibration | None = None
    name: str = ""
    by_hand: str = ""
    taste: Taste | None = None

    @property
    def judging(self) -> str:
        """By whose eyes visibility is judged, and by whose taste trims are proposed."""
        return judging_note(self.calibration, self.taste)

    @property
    def sureness(self) -> str:
        """How sure the hit is, or who says so: what lists give in place of a confidence."""
        return f"by hand, {self.by_hand}" if self.by_hand else f"{self.impact.confidence:.2f}"

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a person should know before taking frames out here."""
        return (COUNTER,) if self.clip.counter_jumps else ()

    @property
    def called(self) -> str:
        """What the hit is called: by its name, or by its number where it has none."""
        return called(self.name, self.id)

    @property
    def best(self) -> Mapping[int, Trim]:
        """The best trim of each count of frames."""
        return best_for_each_count(self.proposal, self.judge)

    @property
    def approved(self) -> Trim | None:
        """The approved trim, as judged; None where there is none, or it was not judged."""
        return self.proposal.judged(self.approved_frames)

    @property
    def taken(self) -> Trim | None:
        """The approved trim, or the one proposed where none is approved; None as in `approved`."""
        return self.proposal.proposed if self.approved_frames is None else self.approved

    @property
    def shown(self) -> Trim | None:
        """The trim that pictures of the hit show: as taken, but none where nothing is to go out."""
        return None if self.untouched else self.taken

    @property
    def going_out(self) -> FrameRange | None:
        """The frames that are approved to go out, or proposed where that is still open."""
        if self.untouched or self.put_off:
            return None
        proposed = self.proposal.proposed
        return self.approved_frames or (None if proposed is None else proposed.frames)

    @property
    def trim_state(self) -> TrimState:
        """What becomes of the hit's trim."""
        if self.untouched:
            return "declined"
        if self.going_out is None:
            return "none"
        return "proposed" if self.undecided else "approved"

    @property
    def flagged(self) -> bool:
        """Whether there is no trim, or one that shows, is uncertain or is hard to believe."""
        if self.untouched:
            return False
        return self.taken is None or bool(self.doubts(self.taken))

    def doubts(self, trim: Trim) -> tuple[str, ...]:
        """Why a trim of the hit is flagged: uncertain first, then what shows or is too fast."""
        hard = f"{trim.speed_gain:.2f}x is hard to believe"
        doubts = (
            (verdict_words(trim), trim.confident is False or trim.verdict in _SHOWS),
            (hard, trim.speed_gain > self.judge.believable_gain),
        )
        return tuple(words for words, holds in doubts if holds)

    @cached_property
    def reading(self) -> Reading:
        """How the hit reads beside the others of its project."""
        return read_hit(self.impact, self.clip.rate, self.usual_speed, self.clip.scale)


@dataclass(frozen=True)
class ClipEntry:
    """A clip and those of its hits that were asked for."""

    clip: Clip
    hits: tuple[HitEntry, ...]


def judging_note(calibration: Calibration | None, taste: Taste | None) -> str:
    """By whose eyes visibility is judged, and by whose taste trims are proposed, for lists."""
    note = calibration_note(calibration)
    return note if taste is None else f"{note} {taste_note(taste)}."
