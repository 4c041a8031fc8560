"""The project: the one door to its file."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Any, TypeVar

from impactcut.core.arrays import FloatArray
from impactcut.core.detect.hits import Hit
from impactcut.core.detect.trace import Trace
from impactcut.core.learn.correction import Lesson
from impactcut.core.motion.measured import HitMotion
from impactcut.core.programme.delivery import Delivery
from impactcut.core.takes.clip import Clip
from impactcut.core.takes.shot_log import ShotSaid
from impactcut.core.takes.shot_names import ShotName
from impactcut.core.trims.decisions import Decision
from impactcut.core.trims.trim import Proposal
from impactcut.core.viewer.calibration import Calibration
from impactcut.core.viewer.judge import Judge
from impactcut.errors import UnknownHitError
from impactcut.project.file.database import files_of, may_write, open_database, transaction
from impactcut.project.file.faults import explained
from impactcut.project.rows.records import (
    Act,
    Actor,
    Clearing,
    DecisionEntry,
    Fingerprint,
    StoredClip,
    StoredHit,
)
from impactcut.project.statements import (
    acts,
    calibrations,
    clips,
    decisions,
    deliveries,
    hits,
    lessons,
    marks,
    proposals,
    said,
    same_takes,
    traces,
)
from impactcut.project.statements.marks import HandMark
from impactcut.project.statements.same_takes import SameTake

Made = TypeVar("Made")


class Project:
    """What is known of a body of footage, kept in one file.

    Every method is one short transaction, so several processes may use the file at once. A file or
    folder that may not be written is opened for reading only. What is only read stays as it is to
    the byte: a file of an older form is brought up to date in memory.

    Parameters
    ----------
    path : Path
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

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the file."""
        self.close()

    def clips(self) -> tuple[StoredClip, ...]:
        """Every media file of the project, measured or failed, by path."""
        return self._read_once("clips", clips.all_clips)

    def clip(self, clip_id: int) -> StoredClip:
        """The media file of that number, which the project has."""
        return next(each for each in self.clips() if each.id == clip_id)

    def clip_at(self, path: str) -> StoredClip | None:
        """The media file of that absolute path, if the project has it."""
        with self._reading() as connection:
            return clips.clip_at(connection, path)

    def spoken_of(self) -> frozenset[int]:
        """The numbers of clips of which people have said or decided something."""
        with self._reading() as connection:
            return clips.spoken_of(connection)

    def store_clip(
        self,
        clip: Clip,
        fingerprint: Fingerprint,
        settings: str,
        found: Sequence[tuple[Hit, HitMotion]],
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
            left = marks.left_places(connection, clip_id)
            kept = decisions.kept_by(connection, clip_id)
            hits.put_hits(connection, clip_id, found, left, kept)
        return clip_id

    def store_brightness(self, clip_id: int, brightness: FloatArray) -> None:
        """Keep how the brightness of a clip runs: mean luma of each frame, 0..1, float32."""
        with self._writing() as connection:
            clips.put_brightness(connection, clip_id, brightness)

    def brightness(self, clip_id: int) -> FloatArray | None:
        """How the brightness of a clip runs, where that is known."""
        with self._reading() as connection:
            return clips.brightness_of(connection, clip_id)

    def store_failure(
        self,
        path: str,
        fingerprint: Fingerprint | None,
        settings: str,
        error: str,
        remedy: str,
    ) -> None:
        """Keep that a file could not be measured, and what to do about it."""
        with self._writing() as connection:
            clips.put_failed(connection, path, fingerprint, settings, error, remedy)

    def note_touched(self, clip_id: int, fingerprint: Fingerprint) -> None:
        """Keep the new time of change of a file whose content did not change."""
        with self._writing() as connection:
            clips.set_fingerprint(connection, clip_id, fingerprint)

    def note_moved(self, moves: Mapping[int, str]) -> None:
        """Keep the new paths of clips whose files were moved, by number.

        They may take one another's. What failed at such a path is forgotten, and so is a copy of
        the same content of which nobody said anything; if another clip is there, none is moved.
        """
        with self._writing() as connection:
            clips.move(connection, moves)

    def forget_failures(self, clip_ids: Iterable[int]) -> None:
        """Forget files that could never be measured, by number."""
        with self._writing() as connection:
            clips.forget(connection, clip_ids)

    def describe(self, clip_id: int, clip: Clip, settings: str) -> None:
        """Keep another name, reel and shot of a clip; what was measured of it stays."""
        with self._writing() as connection:
            clips.set_description(connection, clip_id, clip, settings)

    def say_of_clips(self, heard: Mapping[int, ShotSaid]) -> None:
        """Keep what people say of clips, by their numbers; what is left open stays as it was."""
        with self._writing() as connection:
            for clip_id, each in heard.items():
                said.say_of_clip(connection, clip_id, each)

    def mark_clock(self, clip_ids: Iterable[int], clock: bool | None) -> None:
        """Keep whether a clock is in the pictures of clips, by their numbers; None takes it back.

        What was proposed for them goes.
        """
        with self._writing() as connection:
            for clip_id in clip_ids:
                said.mark_clock(connection, clip_id, clock)

    def clip_names(self) -> dict[str, int]:
        """Every name that a clip has or had, in lower case, with the clip's number."""
        with self._reading() as connection:
            return clips.names_ever(connection)

    def call_clips(self, names: Mapping[int, str]) -> None:
        """Keep what clips are called, by number; what they were called before stays theirs."""
        with self._writing() as connection:
            clips.put_names(connection, names)

    def name_pattern(self) -> str | None:
        """The pattern by which names are read, where one was chosen."""
        with self._reading() as connection:
            return said.pattern_of(connection)

    def store_name_pattern(self, pattern: str, names: Mapping[int, ShotName]) -> None:
        """Keep a pattern of names, and what it reads of every clip, by number."""
        with self._writing() as connection:
            said.put_pattern(connection, pattern, names)

    def beat_marks(self) -> dict[int, int]:
        """Hits that somebody put into the beat of another hit, or alone: then with themselves."""
        with self._reading() as connection:
            return said.beat_marks(connection)

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

    def trace(self, clip_id: int, weights: str) -> Trace | None:
        """What the spotter made of a clip's frames, if it was measured with weights so digested."""
        with self._reading() as connection:
            return traces.trace_of(connection, clip_id, weights)

    def hits(self, clip_id: int) -> tuple[StoredHit, ...]:
        """The hits of a clip by contact frame, each with the decision in force."""
        with self._reading() as connection:
            return self._decided(connection, clip_id)

    def all_hits(self) -> dict[int, tuple[StoredHit, ...]]:
        """The hits of every clip that has any, by its number, each as in `hits`."""

        def read(connection: sqlite3.Connection) -> dict[int, tuple[StoredHit, ...]]:
            return decisions.with_all_decisions(connection, hits.hits_of_all(connection))

        return dict(self._read_once("hits", read))

    def hit(self, hit_id: int) -> StoredHit:
        """One hit with the decision in force.

        Raises
        ------
        UnknownHitError
            If the project has no hit of that number.
        """
        with self._reading() as connection:
            return self._hit(connection, hit_id)

    def speeds(self, confidence: float) -> tuple[float, ...]:
        """Peak speeds of all hits from a confidence on, picture widths per second.

        Those that somebody said are no hits are left out.
        """
        with self._reading() as connection:
            none = decisions.said_to_be_none(connection)
            return hits.speeds_of_all(connection, confidence, none)

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
                if now is not None and now.hit == judged.hit:
                    proposals.put_proposal(connection, judged.id, judge, proposal)

    def judge(self) -> Judge:
        """Who judges the trims: by the calibration in force, for the field of view kept."""
        with self._reading() as connection:
            return self._judge(connection)

    def keep_fov(self, degrees: float) -> None:
        """Keep the angle that the picture fills for the viewer."""
        with self._writing() as connection:
            calibrations.put_fov(connection, degrees)

    def calibration(self) -> Calibration | None:
        """What viewers' answers say of the model, where somebody asked them."""
        with self._reading() as connection:
            return calibrations.calibration_in_force(connection)

    def store_calibration(self, calibration: Calibration | None) -> None:
        """Put a calibration in force for everything proposed from now on, or none."""
        with self._writing() as connection:
            calibrations.put_calibration(connection, calibration)

    def lesson(self) -> Lesson | None:
        """What the finder was taught, whatever weights it was fitted to."""
        with self._reading() as connection:
            return lessons.lesson_in_force(connection)

    def store_lesson(
        self, lesson: Lesson | None, confidences: Mapping[int, Mapping[int, float]]
    ) -> None:
        """Put a lesson in force, or none, and keep how sure finds are by it: by clip and hit."""
        with self._writing() as connection:
            lessons.put_lesson(connection, lesson)
            for clip_id, each in confidences.items():
                lessons.judge_again(connection, clip_id, each)

    def judge_again(self, clip_id: int, confidences: Mapping[int, float]) -> None:
        """Keep how sure a clip's finds are, by number."""
        with self._writing() as connection:
            lessons.judge_again(connection, clip_id, confidences)

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
                act = acts.put_act(connection, by) if new else 0
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
            act = acts.put_act(connection, by) if act is None else act
            numbers = []
            for each in given:
                if each.hit_id is not None:
                    hit = self._hit(connection, each.hit_id)
                    none = hit.decision is not None and hit.decision.answer == "not-a-hit"
                    decisions.restate(connection, act, hit, int(each.hit.contact), none)
                numbers.append(marks.put_mark(connection, act, each, by.who))
        return act, tuple(numbers)

    def marks(self) -> tuple[Mapping[str, Any], ...]:
        """Every mark by hand, oldest first (see `impactcut.project.marks.marks_of`)."""
        with self._reading() as connection:
            return marks.marks_of(connection)

    def drop_clips(self, clip_ids: Iterable[int], by: Actor, out: bool = True) -> None:
        """Take clips out, by number, or back in; what was said of them stays theirs."""
        with self._writing() as connection:
            clips.drop(connection, acts.put_act(connection, by), clip_ids, out)

    def drops(self) -> tuple[Mapping[str, Any], ...]:
        """Every clip that was taken out or back in, oldest first."""
        with self._reading() as connection:
            return clips.drops_of(connection)

    def measured_again(self, hit_id: int, hit: Hit, motion: HitMotion) -> None:
        """Keep a hit by hand as it is measured now."""
        with self._writing() as connection:
            clip_id = self._hit(connection, hit_id).clip_id
            hits.measured_again(connection, clip_id, hit_id, hit, motion)

    def drop_hit(self, hit_id: int) -> None:
        """Forget a hit by hand whose frame the clip has no more; what was decided of it waits."""
        with self._writing() as connection:
            hits.remove_hit(connection, self._hit(connection, hit_id).clip_id, hit_id)

    def same_takes(self) -> tuple[SameTake, ...]:
        """Files that are not measured, because clips are that hold the same takes; by path."""
        with self._reading() as connection:
            return same_takes.all_same_takes(connection)

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

    def said_same_takes(self) -> tuple[SameTake, ...]:
        """Everything that somebody ever said of such files, oldest first."""
        with self._reading() as connection:
            return same_takes.said_same_takes(connection)

    def measure_itself(self, path: str) -> None:
        """Keep that a file is measured itself, whatever clip it stood for."""
        with self._writing() as connection:
            same_takes.measure_itself(connection, path)

    def deliveries(self) -> tuple[Delivery, ...]:
        """Everything that was handed over, oldest first."""
        with self._reading() as connection:
            return deliveries.all_deliveries(connection)

    def add_delivery(self, delivery: Delivery) -> bool:
        """Keep what was handed over; False if another delivery has its number meanwhile."""
        with self._writing() as connection:
            return deliveries.put_delivery(connection, delivery)

    def undo(self, by: Actor, only: int | None = None) -> Act | None:
        """Take back the latest act that was not taken back, whole; None if there is none.

        With the number of an act as ``only``: nothing is done, and None, if another is the latest.
        """
        with self._writing() as connection:
            last = acts.last_standing(connection)
            if last is not None and only not in (None, last.id):
                return None
            if last is not None:
                undoing = acts.put_act(connection, by, last.id)
                decisions.take_back(connection, last.id, undoing)
                marks.take_back_marks(connection, last.id)
                clips.take_back_drops(connection, last.id)
        return last

    def acts(self) -> tuple[Act, ...]:
        """Everything that anybody did, oldest first."""
        with self._reading() as connection:
            return acts.all_acts(connection)

    def history(self, clip_id: int | None = None) -> tuple[DecisionEntry, ...]:
        """Everything ever decided, about a clip or about all of them, oldest first."""
        with self._reading() as connection:
            return decisions.history_of(connection, clip_id)

    def decided_on_other_content(self) -> tuple[int, ...]:
        """Hits whose decision in force is about what their file held before it changed."""
        with self._reading() as connection:
            return decisions.decided_on_other_content(connection)

    def orphans(self, clip_id: int) -> tuple[DecisionEntry, ...]:
        """Decisions in force about hits that the clip no longer has."""
        with self._reading() as connection:
            return decisions.orphans_of(connection, clip_id, hits.hits_of(connection, clip_id))

    def _judge(self, connection: sqlite3.Connection) -> Judge:
        return calibrations.judge_in_force(connection, self._fov)

    def _hit(self, connection: sqlite3.Connection, hit_id: int) -> StoredHit:
        return self._hits_numbered(connection, [hit_id])[hit_id]

    def _hits_numbered(
        self, connection: sqlite3.Connection, hit_ids: Iterable[int]
    ) -> dict[int, StoredHit]:
        """Hits with what was decided, by number; each of their clips is read but once."""
        clips: dict[int, list[int]] = {}
        for hit_id in hit_ids:
            found = hits.hit_numbered(connection, hit_id)
            if found is None:
                raise self._unknown(hit_id)
            clips.setdefault(found.clip_id, []).append(hit_id)
        decided = (hit for clip_id in clips for hit in self._decided(connection, clip_id))
        by_id = {hit.id: hit for hit in decided}
        return {hit_id: by_id[hit_id] for asked in clips.values() for hit_id in asked}

    def _decided(self, connection: sqlite3.Connection, clip_id: int) -> tuple[StoredHit, ...]:
        stored = hits.hits_of(connection, clip_id)
        return decisions.with_decisions(connection, clip_id, stored)

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
