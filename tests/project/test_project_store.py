"""What goes into the project comes out the same, and decisions outlive every measurement."""

from __future__ import annotations

import io
import sqlite3
import zlib
from contextlib import closing
from dataclasses import fields, replace
from pathlib import Path

import msgspec
import numpy as np
import pytest

from impactcut.core.motion.measured import Channel, HitMotion, Skips
from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.core.trims.trim import Proposal
from impactcut.errors import ProjectFileError, UnknownHitError
from impactcut.project import Actor, Clearing, Fingerprint, Project
from impactcut.project.file.migrations import MIGRATIONS
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.older_file import write_older
from tests.helpers.projects.project_values import (
    SEEN,
    make_clip,
    make_hit,
    make_motion,
    make_proposal,
)

YES = Decision("approved", FrameRange(99, 101), "Ines", "2024-03-01T20:00:00Z", "sells it")
NO = Decision("declined", None, "Ines", "2024-03-02T20:00:00Z")


def put(project: Project, *contacts: int, path: str = "/quay/S2_T3_B.mov") -> int:
    return keep_clip(project, make_clip(path), *contacts)


def numbers(project: Project, clip_id: int) -> dict[int, int]:
    return {hit.impact.contact: hit.id for hit in project.hits(clip_id)}


def same(a: HitMotion | Channel | Skips, b: object) -> bool:
    assert type(a) is type(b)
    for field in fields(a):
        x, y = getattr(a, field.name), getattr(b, field.name)
        if isinstance(x, np.ndarray):
            if x.dtype != y.dtype or not np.array_equal(x, y):
                return False
        elif field.name == "channels":
            if not all(same(p, q) for p, q in zip(x, y, strict=True)):
                return False
        elif x != y:
            return False
    return True


def test_clip_hits_and_motion_come_back(project: Project) -> None:
    clip_id = put(project, 100, 150)
    (stored,) = project.clips()
    assert stored.clip == make_clip()
    assert (stored.id, stored.state, stored.fingerprint) == (clip_id, "done", SEEN)
    first, second = project.hits(clip_id)
    assert (first.impact, second.impact) == (make_hit(100), make_hit(150))
    assert same(make_motion(150), project.motion(second.id))


def test_hit_without_reaction_comes_back(project: Project) -> None:
    hit = make_hit(reaction=None)
    clip_id = project.store_clip(
        make_clip(), SEEN, "{}", [(hit, replace(make_motion(), channels=()))]
    )
    (stored,) = project.hits(clip_id)
    assert stored.impact == hit
    assert project.motion(stored.id).channels == ()


def test_measurement_with_a_wrong_bit_is_explained(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        put(project, 100)
    whole = _stored_motion(path)
    random = np.random.default_rng(1)
    refused = 0
    for place in random.integers(len(whole), size=600):
        damaged = bytearray(whole)
        damaged[place] ^= 1 << random.integers(8)
        refused += not _reads(path, bytes(damaged))
    assert refused > 590  # some bits only fill the last byte


def test_measurement_without_its_fields_is_explained(tmp_path: Path) -> None:
    path = tmp_path / "night.db"
    with Project(path, create=True) as project:
        put(project, 100)
    for names in (("rate",), ("rate", "luma", "other"), ("other",)):
        arrays = dict.fromkeys(names, np.array([24, 1]))
        archive = io.BytesIO()
        np.savez_compressed(archive, **arrays)
        plain = {name: ("<i8", (2,), array.tobytes()) for name, array in arrays.items()}
        for data in (archive.getvalue(), zlib.compress(msgspec.msgpack.encode(plain))):
            assert not _reads(path, data)


def _stored_motion(path: Path) -> bytes:
    with closing(sqlite3.connect(path)) as connection:
        return bytes(connection.execute("SELECT data FROM hit_motions").fetchone()[0])


def _reads(path: Path, data: bytes) -> bool:
    """Whether a motion is read from ``data``; if not, the error has to name the remedy."""
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE hit_motions SET data = ?", (data,))
    with Project(path) as project:
        try:
            project.motion(1)
        except ProjectFileError as error:
            assert f"{path}: " in str(error) and "impactcut scan --again" in str(error)
            return False
    return True


def test_unknown_hit_is_named(project: Project) -> None:
    for ask in (project.hit, project.motion):
        with pytest.raises(UnknownHitError, match="no hit 7"):
            ask(7)
    with pytest.raises(UnknownHitError, match="no hit 7"):
        project.decide(7, NO)


def test_identical_scan_keeps_numbers(project: Project) -> None:
    clip_id = put(project, 50, 100, 150)
    before = numbers(project, clip_id)
    assert put(project, 50, 100, 150) == clip_id
    assert numbers(project, clip_id) == before


def test_moved_and_new_hits_in_a_second_scan(project: Project) -> None:
    clip_id = put(project, 50, 100)
    before = numbers(project, clip_id)
    put(project, 20, 52, 101)
    after = numbers(project, clip_id)
    assert (after[52], after[101]) == (before[50], before[100])
    assert after[20] > max(before.values())


def test_number_of_a_hit_that_went_is_given_to_none_but_that_hit(project: Project) -> None:
    gone = numbers(project, put(project, 50))[50]
    put(project)
    after = numbers(project, put(project, 52, 60))
    assert after[52] == gone < after[60]


def test_failure_is_counted_until_the_file_changes(project: Project) -> None:
    def fail(seen: Fingerprint) -> int:
        project.store_failure("/quay/a.mov", seen, "{}", "is cut short", "copy it again")
        stored = project.clip_at("/quay/a.mov")
        assert stored is not None and stored.state == "failed" and stored.own is None
        assert (stored.error, stored.remedy) == ("is cut short", "copy it again")
        return stored.tries

    assert [fail(SEEN), fail(SEEN), fail(replace(SEEN, digest="bb"))] == [1, 2, 1]


def test_failure_keeps_what_was_measured_before(project: Project) -> None:
    clip_id = put(project, 100)
    project.store_failure("/quay/S2_T3_B.mov", SEEN, "{}", "is cut short", "copy it again")
    stored = project.clip_at("/quay/S2_T3_B.mov")
    assert stored is not None and stored.clip == make_clip() and stored.state == "failed"
    assert [hit.impact.contact for hit in project.hits(clip_id)] == [100]


def test_clips_can_move_and_take_one_anothers_places(project: Project) -> None:
    first, second = put(project, 100), put(project, 50, path="/quay/S2_T4_B.mov")
    project.note_moved({first: "/quay/S2_T4_B.mov", second: "/shed/S2_T5_B.mov"})
    moved = project.clip_at("/quay/S2_T4_B.mov")
    assert moved is not None and moved.id == first
    assert moved.clip is not None and moved.clip.path == "/quay/S2_T4_B.mov"
    assert [hit.impact.contact for hit in project.hits(second)] == [50]
    assert [clip.path for clip in project.clips()] == ["/quay/S2_T4_B.mov", "/shed/S2_T5_B.mov"]


def test_no_clip_moves_onto_one_that_has_to_stay(project: Project) -> None:
    first, copy = put(project, 100), put(project, 100, path="/shed/S2_T3_B.mov")
    project.decide(project.hits(copy)[0].id, YES)
    project.note_moved({first: "/shed/S2_T3_B.mov"})
    assert [clip.id for clip in project.clips()] == [first, copy]
    assert project.spoken_of() == {copy}


def test_what_was_never_measured_can_be_forgotten(project: Project) -> None:
    project.store_failure("/quay/a.mov", SEEN, "{}", "is cut short", "copy it again")
    kept = put(project, 100)
    project.forget_failures(clip.id for clip in project.clips() if clip.own is None)
    assert [clip.id for clip in project.clips()] == [kept]


def test_proposals_belong_to_a_field_of_view_and_end_with_a_scan(project: Project) -> None:
    clip_id = put(project, 100)
    (hit,) = project.hits(clip_id)
    nothing = Proposal(make_proposal().trims, None, "nothing is gained")
    with Project(project.path, fov=60.0) as near, Project(project.path, fov=20.0) as far:
        near.store_proposals([(hit, make_proposal())])
        far.store_proposals([(hit, nothing)])
        assert near.proposals(clip_id) == {hit.id: make_proposal()}
        assert far.proposals(clip_id) == far.chosen_trims(0.5) | {hit.id: nothing}
        assert project.proposals(clip_id) == project.chosen_trims(0.5) == {}
        project.keep_fov(20.0)
        assert project.proposals(clip_id) == {hit.id: nothing}
        assert near.proposals(clip_id) == {hit.id: make_proposal()}
        put(project, 100)
        assert near.proposals(clip_id) == {}


def test_chosen_trims_are_those_of_the_proposals(project: Project) -> None:
    clip_id = put(project, 100, 150, 200)
    first, second, third = project.hits(clip_id)
    nothing = Proposal(make_proposal().trims, None, "nothing is gained")
    project.store_proposals([(first, make_proposal()), (second, nothing)])
    chosen = project.chosen_trims(0.5)
    proposed = make_proposal().proposed
    assert proposed is not None
    assert chosen == {
        first.id: Proposal((proposed,), proposed, None),
        second.id: Proposal((), None, "nothing is gained"),
    }
    assert project.chosen_trims(0.95) == {}
    project.decide(third.id, NO)
    assert project.chosen_trims(0.95) == chosen
    project.store_proposals([(first, nothing)])
    assert project.chosen_trims(0.5)[first.id].proposed is None
    put(project, 100)
    assert project.chosen_trims(0.5) == {}


def test_hits_of_all_clips_are_those_of_each(project: Project) -> None:
    first, second = put(project, 100, 50), put(project, 70, path="/quay/S2_T4_B.mov")
    put(project, path="/quay/S2_T5_B.mov")
    project.decide(project.hits(first)[1].id, YES)
    assert project.all_hits() == {each: project.hits(each) for each in (first, second)}


def test_older_file_keeps_what_was_decided_and_is_proposed_for_anew(tmp_path: Path) -> None:
    older = next(n for n, step in enumerate(MIGRATIONS) if "as they are published" in step.name)
    with Project(tmp_path / "new.db", create=True) as project:
        clip_id = put(project, 100)
        project.decide(numbers(project, clip_id)[100], YES)
        expected = project.hits(clip_id)
    write_older(tmp_path / "old.db", tmp_path / "new.db", older)
    with closing(sqlite3.connect(tmp_path / "old.db")) as old, old:
        old.execute("INSERT INTO proposals VALUES (1, 'viewing', '[{}]', 0, NULL)")
        old.execute("INSERT INTO chosen_trims VALUES (1, 'viewing', '{}', NULL)")
    with Project(tmp_path / "old.db") as project:
        assert project.hits(clip_id) == expected
        assert project.clips_without_proposals() == {clip_id}


def test_motion_that_an_older_program_kept_is_read(tmp_path: Path) -> None:
    """As NumPy archives: https://numpy.org/doc/stable/reference/generated/numpy.savez.html"""
    motion, path = make_motion(), tmp_path / "night.db"
    skips = Skips(np.array([3]), np.array([1]), np.float32([0.1]), np.float32([0.01]))
    kept = {each.name: getattr(motion, each.name) for each in fields(motion)}
    kept |= {"rate": np.array([24000, 1001]), "channels": [each.name for each in motion.channels]}
    for number, channel in enumerate(motion.channels):
        for name in ("displacement", "centre", "area"):
            kept[f"{number}.{name}"] = getattr(channel, name)
    for each in fields(skips):
        kept[f"skips.{each.name}"] = getattr(skips, each.name)
    archive = io.BytesIO()
    np.savez_compressed(archive, **{name: x for name, x in kept.items() if x is not None})
    with Project(path, create=True) as project:
        put(project, 100)
    assert _reads(path, archive.getvalue())
    with Project(path) as project:
        read = project.motion(1)
        assert same(motion, replace(read, skips=None))
        assert read.skips is not None and same(skips, read.skips)
    assert not _reads(path, archive.getvalue()[:-400])


def test_proposals_from_an_older_measurement_are_dropped(project: Project) -> None:
    clip_id = put(project, 100, 150)
    before = project.hits(clip_id)
    put(project, 101)
    project.store_proposals([(hit, make_proposal()) for hit in before])
    assert project.proposals(clip_id) == {}


def test_latest_decision_counts_and_all_are_kept(project: Project) -> None:
    clip_id = put(project, 100)
    number = numbers(project, clip_id)[100]
    taken_back = Clearing("Ines", "2024-03-03T20:00:00Z", "undecided after all")
    for said, in_force in ((YES, YES), (NO, NO), (taken_back, None), (YES, YES)):
        project.decide(number, said)
        assert project.hit(number).decision == in_force
    assert [entry.said for entry in project.history(clip_id)] == [YES, NO, taken_back, YES]


def test_clearing_what_was_never_decided_adds_nothing(project: Project) -> None:
    clip_id = put(project, 100)
    project.decide(numbers(project, clip_id)[100], Clearing())
    assert project.history(clip_id) == ()


def test_decisions_survive_scans_that_move_the_contact(project: Project) -> None:
    clip_id = put(project, 100, 110)
    ids = numbers(project, clip_id)
    project.decide(ids[100], YES)
    project.decide(ids[110], NO)
    for contacts in ((101, 112), (102, 112), (100, 110)):
        put(project, *contacts)
        assert [hit.decision for hit in project.hits(clip_id)] == [YES, NO]
        assert project.orphans(clip_id) == ()


def test_decided_hit_that_is_found_no_more_becomes_one_by_hand(project: Project) -> None:
    clip_id = put(project, 100, 150, 200)
    project.decide(numbers(project, clip_id)[100], YES)
    project.decide(numbers(project, clip_id)[200], Decision("not-a-hit", None, "Ines"))
    for contacts in ((150,), (99, 150)):
        put(project, *contacts)
        found = [(hit.impact.contact, hit.by_hand, hit.decision) for hit in project.hits(clip_id)]
        assert found == [(100, "Ines", YES), (150, "", None)]


def test_decision_whose_hit_went_waits_for_it(project: Project) -> None:
    clip_id = put(project, 100, 150)
    project.decide(numbers(project, clip_id)[100], YES)
    project.drop_hit(numbers(project, clip_id)[100])
    assert [hit.decision for hit in project.hits(clip_id)] == [None]
    (orphan,) = project.orphans(clip_id)
    assert (orphan.contact, orphan.said, orphan.digest) == (100, YES, "aa")
    put(project, 99, 150)
    assert [hit.decision for hit in project.hits(clip_id)] == [YES, None]
    assert project.orphans(clip_id) == ()


def test_two_decisions_never_share_a_hit(project: Project) -> None:
    clip_id = put(project, 100, 103)
    ids = numbers(project, clip_id)
    project.decide(ids[100], YES)
    project.decide(ids[103], NO)
    put(project, 102)
    found = [(hit.impact.contact, hit.decision) for hit in project.hits(clip_id)]
    assert found == [(100, YES), (102, NO)] and project.orphans(clip_id) == ()


def test_follow_up_decisions_move_with_their_hit(project: Project) -> None:
    """Each answer is about the contact as it was then found, so slow drift loses nothing."""
    clip_id = put(project, 100)
    for contact, said in ((100, YES), (102, NO), (104, YES), (106, NO)):
        put(project, contact)
        project.decide(project.hits(clip_id)[0].id, said)
    assert project.hits(clip_id)[0].decision == NO
    assert project.orphans(clip_id) == ()
    assert len(project.history(clip_id)) == 4


def test_decisions_cannot_be_changed_or_removed_even_by_hand(project: Project) -> None:
    clip_id = put(project, 100)
    project.decide(numbers(project, clip_id)[100], YES)
    by_hand = sqlite3.connect(project.path, isolation_level=None)
    by_hand.execute("PRAGMA foreign_keys = ON")
    for statement in (
        "DELETE FROM decisions",
        "UPDATE decisions SET answer = 'declined', first = NULL, count = NULL",
        "DELETE FROM clips",
    ):
        with pytest.raises(sqlite3.IntegrityError):
            by_hand.execute(statement)
    by_hand.close()
    assert project.hits(clip_id)[0].decision == YES


def test_what_is_read_once_is_read_again_after_anybody_wrote(project: Project) -> None:
    put(project, 100)
    clips, hits = project.clips(), project.all_hits()
    assert project.clips()[0] is clips[0]
    hits.clear()
    assert len(project.all_hits()[1]) == 1
    with Project(project.path) as other:
        second = put(other, 50, path="/quay/S2_T4_A.mov")
    assert len(project.clips()) == 2 and project.all_hits().keys() == {1, second}
    (hit,) = project.hits(second)
    project.decide_all({hit.id: YES}, Actor("Ines", "2024-03-01T20:00:00Z"))
    assert project.all_hits()[second][0].decision == YES
