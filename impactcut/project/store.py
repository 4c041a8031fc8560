"""The project: the one door to its file."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import wraps
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, TypeVar

from impactcut.core.detect.hits import FoundHit
from impactcut.core.detect.trace import Trace
from impactcut.core.motion.measured import HitMotion
from impactcut.core.takes.clip import Clip
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.trim import Proposal
from impactcut.core.viewer.judge import Judge
from impactcut.errors import UnknownHitError
from impactcut.project.file.database import files_of, may_write, open_database, transaction
from impactcut.project.file.faults import explained
from impactcut.project.rows.records import Act, Actor, Clearing, Fingerprint, StoredClip, StoredHit
from impactcut.project.statements import (
    acts,
    calibrations,
    clips,
    decisions,
    deliveries,
    hand_marks,
    hits,
    lessons,
    proposals,
    said,
    same_takes,
    traces,
)
from impactcut.project.statements.hand_marks import HandMark
from impactcut.project.statements.same_takes import SameTake

Made = TypeVar("Made")
P = ParamSpec("P")


def _by(
    statement: Callable[Concatenate[sqlite3.Connection, P], Made], *, writes: bool = False
) -> Callable[Concatenate[Project, P], Made]:
    """A method that is one statement in a transaction of its own."""

    @wraps(statement)
    def method(self: Project, /, *arguments: P.args, **named: P.kwargs) -> Made:
        with self._writing() if writes else self._reading() as connection:
            return statement(connection, *arguments, **named)

    return method


class Project:
    """What is known of a body of footage, kept in one file.

    Every method is one short transaction, so several processes may use the file at once. A file or
    folder that may not be written is opened for reading only. What is only read stays as it is to
    the byte: a file of an older form is brought up to date in memory.

    Parameters
    ----------
    create : bool
        Make the file if there is none.
    reading : bool
        Only read it.
    fov : float, optional
        Judge trims for a picture that fills this angle, degrees, in place of the one kept.
    by_taste : bool
        Whether trims are proposed by the taste of those who approved some.

    Attributes
    ----------
    writable : bool
        Whether anything can be kept in it.

    Raises
    ------
    ProjectFileError
        Here and from every method, if the file is not a project, is newer than this program, is
        damaged, or cannot be read, written or locked.
    """

    clip_at = _by(clips.clip_at)
    spoken_of = _by(clips.spoken_of)
    store_brightness = _by(clips.put_brightness, writes=True)
    brightness = _by(clips.brightness_of)
    store_failure = _by(clips.put_failed, writes=True)
    note_touched = _by(clips.set_fingerprint, writes=True)
    note_moved = _by(clips.move, writes=True)
    forget_failures = _by(clips.forget, writes=True)
    describe = _by(clips.set_description, writes=True)
    say_of_clips = _by(said.say_of_clips, writes=True)
    mark_clock = _by(said.mark_clocks, writes=True)
    clip_names = _by(clips.names_ever)
    call_clips = _by(clips.put_names, writes=True)
    name_pattern = _by(said.pattern_of)
    store_name_pattern = _by(said.put_pattern, writes=True)
    beat_marks = _by(said.beat_marks)
    trace = _by(traces.trace_of)
    speeds = _by(decisions.speeds_of_all)
    keep_fov = _by(calibrations.put_fov, writes=True)
    calibration = _by(calibrations.calibration_in_force)
    store_calibration = _by(calibrations.put_calibration, writes=True)
    lesson = _by(lessons.lesson_in_force)
    store_lesson = _by(lessons.put_lesson, writes=True)
    judge_again = _by(lessons.judge_again, writes=True)
    drops = _by(clips.drops_of)
    said_same_takes = _by(same_takes.said_same_takes)
    measure_itself = _by(same_takes.measure_itself, writes=True)
    add_delivery = _by(deliveries.put_delivery, writes=True)
    history = _by(decisions.history_of)
    decided_on_other_content = _by(decisions.decided_on_other_content)
    orphans = _by(decisions.orphans_of)
    hits = _by(decisions.hits_decided)
    marks = _by(hand_marks.marks_of)
    same_takes = _by(same_takes.all_same_takes)
    deliveries = _by(deliveries.all_deliveries)
    acts = _by(acts.all_acts)

    def __init__(
        self,
        path: Path,
        create: bool = False,
        *,
        reading: bool = False,
        fov: float | None = None,
        by_taste: bool = False,
    ) -> None:
        self.path, self.by_taste = path, by_taste
        self.writable = not reading and may_write(path)
        self._connection = open_database(path, create, reading=reading)
        self._fov = fov
        self._unkept: dict[int, Proposal] = {}
        self._going_on: dict[str, int] | None = None
        self._read: dict[str, tuple[tuple[int, int], Any]] = {}
        self._connection.row_factory = sqlite3.Row

    @property
    def files(self) -> tuple[Path, ...]:
        """The file, and those that exist beside it while it is in use; no one else opens them."""
        return files_of(self.path)

    def close(self) -> None:
        """Close the file."""
        with explained(self.path):
            self._connection.close()

    def __enter__(self) -> Project:
        """The project itself, which `__exit__` closes."""
        return self

    def __exit__(self, *error: object) -> None:
        """Close the file."""
        self.close()

    def clips(self) -> tuple[StoredClip, ...]:
        """Every media file of the project, measured or failed, by path."""
        return tuple(self._clips_by_number().values())

    def clip(self, clip_id: int) -> StoredClip:
        """The media file of that number, which the project has."""
        return self._clips_by_number()[clip_id]

    def store_clip(
        self,
        clip: Clip,
        fingerprint: Fingerprint,
        settings: str,
        found: Sequence[FoundHit],
        trace: Trace | None = None,
    ) -> int:
        """Keep a measured clip in place of whatever was known of its path.

        Hits keep their numbers where their contact frames did not move much; decisions stay. What
        somebody answered and is found no more becomes a hit by hand, and so stays, too.

        Returns
        -------
        int
            The clip's number.
        """
        with self._writing() as connection:
            clip_id = clips.put_measured(connection, clip, fingerprint, settings)
            traces.put_trace(connection, clip_id, trace)
            left = hand_marks.left_places(connection, clip_id)
            kept = decisions.kept_by(connection, clip_id)
            hits.put_hits(connection, clip_id, found, left, kept)
        return clip_id

    def mark_beat(self, hit_id: int, with_hit_id: int | None) -> None:
        """Put a hit into the beat of another, alone, or with None back where it was found.

        Raises
        ------
        UnknownHitError
            If the project has no hit of one of the numbers.
        """
        with self._writing() as connection:
            for each in (hit_id, with_hit_id or hit_id):
                self._hit(connection, each)
            said.put_beat_mark(connection, hit_id, with_hit_id)

    def all_hits(self) -> dict[int, tuple[StoredHit, ...]]:
        """The hits of every clip that has any, by its number, each as in `hits`."""
        return dict(self._read_once("hits", decisions.all_hits_decided))

    def hit(self, hit_id: int) -> StoredHit:
        """One hit with the decision in force.

        Raises
        ------
        UnknownHitError
            If the project has no hit of that number.
        """
        with self._reading() as connection:
            return self._hit(connection, hit_id)

    def motion(self, hit_id: int) -> HitMotion:
        """What moves around a hit.

        Raises
        ------
        UnknownHitError
            If the project has no hit of that number.
        """
        with self._reading() as connection:
            motion = hits.motion_of(connection, hit_id)
        if motion is None:
            raise self._unknown(hit_id)
        return motion

    def proposals(self, clip_id: int) -> dict[int, Proposal]:
        """Proposals for a clip's hits by hit number, as far as the judge in force made them."""
        with self._reading() as connection:
            judge = self._judge(connection)
            kept = proposals.proposals_of(connection, clip_id, judge)
            found = hits.hits_of(connection, clip_id) if self._unkept else ()
        return kept | {hit.id: self._unkept[hit.id] for hit in found if hit.id in self._unkept}

    def clips_without_proposals(self) -> frozenset[int]:
        """Numbers of the clips that have hits for which the judge in force made no proposal."""
        with self._reading() as connection:
            lacking = proposals.hits_lacking(connection, self._judge(connection))
        return frozenset(clip for hit, clip in lacking.items() if hit not in self._unkept)

    def chosen_trims(self, confidence: float) -> dict[int, Proposal]:
        """Proposals as in `proposals`, each with the trim chosen and no other.

        They are those for every hit from a confidence on, and for all of clips with decisions.
        """
        with self._reading() as connection:
            judge = self._judge(connection)
            return self._unkept | proposals.chosen_of_all(connection, judge, confidence)

    def published_trims(self) -> Iterator[tuple[int, bytes]]:
        """Every trim of each hit as the judge in force made it: a line of published JSON each.

        They are those of `proposals`, by hit number, uncompressed one by one.
        """
        with self._reading() as connection:
            judge = self._judge(connection)
            for hit_id, proposal in self._unkept.items():
                yield hit_id, proposals.published_trims(proposal, judge)
            yield from proposals.published_of_all(connection, judge)

    def store_proposals(self, made: Iterable[tuple[StoredHit, Proposal]]) -> None:
        """Keep proposals of the judge in force; where the project is only read, until it is closed.

        Those for hits that have changed or gone meanwhile are dropped.
        """
        if not self.writable:
            self._unkept |= {hit.id: proposal for hit, proposal in made}
            return
        with self._writing() as connection:
            judge = self._judge(connection)
            for judged, proposal in made:
                now = hits.hit_numbered(connection, judged.id)
                if now is not None and now.impact == judged.impact:
                    proposals.put_proposal(connection, judged.id, judge, proposal)

    def judge(self) -> Judge:
        """Who judges the trims: by the calibration in force, for the field of view kept."""
        with self._reading() as connection:
            return self._judge(connection)

    @contextmanager
    def one_act(self) -> Iterator[None]:
        """Have all that one person decides and marks meanwhile be one act, to be undone whole."""
        self._going_on = {}
        try:
            yield
        finally:
            self._going_on = None

    def decide(self, hit_id: int, said: Decision | Clearing, by: Actor | None = None) -> None:
        """Add a decision about a hit, or its clearing; as `decide_all`."""
        self.decide_all({hit_id: said}, by or Actor(said.who, said.when))

    def decide_all(
        self, said: Mapping[int, Decision | Clearing], by: Actor, act: int | None = None
    ) -> None:
        """Add decisions about hits, by number, in one act; earlier ones stay in the history.

        The act is a new one, unless the number of one that is going on is given.

        Raises
        ------
        UnknownHitError
            If the project has no hit of one of the numbers; then none is decided.
        """
        with self._writing() as connection:
            known = self._hits_numbered(connection, said)
            new = {
                hit_id: each
                for hit_id, each in said.items()
                if isinstance(each, Decision) or known[hit_id].decision is not None
            }
            if act is None:
                act = self._act(connection, by) if new else 0
            clips = {known[hit_id].clip_id for hit_id in new}
            before = {clip_id: decisions.standing(connection, clip_id) for clip_id in clips}
            for hit_id, each in new.items():
                hit = known[hit_id]
                stood = before[hit.clip_id].get(hit_id)
                decisions.add_decision(connection, act, hit, stood, each)

    def mark(
        self, given: Sequence[HandMark], by: Actor, act: int | None = None
    ) -> tuple[int, tuple[int, ...]]:
        """Keep contacts as somebody says them, in one act; its number, and those of the hits.

        What was decided about a hit that is moved stays, but that it is none. The act is a new
        one, unless the number of one that is going on is given.

        Raises
        ------
        UnknownHitError
            If the project has no hit of one of the numbers; then none is kept.
        """
        with self._writing() as connection:
            moved = [each.hit_id for each in given if each.hit_id is not None]
            known = self._hits_numbered(connection, moved)
            act = self._act(connection, by) if act is None else act
            numbers = []
            for each in given:
                if each.hit_id is not None:
                    hit = known[each.hit_id]
                    decisions.restate(connection, act, hit, int(each.found.hit.contact), hit.denied)
                numbers.append(hand_marks.put_mark(connection, act, each, by.who))
        return act, tuple(numbers)

    def drop_clips(self, clip_ids: Iterable[int], by: Actor, out: bool = True) -> None:
        """Take clips out, by number, or back in; what was said of them stays theirs."""
        with self._writing() as connection:
            clips.drop(connection, acts.put_act(connection, by), clip_ids, out)

    def measured_again(self, hit_id: int, found: FoundHit) -> None:
        """Keep a hit by hand as it is measured now."""
        with self._writing() as connection:
            known = self._hit(connection, hit_id)
            hits.put_by_hand(connection, known.clip_id, hit_id, found, known.by_hand)

    def drop_hit(self, hit_id: int) -> None:
        """Forget a hit by hand whose frame the clip has no more; what was decided of it waits."""
        with self._writing() as connection:
            hits.remove_hit(connection, self._hit(connection, hit_id).clip_id, hit_id)

    def put_same_takes(
        self, takes: Iterable[SameTake], by: Actor | None = None, drop: Iterable[int] = ()
    ) -> int | None:
        """Keep what files are; the number of the act where somebody says so.

        ``drop``: numbers of clips to take out in that act.
        """
        with self._writing() as connection:
            act = None if by is None else acts.put_act(connection, by)
            for take in takes:
                same_takes.put_same_take(connection, replace(take, act=act))
            if act is not None:
                clips.drop(connection, act, drop, out=True)
        return act

    def undo(self, by: Actor) -> Act | None:
        """Take back the latest act that was not taken back, whole; None if there is none."""
        with self._writing() as connection:
            last = acts.last_standing(connection)
            if last is not None:
                _take_back(connection, by, last.id)
        return last

    def take_back_marks(self, by: Actor, act: int) -> bool:
        """Take back an act by which hits were marked by hand, whatever was done since elsewhere.

        Nothing is done, and False, where the act marked none, was taken back, or something stands
        that was said since of what it is about.
        """
        with self._writing() as connection:
            free = hand_marks.stands_alone(connection, act)
            free = free and not decisions.said_since(connection, act)
            if free:
                _take_back(connection, by, act)
        return free

    def _clips_by_number(self) -> Mapping[int, StoredClip]:
        return self._read_once("clips", clips.all_clips)

    def _judge(self, connection: sqlite3.Connection) -> Judge:
        return calibrations.judge_in_force(connection, self._fov)

    def _act(self, connection: sqlite3.Connection, by: Actor) -> int:
        if self._going_on is None:
            return acts.put_act(connection, by)
        if by.who not in self._going_on:
            self._going_on[by.who] = acts.put_act(connection, by)
        return self._going_on[by.who]

    def _hit(self, connection: sqlite3.Connection, hit_id: int) -> StoredHit:
        return self._hits_numbered(connection, [hit_id])[hit_id]

    def _hits_numbered(
        self, connection: sqlite3.Connection, hit_ids: Iterable[int]
    ) -> dict[int, StoredHit]:
        """All hits of these hits' clips, with what was decided, by number."""
        clip_ids: set[int] = set()
        for hit_id in hit_ids:
            found = hits.hit_numbered(connection, hit_id)
            if found is None:
                raise self._unknown(hit_id)
            clip_ids.add(found.clip_id)
        decided = (hit for each in clip_ids for hit in decisions.hits_decided(connection, each))
        return {hit.id: hit for hit in decided}

    def _unknown(self, hit_id: int) -> UnknownHitError:
        return UnknownHitError(
            f"{self.path}: there is no hit {hit_id}; 'impactcut hits' lists those there are"
        )

    def _read_once(self, name: str, read: Callable[[sqlite3.Connection], Made]) -> Made:
        """What ``read`` reads, or read before, if nobody has written into the file since.

        SQLite counts what other connections commit (``data_version``) and what this one changes.
        """
        with self._reading() as connection:
            (others,) = connection.execute("PRAGMA data_version").fetchone()
            written = (others, connection.total_changes)
            if name not in self._read or self._read[name][0] != written:
                self._read[name] = (written, read(connection))
            made: Made = self._read[name][1]
            return made

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        with explained(self.path), transaction(self._connection, write=False):
            yield self._connection

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        with explained(self.path), transaction(self._connection, write=True):
            yield self._connection


def _take_back(connection: sqlite3.Connection, by: Actor, act: int) -> None:
    undoing = acts.put_act(connection, by, act)
    decisions.take_back(connection, act, undoing)
    hand_marks.take_back_marks(connection, act)
    clips.take_back_drops(connection, act)
