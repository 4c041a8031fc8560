"""What was done, by whom, when and from where; and taking the last of it back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from impactcut.core.takes.clip import Clip
from impactcut.core.trims.decisions import WORDS, Decision
from impactcut.project import Act, Actor, Clearing, DecisionEntry, Project, Source, StoredHit
from impactcut.project.statements.hits import SAME_HIT_FRAMES
from impactcut.workflow.hits.names import hit_name, names_of_clips

PLACES: Final[dict[Source, str]] = {
    "": "an older version",
    "command": "command line",
    "page": "page",
    "file": "answers of a page",
    "scan": "scan",
}
"""Where an act came from, in words."""


@dataclass(frozen=True)
class Move:
    """A contact that somebody said by hand: where it was before, or None for a new hit."""

    before: int | None
    contact: int

    def words(self, back: bool) -> str:
        """What was done, or taken back."""
        if self.before is None:
            return "no longer a hit by hand" if back else f"by hand, on frame {self.contact}"
        if self.before == self.contact:
            return "as it was found" if back else f"by hand, on frame {self.contact}"
        first, last = (self.contact, self.before) if back else (self.before, self.contact)
        return f"contact moved from frame {first} {'back ' if back else ''}to {last}"


@dataclass(frozen=True)
class Drop:
    """A clip that was taken out, or back in."""

    out: bool

    def words(self, back: bool) -> str:
        """What was done, or taken back."""
        return "taken out" if self.out != back else "back in"


@dataclass(frozen=True)
class Joined:
    """A file that was said to hold the same take as a clip, or, without one, a take of its own."""

    path: str
    same: bool

    def words(self, back: bool) -> str:
        """What was said, or taken back."""
        word = "one take with" if self.same != back else "parted from"
        return f"{word} {self.path}"


@dataclass(frozen=True)
class Line:
    """One thing that was said of one hit, as part of an act.

    Parameters
    ----------
    act : Act
    clip : Clip or None
        None where nothing is known of the clip any more but its number.
    hit : StoredHit or None
        None where the hit is found no more.
    name : str
        What it is called; empty where it is found no more.
    contact : int or None
        Contact frame as it then was, counted in the clip; None of the clip as a whole.
    said : Decision, Clearing, Move, Drop or Joined
        What stood from then on.
    """

    act: Act
    clip: Clip | None
    hit: StoredHit | None
    name: str
    contact: int | None
    said: Decision | Clearing | Move | Drop | Joined

    @property
    def who(self) -> str:
        """Who acted."""
        return self.act.by.who

    @property
    def when(self) -> str:
        """When they did; an answer of a page is as old as it was given."""
        said = self.said
        if (
            isinstance(said, (Move, Drop, Joined))
            or self.act.undoes is not None
            or said.who != self.who
        ):
            return self.act.by.when
        return said.when

    @property
    def words(self) -> str:
        """What was said."""
        said = self.said
        if isinstance(said, (Move, Drop, Joined)):
            return said.words(self.act.undoes is not None)
        if isinstance(said, Clearing):
            text = WORDS["open" if self.act.undoes else "cleared"]
            note = said.note
        else:
            text, note = WORDS[said.answer], said.note
            if said.trim is not None:
                text = f"{text} {len(said.trim)} from {said.trim.start}"
            if said.who not in ("", self.who):
                text = f"{text}, by {said.who}"
        author = said.note_who if isinstance(said, Decision) else said.who
        signed = f" ({author})" if author not in ("", self.who) else ""
        back = "back to " if self.act.undoes is not None else ""
        return f"{back}{text}" + (f"; note{signed}: {note}" if note else "")


def history(project: Project, hit_id: int | None = None) -> tuple[Line, ...]:
    """Everything that was said, of a hit or of all of them, oldest first.

    Raises
    ------
    UnknownHitError
        If the project has no hit of that number.
    """
    clip_id = None if hit_id is None else project.hit(hit_id).clip_id
    lines = _lines(project, clip_id)
    return tuple(line for line in lines if hit_id is None or (line.hit and line.hit.id == hit_id))


def undo(project: Project, by: Actor) -> tuple[Line, ...]:
    """Take back the last act, whole; what stands again of each of its hits.

    Nothing is lost: it stays in the history, and so does its taking back. Empty where there is
    nothing left to take back.
    """
    taken = project.undo(by)
    if taken is None:
        return ()
    back = {act.id for act in project.acts() if act.undoes == taken.id}
    return tuple(line for line in _lines(project) if line.act.id in back)


def _lines(project: Project, clip_id: int | None = None) -> tuple[Line, ...]:
    acts = {act.id: act for act in project.acts()}
    clips = {clip.id: clip.clip for clip in project.clips()}
    hits, names = project.all_hits(), names_of_clips(project)

    def line(
        act: Act,
        clip: int,
        hit: StoredHit | None,
        contact: int | None,
        said: Decision | Clearing | Move | Drop | Joined,
    ) -> Line:
        name = "" if hit is None else hit_name(names.get(clip, ""), hit)
        return Line(act, clips.get(clip), hit, name, contact, said)

    lines = [
        line(acts[each.act], each.clip_id, _nearest(hits, each), each.contact, each.said)
        for each in project.history(clip_id)
    ]
    by_number = {hit.id: hit for found in hits.values() for hit in found}
    undoing = {act.undoes: act for act in acts.values() if act.undoes is not None}
    for mark in project.marks():
        if clip_id not in (None, mark.clip_id):
            continue
        before = None if mark.before is None else mark.before.contact
        hit, said = by_number.get(mark.hit_id), Move(before, mark.contact)
        for act in filter(None, (acts[mark.act], undoing.get(mark.act))):
            lines.append(line(act, mark.clip_id, hit, mark.contact, said))
    for drop in project.drops() if clip_id is None else ():
        for act in filter(None, (acts[drop.act], undoing.get(drop.act))):
            lines.append(line(act, drop.clip_id, None, None, Drop(drop.dropped)))
    for take in project.said_same_takes() if clip_id is None else ():
        assert take.act is not None
        for act in filter(None, (acts[take.act], undoing.get(take.act))):
            said_of = Joined(take.path, take.clip_id is not None)
            lines.append(line(act, take.clip_id or 0, None, None, said_of))
    return tuple(sorted(lines, key=lambda each: (each.act.id, not isinstance(each.said, Move))))


def _nearest(hits: Mapping[int, Sequence[StoredHit]], entry: DecisionEntry) -> StoredHit | None:
    near = (
        hit
        for hit in hits.get(entry.clip_id, ())
        if abs(hit.hit.contact - entry.contact) <= SAME_HIT_FRAMES
    )
    return min(near, key=lambda hit: abs(hit.hit.contact - entry.contact), default=None)
