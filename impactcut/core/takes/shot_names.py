"""Section, take, angle and slate of a clip, read from its folders and file name by a pattern.

A pattern is written as the names look, with a few signs in it::

    {section} {take} {angle} {slate}   what stands there: numbers, an angle's letter
    {section*} ...                     any text, up to what follows in the pattern
    _                                  blanks, dots, dashes and underscores, or none
    *                                  any text
    [ ]                                what may be missing
    /                                  the border of a folder
    |                                  another pattern, for names that the first does not fit

Upper and lower case are one. A pattern without a ``/`` is looked for in the file name alone, one
with a ``/`` in the file name and the folder above it, and so on.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from impactcut.errors import PatternError

FIELDS: Final = {
    "section": r"\d{1,3}[a-z]?",
    "take": r"\d{1,3}",
    "angle": r"[a-z]",
    "slate": r"\d{1,4}[a-z]{0,2}",
}
_GAP = r"[ _.\-]*"
_ANY = r"[^/]*?"
_TOKEN = re.compile(r"\{(?P<field>[^{}]*)\}|(?P<sign>[\[\]_*/ {}])|(?P<letter>.)", re.DOTALL)
_SIGNS: Final = {"[": "(?:", "]": ")?", "_": _GAP, " ": _GAP, "*": _ANY, "/": "/"}
_SUFFIX = re.compile(r"\.[a-z0-9]{1,5}$", re.IGNORECASE)


@dataclass(frozen=True)
class ShotName:
    """What names say of a clip; empty text where they say nothing."""

    section: str = ""
    take: str = ""
    angle: str = ""
    slate: str = ""


@dataclass(frozen=True)
class NamePattern:
    """A pattern as it was written, and the regular expressions that are tried in turn.

    Each stands beside the number of names, of folders and file, that it is looked for in.
    """

    text: str
    expressions: tuple[tuple[int, re.Pattern[str]], ...]


def parse_pattern(text: str) -> NamePattern:
    """The pattern that a person wrote.

    Raises
    ------
    PatternError
        If it has no field, an unknown one or one twice, or a bracket without its other.
    """
    return NamePattern(text, tuple(_parsed(part.strip()) for part in text.split("|")))


def read_shot_name(path: str, pattern: NamePattern | None = None) -> ShotName:
    """What a clip's path says by a pattern, or by `DEFAULT_PATTERN`.

    Leading zeros of numbers are dropped, and an angle's letter is written large.
    """
    names = path.replace("\\", "/").split("/")
    pattern = pattern or DEFAULT_PATTERN
    for levels, expression in pattern.expressions:
        match = expression.search(_SUFFIX.sub("", "/".join(names[-levels:])))
        if match is not None:
            found = {name: _clean(value or "") for name, value in match.groupdict().items()}
            return ShotName(**found)
    return ShotName()


def _parsed(text: str) -> tuple[int, re.Pattern[str]]:
    fields: list[str] = []
    depth = 0
    for match in _TOKEN.finditer(text):
        depth += (match["sign"] == "[") - (match["sign"] == "]")
        if depth < 0 or match["sign"] in ("{", "}"):
            raise _wrong(text, f"{match[0]!r} at {match.start() + 1} has no other half")
        if match["field"] is not None:
            fields.append(_field_name(text, match["field"]))
    if depth:
        raise _wrong(text, "a '[' has no ']'")
    if not fields:
        raise _wrong(text, "it has no field")
    if len(set(fields)) < len(fields):
        raise _wrong(text, "a field stands in it twice")
    return text.count("/") + 1, re.compile("".join(_expression(text)), re.IGNORECASE)


def _expression(text: str) -> Iterator[str]:
    yield r"(?<![a-z0-9])"
    for match in _TOKEN.finditer(text):
        if match["field"] is not None:
            name = match["field"].removesuffix("*")
            form = r"[^/]+?" if match["field"].endswith("*") else FIELDS[name]
            yield f"(?P<{name}>{form})"
        elif match["sign"] is not None:
            yield _SIGNS[match["sign"]]
        else:
            yield re.escape(match["letter"])
    yield r"(?![a-z0-9])"


def _field_name(text: str, field: str) -> str:
    name = field.removesuffix("*")
    if name not in FIELDS:
        raise _wrong(text, f"{{{field}}} is none of its fields")
    return name


def _clean(value: str) -> str:
    value = value.strip(" _.-")
    number = re.fullmatch(r"0*(\d+)([a-z]{0,2})", value, re.IGNORECASE)
    if number is not None:
        return (number[1] + number[2]).upper()
    return value.upper() if len(value) == 1 else value


def _wrong(text: str, why: str) -> PatternError:
    return PatternError(
        f"{text!r}: {why}; write a pattern such as {'{section}'}/T{'{take}'}_{'{angle}'}, with the "
        f"fields {', '.join('{' + name + '}' for name in FIELDS)}, _ for a gap, * for any text and "
        "[ ] around what may be missing"
    )


DEFAULT_PATTERN: Final = parse_pattern("S[ection]_{section}_T[ake]_{take}[_[Angle_]{angle}]")
"""Names such as ``S2_T3_B_quay.mov``: common practice, without a source."""
