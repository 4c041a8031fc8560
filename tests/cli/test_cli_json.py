"""JSON as printed, held against the standard library's."""

from __future__ import annotations

import json

import pytest

from impactcut.cli.telling.json_text import json_pieces

VALUE = {
    "schema": 1,
    "clips": [{"name": 'a "b"\n\u00e9.mov', "hits": [], "rate": 23.976, "said": {}}, {}],
    "none": None,
    "whole": True,
    "nested": [[1, 2], [[3]], ""],
}


@pytest.mark.parametrize("opened", range(7))
def test_it_says_the_same_at_every_depth(opened: int) -> None:
    text = "".join(json_pieces(VALUE, opened))
    assert json.loads(text) == VALUE
    assert text.count("\n") == (0, 6, 13, 23, 25, 25, 25)[opened]


def test_all_levels_opened_is_plain_indented_json() -> None:
    assert "".join(json_pieces(VALUE, 9)) == json.dumps(VALUE, indent=1)
