"""Taking in answers that were given on a review page, now or days ago, beside other people's.

Every answer says which earlier decision its giver had in view. If another decision was made
meanwhile, the later of the two by the clock stands, and whoever brings the answer is told.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from typing import Literal

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.errors import TrimError, UnknownHitError
from impactcut.project import Clearing, Project, Source, StoredClip, StoredHit
from impactcut.project.statements.hits import same_hit
from impactcut.workflow.clock import now
from impactcut.workflow.hits.deciding import Signature, Wish, answer_one

Given = Literal["approved", "declined", "later", "not-a-hit", "open", "cleared"]
Fate = Literal["taken", "repeated", "older", "refused"]


@dataclass(frozen=True)
class HitKey:
    """Which hit an answer is about, so that it is found again in another project file.

    Parameters
    ----------
    hit : int
        Its number in the project that the page was made from.
    clip : str
        File name of its clip.
    digest : str
        Of that clip's file, as it was measured.
    contact : int
        Contact frame, counted in the clip.
    """

    hit: int
    clip: str
    digest: str
    contact: int


@dataclass(frozen=True)
class GivenAnswer:
    """One answer from a page.

    Parameters
    ----------
    answer : {"approved", "declined", "later", "not-a-hit", "open", "cleared"}
        ``"open"`` is a note alone, where nobody has answered.
    trim : FrameRange or None
        Frames of the clip to take out, for an approved hit.
    when : str
        UTC, ISO 8601, to the second; when the person answered.
    seen : str
        `version` of the decision that the person had in view.

    Raises
    ------
    ValueError
        If there is a trim without an approval, or the other way round, or of 0 or above 3 frames.
    """

    key: HitKey
    answer: Given
    trim: FrameRange | None
    who: str
    when: str
    note: str
    seen: str

    def __post_init__(self) -> None:
        if self.answer == "cleared":
            if self.trim is not None:
                raise ValueError("an approved hit names its trim, and only an approved hit does")
        else:
            Decision(self.answer, self.trim)

    @property
    def said(self) -> Decision | Clearing:
        """The answer as the project keeps it."""
        if self.answer == "cleared":
            return Clearing(self.who, self.when, self.note)
        author = self.who if self.note else ""
        return Decision(self.answer, self.trim, self.who, self.when, self.note, author)


@dataclass(frozen=True)
class GivenTap:
    """A contact that somebody tapped along with a clip on a page.

    Parameters
    ----------
    clip, digest : str
        File name of the clip, and digest of that file.
    frame : int
        Counted in the clip; some frames off, as taps are.
    who, when : str
        As of `GivenAnswer`.
    """

    clip: str
    digest: str
    frame: int
    who: str
    when: str


@dataclass(frozen=True)
class Taken:
    """What came of an answer.

    Parameters
    ----------
    fate : {"taken", "repeated", "older", "refused"}
        ``"repeated"`` stood already; ``"older"`` gave way to a later decision.
    hit : int or None
        Number of the hit in this project, if it was found.
    decision : Decision or None
        In force now.
    unseen : Decision, Clearing or None
        Made by somebody else meanwhile: what was replaced, or what stands in the way.
    reason : str
        Why it was refused, and what to do; empty otherwise.
    """

    given: GivenAnswer
    fate: Fate
    hit: int | None = None
    decision: Decision | None = None
    unseen: Decision | Clearing | None = None
    reason: str = ""


def version(decision: Decision | None) -> str:
    """A short name for what is decided about a hit; another decision has another one."""
    if decision is None:
        return ""
    trim = decision.trim
    values = [
        decision.answer, None if trim is None else [trim.start, trim.stop],
        decision.who, decision.when, decision.note,
    ]  # fmt: skip
    return hashlib.blake2b(json.dumps(values).encode(), digest_size=8).hexdigest()


def take_answer(project: Project, given: GivenAnswer, source: Source = "page") -> Taken:
    """Take in one answer, unless a later one stands or the project cannot follow it.

    An answer that repeats what stands and has another note is a note: whoever answered before is
    still the one who did.
    """
    found = _find(project, given.key)
    if isinstance(found, str):
        return Taken(given, "refused", reason=found)
    given = replace(given, when=min(given.when, now()))
    latest = _latest(project, found)
    seen = version(found.decision) == given.seen
    if _stands(given, latest, seen):
        return Taken(given, "repeated", found.id, found.decision)
    unseen = None if seen else latest
    if unseen is not None and unseen.when > given.when:
        return Taken(given, "older", found.id, found.decision, unseen)
    try:
        _act(project, given, found, source)
    except (TrimError, UnknownHitError) as error:
        return Taken(given, "refused", found.id, found.decision, unseen, str(error))
    return Taken(given, "taken", found.id, project.hit(found.id).decision, unseen)


def _stands(given: GivenAnswer, latest: Decision | Clearing | None, seen: bool) -> bool:
    """Whether an answer was taken in before, as it is or as a note to another's answer."""
    if not isinstance(latest, Decision) or seen:
        return latest == given.said
    noted = (given.answer, given.trim, given.note, given.who)
    return latest == given.said or noted == (
        latest.answer, latest.trim, latest.note, latest.note_who,
    )  # fmt: skip


def _act(project: Project, given: GivenAnswer, hit: StoredHit, source: Source) -> None:
    signed = Signature(given.who, given.note, given.when, source)
    stands = hit.decision or Decision("open")
    same = (given.answer, given.trim) == (stands.answer, stands.trim)
    if same and given.note != stands.note:
        answer_one(project, hit.id, Wish("note"), signed)
    else:
        answer_one(project, hit.id, Wish(given.answer, given.trim), signed)


def _latest(project: Project, hit: StoredHit) -> Decision | Clearing | None:
    """What was last said about a hit, clearings included."""
    said = (
        entry.said
        for entry in reversed(project.history(hit.clip_id))
        if same_hit(entry.contact, hit.impact.contact)
    )
    return hit.decision or next(said, None)


def clips_named(project: Project, name: str, digest: str) -> tuple[StoredClip, ...] | str:
    """The clips of a file's name and digest, or why there is none."""
    named = [clip for clip in project.clips() if clip.own and name in clip.clip.file_names]
    measured = {take.path: take.clip_id for take in project.same_takes()}
    meant = {measured.get(c.path, c.id) for c in named if c.measured == digest}
    clips = tuple(clip for clip in project.clips() if clip.id in meant)
    if named and not clips:
        return f"{name} has changed since the page was made; make a new page and answer there"
    return clips or f"the project has no clip {name}; name the right project with --project"


def _find(project: Project, key: HitKey) -> StoredHit | str:
    """The hit that a key names, or why there is none."""
    clips = clips_named(project, key.clip, key.digest)
    if isinstance(clips, str):
        return clips
    near = [
        hit
        for clip in clips
        for hit in project.hits(clip.id)
        if same_hit(hit.impact.contact, key.contact)
    ]
    if near:
        return min(near, key=lambda hit: (hit.id != key.hit, abs(hit.impact.contact - key.contact)))
    return f"{key.clip} has no hit near frame {key.contact} any more; look at it again"
