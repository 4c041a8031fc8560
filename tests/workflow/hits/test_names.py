"""Names of hits stay: they depend on the footage alone, and none is given to another hit."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from impactcut.core.takes.names import clip_name, is_label, label_hits, label_key, name_clips
from impactcut.core.takes.shot_names import read_shot_name
from impactcut.errors import UnknownHitError
from impactcut.project import Project
from impactcut.project.file.migrations import MIGRATIONS
from impactcut.workflow.hits.listing import list_hits
from impactcut.workflow.hits.names import Names, keep_names
from tests.helpers.projects.kept_clips import keep_clip
from tests.helpers.projects.older_file import write_older
from tests.helpers.projects.project_values import make_clip, make_hit
from tests.helpers.running.commands import run_command


def put(project: Project, path: str, *contacts: int, sure: float = 0.9) -> int:
    named = read_shot_name(path)
    clip = make_clip(path, section=named.section, take=named.take, angle=named.angle)
    return keep_clip(project, clip, *(make_hit(at, confidence=sure) for at in contacts))


def names(project: Project) -> dict[tuple[str, int], str]:
    """What hits are called, by clip and contact."""
    return {
        (each.clip.name, hit.impact.contact): hit.called
        for each in list_hits(project)
        for hit in each.hits
    }


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("/quay/S2_T1_A.mov", "S2T1A"),
        ("/quay/S12_T10_C.mov", "S12T10C"),
        ("/quay/S2_T1.mov", "S2T1"),
        ("/quay/A004C011_240301_R1AB.mxf", "A004C011"),
        ("/quay/C0001.MP4", "C0001"),
        ("/quay/yard rehearsal 2.mov", "yard"),
        ("/quay/0012.mov", "C0012"),
        ("/quay/___.mov", "clip"),
    ],
)
def test_a_clip_is_called_by_its_shot_or_else_its_file(path: str, expected: str) -> None:
    named = read_shot_name(path)
    clip = make_clip(path, section=named.section, take=named.take, angle=named.angle)
    assert clip_name(clip) == expected


@given(st.integers(1, 999), st.integers(1, 99), st.sampled_from("ABCDEF"), st.integers(1, 99))
def test_names_on_ordinary_shots_have_twelve_characters_at_most(
    section: int, take: int, angle: str, hit: int
) -> None:
    clip = make_clip(section=str(section), take=str(take), angle=angle)
    assert len(f"{clip_name(clip)}.{hit}") <= 12


def test_sure_hits_are_counted_and_the_others_stand_behind_them() -> None:
    found = [(10, False), (20, True), (25, False), (28, False), (30, True), (40, False)]
    assert label_hits(found, {}) == ("0a", "1", "1a", "1b", "2", "2a")


def test_what_is_found_later_renames_nothing() -> None:
    taken = {"1": 20, "2": 40}
    assert label_hits([(10, True), (30, True), (50, True)], taken) == ("0a", "1a", "3")
    assert label_hits([(30, True)], {**taken, "1a": 25}) == ("1b",)
    assert label_hits([(50, False), (60, True)], taken) == ("2a", "3")


def test_letters_do_not_run_out() -> None:
    labels = label_hits([(at, False) for at in range(704)], {})
    assert len(set(labels)) == 704 and labels[25:28] == ("0z", "0aa", "0ab")
    assert labels[701:] == ("0zz", "0aaa", "0aab")
    assert all(map(is_label, labels)) and list(labels) == sorted(labels, key=label_key)


@settings(deadline=None)
@given(st.lists(st.lists(st.tuples(st.integers(0, 300), st.booleans()), max_size=8), max_size=5))
def test_labels_are_never_given_twice(scans: list[list[tuple[int, bool]]]) -> None:
    taken: dict[str, int] = {}
    for found in scans:
        found = sorted(found)
        labels = label_hits(found, taken)
        assert len(set(labels)) == len(labels) and not set(labels) & set(taken)
        taken |= {label: at for label, (at, _) in zip(labels, found, strict=True)}


def test_clips_of_one_shot_are_told_apart_and_keep_what_they_are_called() -> None:
    first = name_clips({4: "S2T1A", 2: "S2T1A"}, {}, {})
    assert first == {4: "S2T1A", 2: "S2T1A-2"}
    taken = {name.lower(): number for number, name in first.items()}
    later = name_clips({1: "S2T1A", 2: "S2T1A", 4: "S2T1A"}, first, taken)
    assert later == {4: "S2T1A", 2: "S2T1A-2", 1: "S2T1A-3"}


@settings(max_examples=10)
@given(st.randoms(use_true_random=False))
def test_names_are_the_same_in_whatever_order_clips_are_measured(
    tmp_path_factory: pytest.TempPathFactory, order: random.Random
) -> None:
    clips = {
        "/quay/S2_T1_A.mov": (30, 60), "/quay/S2_T2_A.mov": (40,), "/copies/S2_T1_A.mov": (30, 60),
        "/quay/C0001.mov": (50, 90),
    }  # fmt: skip
    shuffled = list(clips)
    order.shuffle(shuffled)
    with Project(tmp_path_factory.mktemp("p") / "night.db", create=True) as project:
        for path in shuffled:
            put(project, path, *clips[path])
        keep_names(project)
        assert sorted(hit.called for each in list_hits(project) for hit in each.hits) == [
            "C0001.1", "C0001.2", "S2T1A-2.1", "S2T1A-2.2", "S2T1A.1", "S2T1A.2", "S2T2A.1",
        ]  # fmt: skip
        copy = next(stored for stored in project.clips() if stored.path.startswith("/copies"))
        assert copy.called == "S2T1A"


def test_names_outlive_scans_that_find_more_or_less(project: Project) -> None:
    path = "/quay/S2_T1_A.mov"
    put(project, path, 50, 100, 150)
    before = names(project)
    assert list(before.values()) == ["S2T1A.1", "S2T1A.2", "S2T1A.3"]
    put(project, path, 20, 51, 75, 149, 180)
    assert list(names(project).values()) == [
        "S2T1A.0a", "S2T1A.1", "S2T1A.1a", "S2T1A.3", "S2T1A.4",
    ]  # fmt: skip
    numbers = {hit.label: hit.id for hit in project.hits(1)}
    put(project, path, 50, 100, 150)
    assert names(project) == before
    put(project, path, 20, 50, 75)
    assert {hit.label: hit.id for hit in project.hits(1)} == {
        label: numbers[label] for label in ("0a", "1", "1a")
    }


def test_a_clip_that_is_named_otherwise_is_found_under_both_names(project: Project) -> None:
    put(project, "/quay/A004C011.mov", 50)
    keep_names(project)
    (stored,) = project.clips()
    assert stored.clip is not None
    shot = make_clip("/quay/A004C011.mov", section="2", take="1", angle="A")
    project.describe(stored.id, shot, "{}")
    keep_names(project)
    assert list(names(project).values()) == ["S2T1A.1"]
    found = Names(project)
    assert found.one("S2T1A.1") == found.one("a004c011.1") == found.one("1") == 1


def test_what_somebody_types(project: Project) -> None:
    put(project, "/quay/S2_T1_A.mov", 50, 100, 150)
    put(project, "/quay/S2_T2_A.mov", 60)
    put(project, "/quay/S2_T1_A.mov", 50, 75, 100, 150)
    found = Names(project)
    assert found.meant("S2T1A.1-2").hits == (1, 5, 2)
    assert found.meant("s2t1a.1A-S2T1A.3").hits == (5, 2, 3)
    for whole in ("S2T1A", "S2_T1_A.mov", "/quay/S2_T1_A.mov", "S2_T1_A"):
        assert found.meant(whole).hits == (1, 5, 2, 3) and found.meant(whole).whole
    assert found.meant("S2_T1_A.2").hits == (2,) and not found.meant("S2_T1_A.2").whole
    assert found.of(4) == "S2T2A.1"
    for wrong in ("S2T1A.9", "S9T1A.1", "one", "S2T1A.7-9", "99", "9" * 30, "S2T1A.1-S2T2A.1"):
        with pytest.raises(UnknownHitError, match=wrong[:5]):
            found.meant(wrong)
    with pytest.raises(UnknownHitError, match=r"name one hit of it, such as S2T1A\.1"):
        found.one("S2T1A")


def test_commands_take_names(project: Project) -> None:
    put(project, "/quay/S2_T1_A.mov", 50, 100)
    put(project, "/quay/S2_T2_A.mov", 60)
    more = ("--project", project.path)
    listed = run_command("hits", *more).stdout
    whole, one = (run_command("hits", *words, "--json", *more).stdout for words in ((), ["s2t1a"]))
    clips = [[clip["name"] for clip in json.loads(text)["clips"]] for text in (whole, one)]
    assert len(clips[0]) > 1 and clips[1] == ["S2_T1_A.mov"]
    assert run_command("mark", "S2T1A", "--no-clock", *more).stdout.startswith("1 clip marked")
    assert "S2T1A.1 " in listed and "S2T2A.1 " in listed
    assert run_command("decide", "S2T1A.2", "--as-shot", *more).stdout == (
        "hit S2T1A.2 in S2_T1_A.mov: as shot\n"
    )
    assert run_command("trims", "S2T1A.2", *more).stdout.startswith("Hit S2T1A.2 in S2_T1_A.mov,")
    assert "S2T1A.2" in run_command("history", "s2t1a.2", *more).stdout
    done = run_command("compare", "--together", "S2T2A.1", "S2T1A.2", *more)
    assert done.exit_code == 0 and project.beat_marks() == {3: 2}
    missing = run_command("trims", "S2T1A.9", *more)
    assert missing.exit_code == 2 and "there is no hit S2T1A.9" in missing.stderr


def test_hits_of_an_older_file_are_named_as_if_found_now(tmp_path: Path) -> None:
    older = next(n for n, step in enumerate(MIGRATIONS) if "names of clips" in step.name)
    contacts = [(20, 0.2), (40, 0.9), *((at, 0.1) for at in range(50, 80)), (120, 0.8)]
    with Project(tmp_path / "new.db", create=True) as project:
        hits = (make_hit(at, confidence=sure) for at, sure in contacts)
        keep_clip(project, make_clip("/quay/S2_T1_A.mov"), *hits)
        expected = [hit.label for hit in project.hits(1)]
    write_older(tmp_path / "old.db", tmp_path / "new.db", older, "clips", "hits", "hit_motions")
    with Project(tmp_path / "old.db") as project:
        assert [hit.label for hit in project.hits(1)] == expected
        assert expected[:3] == ["0a", "1", "1a"] and expected[-1] == "2"


def test_hits_by_hand_are_counted_where_nothing_sure_was_found() -> None:
    assert label_hits([(10, True)], {"0a": 40, "0b": 60}) == ("1",)
    assert label_hits([(30, True)], {"0a": 40, "1": 10}) == ("2",)
