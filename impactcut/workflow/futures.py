"""Futures of work in threads, and of other futures."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from threading import Thread
from typing import Any, TypeVar

Made = TypeVar("Made")


def in_thread(work: Callable[[], Made]) -> Future[Made]:
    """What ``work`` returns, in a thread of its own that keeps nobody from leaving."""
    made: Future[Made] = Future()

    def run() -> None:
        try:
            made.set_result(work())
        except BaseException as error:
            made.set_exception(error)

    Thread(target=run, daemon=True).start()
    return made


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
