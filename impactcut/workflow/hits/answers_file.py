"""Answers as JSON: one as a served page sends it, or a file of them as a sent page gives back.

Nothing is guessed: a field that is missing, unknown, of another kind or too long is named.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any, Final, Literal, TypeVar

import msgspec
from msgspec import Meta

from impactcut.core.time.frames import FrameRange
from impactcut.errors import AnswersError
from impactcut.workflow.hits.page_answers import Given, GivenAnswer, GivenTap, HitKey

SCHEMA: Final = 1
KIND: Final = "impactcut answers"
MOST_BYTES: Final = 8_000_000
MOST_NAME, MOST_NOTE = 100, 2000

_HALF = re.compile("[\ud800-\udfff]")
"""Surrogates by themselves, which JSON can escape and nothing else that holds text can keep."""
_Frame = Annotated[int, Meta(ge=0, lt=2**31)]
_Read = TypeVar("_Read")


class _File(msgspec.Struct, forbid_unknown_fields=True):
    schema: Literal[1]
    kind: str
    project: str
    made: str
    answers: list[Any]
    taps: list[Any] = []


class _Said(msgspec.Struct, forbid_unknown_fields=True):
    clip: str
    digest: str
    who: Annotated[str, Meta(max_length=MOST_NAME)]
    when: Annotated[str, Meta(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$")]

    def __post_init__(self) -> None:
        datetime.fromisoformat(self.when)


class _Tap(_Said):
    frame: _Frame


class _Answer(_Said):
    hit: _Frame
    contact: _Frame
    answer: Given
    first: _Frame | None
    count: _Frame | None
    note: Annotated[str, Meta(max_length=MOST_NOTE)]
    seen: str


@dataclass(frozen=True)
class AnswersFile:
    """A file of answers.

    Parameters
    ----------
    project : str
        Name of the project that the page was made from.
    made : str
        When the page was made: UTC, ISO 8601.
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
    held = _read(read, _File, "the file")
    answers = [parse_answer(each, f"answer {n}") for n, each in enumerate(held.answers, start=1)]
    _once_each(answers)
    taps = (parse_tap(each, f"tap {n}") for n, each in enumerate(held.taps, start=1))
    return AnswersFile(held.project, held.made, tuple(answers), tuple(taps))


def parse_tap(read: object, name: str = "the tap") -> GivenTap:
    """One tap, already read from JSON; as `parse_answer`."""
    return GivenTap(**msgspec.structs.asdict(_read(read, _Tap, name)))


def parse_answer(read: object, name: str = "the answer") -> GivenAnswer:
    """One answer, already read from JSON; ``name`` stands for it in messages.

    Raises
    ------
    AnswersError
        If it is none.
    """
    given, trim = _read(read, _Answer, name), None
    if (given.first is None) != (given.count is None):
        raise AnswersError(f"{name}: 'first' and 'count' go together")
    if given.first is not None and given.count is not None:
        trim = FrameRange(given.first, given.first + given.count)
    try:
        return GivenAnswer(
            HitKey(given.hit, given.clip, given.digest, given.contact),
            given.answer,
            trim,
            _HALF.sub("\ufffd", given.who),
            given.when,
            _HALF.sub("\ufffd", given.note),
            given.seen,
        )
    except ValueError as error:
        raise AnswersError(f"{name}: {error}") from error


def _read(read: object, kind: type[_Read], name: str) -> _Read:
    try:
        return msgspec.convert(read, kind)
    except msgspec.ValidationError as error:
        raise AnswersError(f"{name}: {error}") from error


def _once_each(answers: list[GivenAnswer]) -> None:
    seen: set[HitKey] = set()
    for answer in answers:
        if answer.key in seen:
            raise AnswersError(f"hit {answer.key.hit} is answered twice")
        seen.add(answer.key)
