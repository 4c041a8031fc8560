"""The history: what was done, by whom, when, from where; and its undo, taking the last back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from impactcut.core.takes.clip import Clip
from impactcut.core.trims.decision import WORDS, Decision
from impactcut.project import Act, Actor, Clearing, DecisionEntry, Project, Source, StoredHit
from impactcut.project.statements.hand_marks import KeptMark
from impactcut.project.statements.hits import same_hit
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
class Deed:
    """What was done and is no answer, and its taking back, in words."""

    done: str
    undone: str


@dataclass(frozen=True)
class Line:
    """One thing that was said of one hit, as part of an act.

    Parameters
    ----------
    clip : Clip or None
        None where nothing is known of the clip any more but its number.
    hit : StoredHit or None
        None where the hit is found no more.
    name : str
        What it is called; empty where it is found no more.
    contact : int or None
        Contact frame as it then was, counted in the clip; None of the clip as a whole.
    said : Decision, Clearing or Deed
        What stood from then on.
    """

    act: Act
    clip: Clip | None
    hit: StoredHit | None
    name: str
    contact: int | None
    said: Decision | Clearing | Deed

    @property
    def who(self) -> str:
        """Who acted."""
        return self.act.by.who

    @property
    def when(self) -> str:
        """When they did; an answer of a page is as old as it was given."""
        said = self.said
        if isinstance(said, Deed) or self.act.undoes is not None or said.who != self.who:
            return self.act.by.when
        return said.when

    @property
    def words(self) -> str:
        """What was said."""
        said = self.said
        if isinstance(said, Deed):
            return said.done if self.act.undoes is None else said.undone
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
    clips = {clip.id: clip.own and clip.clip for clip in project.clips()}
    hits, names = project.all_hits(), names_of_clips(project)

    def line(
        act: Act,
        clip: int,
        hit: StoredHit | None,
        contact: int | None,
        said: Decision | Clearing | Deed,
    ) -> Line:
        name = "" if hit is None else hit_name(names.get(clip, ""), hit)
        return Line(act, clips.get(clip), hit, name, contact, said)

    lines = [
        line(acts[each.act], each.clip_id, _nearest(hits, each), each.contact, each.said)
        for each in project.history(clip_id)
    ]
    by_number = {hit.id: hit for found in hits.values() for hit in found}
    undoing = {act.undoes: act for act in acts.values() if act.undoes is not None}
    for deed, act_id, clip, hit_id, contact in _deeds(project, clip_id):
        hit = None if hit_id is None else by_number.get(hit_id)
        for act in filter(None, (acts[act_id], undoing.get(act_id))):
            lines.append(line(act, clip, hit, contact, deed))
    return tuple(sorted(lines, key=lambda each: (each.act.id, not isinstance(each.said, Deed))))


def _deeds(
    project: Project, clip_id: int | None
) -> Iterator[tuple[Deed, int, int, int | None, int | None]]:
    """Each with its act, and the clip, the hit and the contact that it is about."""
    for mark in project.marks():
        if clip_id in (None, mark.clip_id):
            yield _marked(mark), mark.act, mark.clip_id, mark.hit_id, mark.contact
    if clip_id is not None:
        return
    for drop in project.drops():
        words = ("taken out", "back in") if drop.dropped else ("back in", "taken out")
        yield Deed(*words), drop.act, drop.clip_id, None, None
    for take in project.said_same_takes():
        assert take.act is not None
        said = f"{'one take with' if take.clip_id is not None else 'parted from'} {take.path}"
        yield Deed(said, f"taken back: {said}"), take.act, take.clip_id or 0, None, None


def _marked(mark: KeptMark) -> Deed:
    by_hand, moved = f"by hand, on frame {mark.contact}", "contact moved from frame"
    if mark.before is None:
        return Deed(by_hand, "no longer a hit by hand")
    before = mark.before.contact
    if before == mark.contact:
        return Deed(by_hand, "as it was found")
    return Deed(f"{moved} {before} to {mark.contact}", f"{moved} {mark.contact} back to {before}")


def _nearest(hits: Mapping[int, Sequence[StoredHit]], entry: DecisionEntry) -> StoredHit | None:
    near = (
        hit for hit in hits.get(entry.clip_id, ()) if same_hit(hit.impact.contact, entry.contact)
    )
    return min(near, key=lambda hit: abs(hit.impact.contact - entry.contact), default=None)
