"""Which of many ranges meet a given one, against trying them all."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from impactcut.core.time.frames import FrameRange
from impactcut.core.time.meeting import Meeting

RANGES = st.tuples(st.integers(-20, 20), st.integers(0, 15)).map(
    lambda pair: FrameRange(pair[0], sum(pair))
)


@given(st.lists(RANGES, max_size=40), RANGES)
def test_those_that_meet_are_those_found_by_trying_all(
    ranges: list[FrameRange], asked: FrameRange
) -> None:
    found = Meeting(zip(ranges, range(len(ranges)), strict=True)).of(asked)
    assert sorted(found) == [at for at, each in enumerate(ranges) if each.meets(asked)]
    assert [ranges[at].start for at in found] == sorted(ranges[at].start for at in found)
