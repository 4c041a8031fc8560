"""Work done ahead, in a thread, while the caller is busy with what came before."""

from __future__ import annotations

from collections import deque
from collections.abc import Generator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Item = TypeVar("Item")


def read_ahead(items: Generator[Item, None, None], depth: int) -> Generator[Item, None, None]:
    """``items`` in their order, up to ``depth`` of them made before they are asked for.

    The work begins with the first item asked for. What ``items`` raises is raised behind the last
    item before it.

    Parameters
    ----------
    items : generator
        Runs in a thread of its own; closed when this one ends or is closed.
    depth : int
        At least 1.

    Yields
    ------
    object
        What ``items`` yields.
    """
    end = object()
    with ThreadPoolExecutor(1) as worker:
        waiting = deque(worker.submit(next, items, end) for _ in range(depth))
        try:
            while (item := waiting.popleft().result()) is not end:
                waiting.append(worker.submit(next, items, end))
                yield item  # type: ignore[misc]
        finally:
            worker.shutdown(wait=True, cancel_futures=True)
            items.close()
