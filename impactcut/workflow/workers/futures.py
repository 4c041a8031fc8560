"""Futures made of other futures."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from typing import Any, TypeVar

Made = TypeVar("Made")


def made_of(future: Future[Any], make: Callable[[Future[Any]], Made]) -> Future[Made]:
    """What ``make`` makes of ``future`` once that has ended, in whatever way.

    ``make`` runs in the thread that ends ``future``, so it has to be quick.
    """
    made: Future[Made] = Future()

    def ended(future: Future[Any]) -> None:
        try:
            made.set_result(make(future))
        except BaseException as error:
            made.set_exception(error)

    future.add_done_callback(ended)
    return made
