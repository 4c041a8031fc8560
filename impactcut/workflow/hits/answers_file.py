"""Answers as JSON: one as a served page sends it, or a file of them as a sent page gives back.

Nothing is guessed: a field that is missing, unknown, of another kind or too long is named.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final, cast, get_args

from impactcut.core.time.frames import FrameRange
from impactcut.errors import AnswersError
from impactcut.workflow.hits.answers import Given, GivenAnswer, GivenTap, HitKey

SCHEMA: Final = 1
KIND: Final = "impactcut answers"
MOST_BYTES: Final = 8_000_000
MOST_NAME, MOST_NOTE = 100, 2000

_FILE_FIELDS = {
    "schema": int, "kind": str, "project": str, "made": str, "answers": list, "taps": list,
}  # fmt: skip
_ANSWER_FIELDS = {
    "hit": int, "clip": str, "digest": str, "contact": int, "answer": str, "first": int,
    "count": int, "who": str, "when": str, "note": str, "seen": str,
}  # fmt: skip
_TAP_FIELDS = {"clip": str, "digest": str, "frame": int, "who": str, "when": str}
_MAY_BE_NULL = ("first", "count")
_WHEN = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)
_MOST_FRAMES = 2**31
_HALF = re.compile("[\ud800-\udfff]")
"""Surrogates by themselves, which JSON can escape and nothing else that holds text can keep."""


@dataclass(frozen=True)
class AnswersFile:
    """A file of answers.

    Parameters
    ----------
    project : str
        Name of the project that the page was made from.
    made : str
        When the page was made: UTC, ISO 8601.
    answers : tuple of GivenAnswer
    taps : tuple of GivenTap
    """

    project: str
    made: str
    answers: tuple[GivenAnswer, ...]
    taps: tuple[GivenTap, ...] = ()


def load_answers(path: Path) -> AnswersFile:
    """The answers in a file.

    Raises
    ------
    AnswersError
        If it cannot be read, or is no file of answers.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise AnswersError(f"{path}: too large for a file of answers; name another file")
        text = path.read_text("utf-8-sig")
    except OSError as error:
        raise AnswersError(
            f"{path}: cannot be read ({error.strerror}); name the file that the page gave back"
        ) from error
    except UnicodeDecodeError as error:
        raise AnswersError(f"{path}: not text; name the file that the page gave back") from error
    try:
        return parse_answers(text)
    except AnswersError as error:
        raise AnswersError(f"{path}: {error}; ask for the file once more") from error


def parse_answers(text: str) -> AnswersFile:
    """The answers in the text of a file.

    Raises
    ------
    AnswersError
        If it is none.
    """
    try:
        read = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise AnswersError(f"not a file of answers, or cut short ({error})") from error
    if not isinstance(read, dict) or read.get("kind") != KIND:
        raise AnswersError("not a file of answers from a review page")
    if read.get("schema") != SCHEMA:
        raise AnswersError(
            f"answers of form {read.get('schema')!r}, where this impactcut knows form {SCHEMA}"
        )
    values = _checked({"taps": [], **read}, _FILE_FIELDS, "the file")
    answers = [
        parse_answer(answer, f"answer {number}")
        for number, answer in enumerate(values["answers"], start=1)
    ]
    _once_each(answers)
    taps = (parse_tap(tap, f"tap {number}") for number, tap in enumerate(values["taps"], start=1))
    return AnswersFile(values["project"], values["made"], tuple(answers), tuple(taps))


def parse_tap(read: object, name: str = "the tap") -> GivenTap:
    """One tap, already read from JSON; as `parse_answer`."""
    values = _checked(read, _TAP_FIELDS, name)
    _check_time_and_texts(values, name)
    if not 0 <= values["frame"] < _MOST_FRAMES:
        raise AnswersError(f"{name}: 'frame' is out of range: {values['frame']}")
    return GivenTap(**values)


def parse_answer(read: object, name: str = "the answer") -> GivenAnswer:
    """One answer, already read from JSON; ``name`` stands for it in messages.

    Raises
    ------
    AnswersError
        If it is none.
    """
    values = _checked(read, _ANSWER_FIELDS, name)
    _check_values(values, name)
    key = HitKey(values["hit"], values["clip"], values["digest"], values["contact"])
    try:
        return GivenAnswer(
            key,
            cast(Given, values["answer"]),
            _trim(values, name),
            _HALF.sub("\ufffd", values["who"]),
            values["when"],
            _HALF.sub("\ufffd", values["note"]),
            values["seen"],
        )
    except ValueError as error:
        raise AnswersError(f"{name}: {error}") from error


def _checked(read: object, fields: Mapping[str, type], name: str) -> dict[str, Any]:
    if not isinstance(read, dict):
        raise AnswersError(f"{name} is not an object")
    missing, unknown = fields.keys() - read.keys(), read.keys() - fields.keys()
    if missing or unknown:
        said = "lacks" if missing else "has the unknown field"
        raise AnswersError(f"{name} {said} {sorted(map(repr, missing or unknown))[0]}")
    for field, kind in fields.items():
        null = read[field] is None and field in _MAY_BE_NULL
        if not null and type(read[field]) is not kind:
            raise AnswersError(f"{name}: {field!r} is not of type {kind.__name__}")
    return read


def _check_values(values: Mapping[str, Any], name: str) -> None:
    if values["answer"] not in get_args(Given):
        raise AnswersError(f"{name}: {values['answer']!r} is none of {', '.join(get_args(Given))}")
    _check_time_and_texts(values, name)
    for field in ("hit", "contact", "first", "count"):
        if values[field] is not None and not 0 <= values[field] < _MOST_FRAMES:
            raise AnswersError(f"{name}: {field!r} is out of range: {values[field]}")


def _check_time_and_texts(values: Mapping[str, Any], name: str) -> None:
    if not _is_time(values["when"]):
        raise AnswersError(f"{name}: {values['when']!r} is no time such as 2024-03-01T20:15:00Z")
    if len(values["who"]) > MOST_NAME or len(values.get("note", "")) > MOST_NOTE:
        raise AnswersError(
            f"{name}: a name has at most {MOST_NAME} characters and a note {MOST_NOTE}"
        )


def _is_time(text: str) -> bool:
    if not _WHEN.fullmatch(text):
        return False
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def _trim(values: Mapping[str, Any], name: str) -> FrameRange | None:
    first, count = values["first"], values["count"]
    if (first is None) != (count is None):
        raise AnswersError(f"{name}: 'first' and 'count' go together")
    return None if first is None else FrameRange(first, first + count)


def _once_each(answers: list[GivenAnswer]) -> None:
    seen: set[HitKey] = set()
    for answer in answers:
        if answer.key in seen:
            raise AnswersError(f"hit {answer.key.hit} is answered twice")
        seen.add(answer.key)
