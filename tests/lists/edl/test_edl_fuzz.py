"""Lists damaged at random: read or refused, never a crash and never a lost line."""

from __future__ import annotations

import re
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from impactcut.errors import ImpactcutError
from impactcut.lists.edl.document import EdlDocument
from impactcut.lists.edl.read import parse_edl
from tests.helpers.lists.edl_samples import damaged_lists, lines_of

RATES = st.sampled_from([Fraction(24), Fraction(25), Fraction(30000, 1001), Fraction(60)])


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
    event = re.compile(r"\s*0\d\d  \w+ +V +C +01:00:0\d:\d\d( 0\d:00:0\d:\d\d){3}")
    whole = [line for line in lines_of(text) if event.fullmatch(line)]
    if whole:
        assert read_or_refused(text, Fraction(30)) is not None


@given(st.text(), RATES)
def test_any_text_is_read_or_refused(text: str, rate: Fraction) -> None:
    document = read_or_refused(text, rate)
    assert document is None or len(document.statements) == len(lines_of(text))
