"""Reading ahead changes neither the items nor their order, and leaves nothing running."""

import threading

import pytest

from impactcut.media.decode.ahead import read_ahead


def counting(made, stop, fault=None):
    try:
        for number in range(stop):
            made.append((number, threading.get_ident()))
            yield number
        if fault is not None:
            raise fault
    finally:
        made.append("closed")


@pytest.mark.parametrize("depth", [1, 3, 50])
def test_items_come_in_order_from_another_thread(depth):
    made = []
    assert list(read_ahead(counting(made, 20), depth)) == list(range(20))
    assert made.pop() == "closed"
    assert {ident for _, ident in made} - {threading.get_ident()} == {made[0][1]}


def test_a_fault_comes_behind_the_items_before_it():
    got = []
    with pytest.raises(OSError, match="disk"):
        for item in read_ahead(counting([], 5, OSError("disk")), 8):
            got.append(item)
    assert got == list(range(5))


def test_no_more_is_made_than_the_depth_allows():
    made = []
    ahead = read_ahead(counting(made, 1000), 4)
    assert [next(ahead) for _ in range(3)] == [0, 1, 2]
    ahead.close()
    assert 3 <= len(made) - 1 <= 7
    assert made[-1] == "closed"


@pytest.mark.parametrize("taken", [0, 2])
def test_closing_early_leaves_no_thread(taken):
    before = threading.active_count()
    ahead = read_ahead(counting([], 1000), 4)
    for _ in range(taken):
        next(ahead)
    ahead.close()
    assert threading.active_count() == before
