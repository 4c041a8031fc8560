"""What the project file holds, as plain values."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from impactcut.core.detect.hits import Hit
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.same_take import Original, standing_for
from impactcut.core.takes.shot_log import ShotSaid, with_said
from impactcut.core.trims.decision import Answered, Decision

ClipState = Literal["done", "failed"]
Source = Literal["", "command", "page", "file", "scan"]
"""Where an act came from: this is empty of those that an older program kept."""


@dataclass(frozen=True)
class Fingerprint:
    """Enough of a file to tell whether it is still the one that was measured.

    ``size`` is in bytes, ``mtime_ns`` the time of last change in nanoseconds since 1970, and
    ``digest`` the hexadecimal digest of its size and parts of its content.
    """

    size: int
    mtime_ns: int
    digest: str


@dataclass(frozen=True)
class StoredClip:
    """One media file of the project.

    Parameters
    ----------
    path : str
        Absolute.
    state : {"done", "failed"}
        How the latest attempt to measure the file ended.
    fingerprint : Fingerprint or None
        Of the file at that attempt; None when it could not be read at all.
    settings : str
        Settings of that attempt, as JSON.
    own : Clip or None
        As last measured; None for a file that never was.
    error, remedy : str
        Why the latest attempt failed and what to do; empty for one that did not.
    tries : int
        Failed attempts since the file was last measured or last changed.
    measured : str
        Digest of the file as `clip`, its hits and its track were measured; empty for one that
        never was, or failed before the project kept it.
    said : ShotSaid
        What people said of it.
    called : str
        Its name in the names of its hits; empty as long as it was given none.
    dropped : bool
        Somebody took it out: nothing lists it, and no scan measures it.
    original : Original or None
        The file that it stands for.
    """

    id: int
    path: str
    state: ClipState
    fingerprint: Fingerprint | None
    settings: str
    own: Clip | None
    error: str = ""
    remedy: str = ""
    tries: int = 0
    measured: str = ""
    said: ShotSaid = field(default_factory=ShotSaid)
    called: str = ""
    dropped: bool = False
    original: Original | None = None

    @cached_property
    def clip(self) -> Clip:
        """A measured clip as lists name it: by its original, and with what was said of it."""
        assert self.own is not None
        named = self.own if self.original is None else standing_for(self.own, self.original)
        return with_said(named, self.said)


@dataclass(frozen=True)
class StoredHit(Answered):
    """A hit with its number in the project, and the decision in force.

    ``impact`` is what was measured; ``label`` is its place in the clip, as it stands behind the
    clip's name; ``by_hand`` who says that its contact is there, empty where it was found.
    """

    id: int
    clip_id: int
    impact: Hit
    decision: Decision | None = None
    label: str = ""
    by_hand: str = ""


@dataclass(frozen=True)
class Actor:
    """Who acts, when (UTC, ISO 8601), and from where."""

    who: str
    when: str
    source: Source = "command"


@dataclass(frozen=True)
class Act:
    """Something that somebody did in one go, by which it can be taken back.

    Parameters
    ----------
    undoes : int or None
        The act that this one took back.
    undone : bool
        Whether it was taken back itself.
    """

    id: int
    by: Actor
    undoes: int | None = None
    undone: bool = False


@dataclass(frozen=True)
class Clearing:
    """Taking back what was decided: who, when (UTC, ISO 8601) and why."""

    who: str = ""
    when: str = ""
    note: str = ""


@dataclass(frozen=True)
class DecisionEntry:
    """One line of the history of decisions.

    Parameters
    ----------
    act : int
        Number of the act that it was part of.
    contact : int
        Contact frame of the hit when it was decided, counted in the clip.
    digest : str
        Of the file as the hit was measured that it was said of; empty where that is not known.
    """

    act: int
    clip_id: int
    contact: int
    said: Decision | Clearing
    digest: str
