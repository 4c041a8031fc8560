"""Lists damaged at random: read or refused, never a crash and never a lost line."""

from __future__ import annotations

import re
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from edl_samples import DROP, PLAIN, SLOPPY, SPLIT, TRANSITIONS
from impactcut.errors import ImpactcutError
from impactcut.lists.edl_document import EdlDocument
from impactcut.lists.edl_read import parse_edl

RATES = st.sampled_from([Fraction(24), Fraction(25), Fraction(30000, 1001), Fraction(60)])
SCRAPS = st.sampled_from(
    ["\r", "\n", "\t", "*", ":", ";", "M2 ", "FCM: DROP FRAME\n", "SPLIT:", "AUD", "001", "  ",
     "99:99:99:99", "01:00:00:00", "K B", "W", "\x00", "\x0b", "\x1a", "\u2028", "\ufeff", "é",
     "-", "/V", "99999999999"]
)  # fmt: skip


@st.composite
def damaged_lists(draw: st.DrawFn) -> str:
    text = draw(st.sampled_from([PLAIN, TRANSITIONS, SPLIT, SLOPPY, DROP]))
    for _ in range(draw(st.integers(1, 12))):
        start = draw(st.integers(0, len(text)))
        stop = min(len(text), start + draw(st.integers(0, 20)))
        text = text[:start] + draw(SCRAPS | st.text(max_size=5)) + text[stop:]
    return text


def lines_of(text: str) -> list[str]:
    lines = re.split("\r\n|\r|\n", text.lstrip("\ufeff"))
    return lines if lines[-1] else lines[:-1]


def read_or_refused(text: str, rate: Fraction) -> EdlDocument | None:
    try:
        return parse_edl(text, rate)
    except ImpactcutError:
        return None


@settings(max_examples=600)
@given(damaged_lists(), RATES)
def test_no_line_of_a_damaged_list_is_lost(text: str, rate: Fraction) -> None:
    document = read_or_refused(text, rate)
    if document is None:
        return
    assert [statement.text for statement in document.statements] == lines_of(text)
    assert [statement.line for statement in document.statements] == list(
        range(1, len(document.statements) + 1)
    )
    told = {warning.line for warning in document.warnings}
    assert {statement.line for statement in document.unread} <= told
    assert parse_edl(document.written(), rate) == document


@given(damaged_lists())
def test_most_damaged_lists_are_still_read(text: str) -> None:
    # Keeps the test above from passing by refusing everything.
    events = [line for line in lines_of(text) if re.match(r"\s*0\d\d  \w+ +V +C +01:00", line)]
    whole = [line for line in events if re.search(r"( 0\d:00:0\d:\d\d){4}$", line)]
    if whole:
        assert read_or_refused(text, Fraction(30)) is not None


@given(st.text(), RATES)
def test_any_text_is_read_or_refused(text: str, rate: Fraction) -> None:
    document = read_or_refused(text, rate)
    assert document is None or len(document.statements) == len(lines_of(text))
