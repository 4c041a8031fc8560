"""Answers from a page: what is taken in, what gives way, and what is wrong with a bad file.

The rules are the project's own: of two answers the later by the clock stands, and nobody's answer
is replaced in silence.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from impactcut.core.time.frames import FrameRange
from impactcut.core.trims.decision import Decision
from impactcut.errors import AnswersError
from impactcut.project import Clearing, Project
from impactcut.workflow.hits.answers_file import load_answers, parse_answers
from impactcut.workflow.hits.listing import find_hit
from impactcut.workflow.hits.page_answers import GivenAnswer, HitKey, take_answer, version
from tests.helpers.projects.project_values import SEEN, make_clip, make_hit, make_motion
from tests.helpers.running.commands import run_command

NOON, LATER = "2024-03-01T12:00:00Z", "2024-03-01T13:00:00Z"
KEY = HitKey(1, "S2_T3_B.mov", SEEN.digest, 100)
YES = GivenAnswer(KEY, "approved", FrameRange(99, 100), "Ines", NOON, "good", "")


@pytest.fixture
def project(project: Project) -> Project:
    """A new project with a hit at frame 100."""
    store(project, 100)
    return project


def store(project: Project, *contacts: int, path: str = "/quay/S2_T3_B.mov") -> None:
    hits = [(make_hit(contact), make_motion(contact)) for contact in contacts]
    project.store_clip(make_clip(path), SEEN, "{}", hits)


def take(project: Project, given: GivenAnswer) -> Any:
    return take_answer(project, given)


def decision(project: Project, hit: int = 1) -> Decision | None:
    return project.hit(hit).decision


def seen(project: Project) -> str:
    return version(decision(project))


def test_answers_are_kept_with_their_own_name_and_time(project: Project) -> None:
    taken = take(project, YES)
    assert (taken.fate, taken.hit, taken.unseen) == ("taken", 1, None)
    assert decision(project) == YES.said == Decision(
        "approved", FrameRange(99, 100), "Ines", NOON, "good", "Ines"
    )  # fmt: skip


def test_an_answer_that_comes_twice_is_kept_once(project: Project) -> None:
    take(project, YES)
    assert take(project, YES).fate == "repeated"
    assert len(project.history(1)) == 1


def test_answers_follow_one_another(project: Project) -> None:
    take(project, YES)
    no = replace(YES, answer="declined", trim=None, when=LATER, seen=seen(project))
    assert take(project, no).fate == "taken"
    back = replace(no, answer="cleared", note="", seen=seen(project))
    assert take(project, back).fate == "taken" and decision(project) is None
    assert take(project, back).fate == "repeated"


def test_replacing_what_was_not_seen_is_told(project: Project) -> None:
    take(project, YES)
    no = replace(YES, answer="declined", trim=None, who="Jo", when=LATER)
    taken = take(project, no)
    assert taken.fate == "taken" and taken.unseen == YES.said
    assert decision(project) == replace(no.said, note_who="Ines")


def test_an_older_answer_gives_way_and_is_told(project: Project) -> None:
    no = replace(YES, answer="declined", trim=None, who="Jo", when=LATER)
    take(project, no)
    taken = take(project, YES)
    assert taken.fate == "older" and taken.unseen == no.said == decision(project)


def test_of_two_answers_of_one_second_the_last_to_come_stands_and_is_told(project: Project) -> None:
    take(project, YES)
    no = replace(YES, answer="declined", trim=None, who="Jo")
    taken = take(project, no)
    assert taken.fate == "taken" and taken.unseen == YES.said
    assert decision(project) == replace(no.said, note_who="Ines")


def test_an_older_answer_gives_way_to_a_clearing_too(project: Project) -> None:
    take(project, YES)
    project.decide(1, Clearing("Jo", LATER, "not yet"))
    taken = take(project, replace(YES, answer="later", trim=None, seen="other"))
    assert taken.fate == "older" and taken.unseen == Clearing("Jo", LATER, "not yet")


def test_of_two_hits_near_the_frame_the_one_of_that_number_is_meant(project: Project) -> None:
    store(project, 100, 102)
    first, second = (hit.id for hit in project.hits(1))
    for hit in (first, second):
        taken = take(project, replace(YES, key=replace(KEY, hit=hit, contact=101)))
        assert taken.hit == hit


def test_times_to_come_count_as_now(project: Project) -> None:
    take(project, replace(YES, when="2999-01-01T00:00:00Z"))
    kept = decision(project)
    assert kept is not None and kept.when < "2999"


def test_frames_that_were_not_judged_are_refused(project: Project) -> None:
    taken = take(project, replace(YES, trim=FrameRange(150, 151)))
    assert taken.fate == "refused" and "frame 150" in taken.reason
    assert decision(project) is None


def test_vetoed_frames_are_refused(project: Project) -> None:
    trims = find_hit(project, 1).proposal.trims
    vetoed = [trim for trim in trims if trim.vetoes]
    for trim in vetoed:
        assert take(project, replace(YES, trim=trim.frames)).fate == "refused"
    assert decision(project) is None


def test_hits_are_found_again_by_clip_and_frame(project: Project) -> None:
    store(project, 60, 101)
    taken = take(project, replace(YES, key=replace(KEY, hit=77, contact=101)))
    assert taken.fate == "taken" and taken.hit == 1
    for key, reason in [
        (replace(KEY, clip="other.mov"), "no clip other.mov"),
        (replace(KEY, contact=140), "no hit near frame 140"),
        (replace(KEY, digest="bb"), "has changed since"),
    ]:
        refused = take(project, replace(YES, key=key))
        assert refused.fate == "refused" and reason in refused.reason


def test_copies_of_a_clip_keep_their_own_answers(project: Project) -> None:
    store(project, 100, path="/copy/S2_T3_B.mov")
    assert take(project, replace(YES, key=replace(KEY, hit=2))).hit == 2
    assert decision(project) is None and decision(project, 2) is not None


def test_versions_differ_with_every_part_of_a_decision() -> None:
    decisions = [
        None,
        Decision("later"),
        Decision("declined"),
        Decision("declined", note="x"),
        Decision("declined", who="x"),
        Decision("declined", when=NOON),
        Decision("approved", FrameRange(1, 2)),
        Decision("approved", FrameRange(1, 3)),
    ]
    assert len({version(each) for each in decisions}) == len(decisions)


def answer_dict(**changes: Any) -> dict[str, Any]:
    return {
        "hit": 1, "clip": "S2_T3_B.mov", "digest": "aa", "contact": 100, "answer": "approved",
        "first": 99, "count": 1, "who": "Ines", "when": NOON, "note": "", "seen": "",
    } | changes  # fmt: skip


def file_text(*answers: object, **changes: Any) -> str:
    whole = {
        "schema": 1, "kind": "impactcut answers", "project": "night", "made": NOON,
        "answers": list(answers),
    } | changes  # fmt: skip
    return json.dumps(whole)


def test_files_are_read() -> None:
    read = parse_answers(file_text(answer_dict(), answer_dict(hit=2, contact=140)))
    assert read.project == "night" and len(read.answers) == 2
    assert read.answers[0] == replace(YES, note="")


def test_half_characters_are_marked_and_hold_nothing_up() -> None:
    """JSON can escape surrogates by themselves (RFC 8259, section 8.2); U+FFFD stands for them."""
    half, pair = (
        answer_dict(note="a\ud83d!", who="In\udc00s"),
        answer_dict(hit=2, note="\U0001f3ac"),
    )
    read = parse_answers(file_text(half, pair))
    assert [(each.who, each.note) for each in read.answers] == [
        ("In\ufffds", "a\ufffd!"),
        ("Ines", "\U0001f3ac"),
    ]


WITHOUT = {key: value for key, value in answer_dict().items() if key != "who"}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "not a file of answers"),
        ("{", "cut short"),
        ("[" * 100_000, "not a file of answers"),
        ("[]", "not a file of answers from a review page"),
        ('{"kind": "other"}', "not a file of answers from a review page"),
        (file_text(schema=2), "answers of form 2, where this impactcut knows form 1"),
        (file_text(more=1), "the file: Object contains unknown field `more`"),
        (file_text(answers={}), "the file: Expected `array`, got `object` - at `$.answers`"),
        (file_text(1), "answer 1: Expected `object`, got `int`"),
        (file_text(WITHOUT), "answer 1: Object missing required field `who`"),
        (file_text(answer_dict(path="/etc")), "answer 1: Object contains unknown field `path`"),
        (
            file_text(answer_dict(), answer_dict(hit=True)),
            "answer 2: Expected `int`, got `bool` - at `$.hit`",
        ),
        (file_text(answer_dict(first="99")), "Expected `int | null`, got `str` - at `$.first`"),
        (file_text(answer_dict(count=None)), "'first' and 'count' go together"),
        (file_text(answer_dict(first=None, count=None)), "an approved hit names its trim"),
        (file_text(answer_dict(answer="declined")), "only an approved hit does"),
        (file_text(answer_dict(answer="cleared")), "only an approved hit does"),
        (file_text(answer_dict(answer="yes")), "Invalid enum value 'yes' - at `$.answer`"),
        (file_text(answer_dict(count=4)), "1 to 3 frames, not 4"),
        (file_text(answer_dict(first=-1)), "Expected `int` >= 0 - at `$.first`"),
        (file_text(answer_dict(contact=2**40)), "Expected `int` <= 2147483647 - at `$.contact`"),
        (file_text(answer_dict(when="yesterday")), " - at `$.when`"),
        (file_text(answer_dict(when="2024-13-01T00:00:00Z")), "month must be in 1..12"),
        (file_text(answer_dict(note="x" * 2001)), "length <= 2000 - at `$.note`"),
        (file_text(answer_dict(who="x" * 101)), "length <= 100 - at `$.who`"),
        (file_text(answer_dict(), answer_dict()), "hit 1 is answered twice"),
    ],
)
def test_what_is_wrong_with_a_file_is_named(text: str, message: str) -> None:
    with pytest.raises(AnswersError) as caught:
        parse_answers(text)
    assert message in str(caught.value)


def test_files_that_cannot_be_read_are_named(tmp_path: Path) -> None:
    (tmp_path / "picture.json").write_bytes(b"\xff\xd8\xff")
    (tmp_path / "huge.json").write_bytes(b" " * 8_000_001)
    (tmp_path / "cut.json").write_text(file_text(answer_dict())[:-9])
    for name, message in [
        ("none.json", "cannot be read"),
        ("picture.json", "not text"),
        ("huge.json", "too large"),
        ("cut.json", "cut.json: not a file of answers, or cut short"),
    ]:
        with pytest.raises(AnswersError, match=message):
            load_answers(tmp_path / name)


def run(project: Project, *arguments: object) -> Result:
    return run_command("decide", "--project", project.path, *arguments)


def test_command_tells_what_came_of_each(project: Project, tmp_path: Path) -> None:
    store(project, 60, 100)
    other = next(hit.id for hit in project.hits(1) if hit.impact.contact == 60)
    file = tmp_path / "answers.json"
    no = {"answer": "declined", "first": None, "count": None}
    file.write_text(
        file_text(answer_dict(), answer_dict(hit=other, contact=60, who="\x1b[31mJo", **no))
    )
    result = run(project, "--answers", file)
    assert result.exit_code == 0 and result.stderr == ""
    assert result.stdout.splitlines() == [
        "hit S2T3B.1 in S2_T3_B.mov: approved 1 from 99",
        "hit S2T3B.0a in S2_T3_B.mov: as shot",
    ]
    project.decide(1, Decision("declined", None, "Max", LATER))
    file.write_text(file_text(answer_dict(), answer_dict(hit=other, contact=60, when=LATER)))
    result = run(project, "--answers", file)
    assert result.exit_code == 2 and "is older than what stands: as shot by Max" in result.stderr
    assert "must not go" in result.stderr or "not among its trims" in result.stderr
    assert "\x1b" not in result.output


def test_command_refuses_a_bad_file_and_mixed_wishes(project: Project, tmp_path: Path) -> None:
    file = tmp_path / "answers.json"
    file.write_text("{}")
    bad = run(project, "--answers", file)
    assert bad.exit_code == 2 and "not a file of answers" in bad.stderr
    assert run(project, "--answers", file, 1).exit_code == 2
    assert run(project, "--answers", file, "--decline").exit_code == 2
    nothing = run(project, "--decline")
    assert nothing.exit_code == 2 and "name a HIT" in nothing.stderr
    file.write_text(file_text())
    assert run(project, "--answers", file).stdout == f"{file}: holds no answer\n"
