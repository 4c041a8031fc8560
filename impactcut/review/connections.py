"""Connections that say nothing, or read nothing, are let go, so that they shut nobody out."""

from __future__ import annotations

import asyncio
from typing import Final

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

MOST: Final = 64
"""Connections held at once; above it, those that have been silent for longest make room."""
PATIENCE_SECONDS: Final = 10.0
"""For which a request may arrive in pieces, from its first byte or from the connection on."""
READING_SECONDS: Final = 60.0
"""For which a browser may take nothing of an answer that is on its way to it."""


class PatientProtocol(H11Protocol):
    """A connection that has so long to ask a whole question, and so long to take the answer."""

    _asking: asyncio.TimerHandle | None = None
    _taking: asyncio.TimerHandle | None = None

    @property
    def silent(self) -> bool:
        """Whether no whole question stands on it now."""
        return self.conn.their_state in (h11.IDLE, h11.SEND_BODY)

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait, and make room where there are too many."""
        super().connection_made(transport)
        self._asking = self.loop.call_later(PATIENCE_SECONDS, transport.abort)
        waiting = [each for each in self.connections if _is_silent(each) and each is not self]
        for each in sorted(waiting, key=_begun)[: max(0, len(self.connections) - MOST)]:
            each.transport.abort()

    def data_received(self, data: bytes) -> None:
        """Take in a piece of a question."""
        super().data_received(data)
        if not self.silent:
            _stop(self._asking)
            self._asking = None
        elif self._asking is None:
            self._asking = self.loop.call_later(PATIENCE_SECONDS, self.transport.abort)

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        for timer in (self._asking, self._taking):
            _stop(timer)
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        """Wait for the other side to read."""
        super().pause_writing()
        self._taking = self.loop.call_later(READING_SECONDS, self.transport.abort)

    def resume_writing(self) -> None:
        """The other side reads again."""
        _stop(self._taking)
        super().resume_writing()


def _stop(timer: asyncio.TimerHandle | None) -> None:
    if timer is not None:
        timer.cancel()


def _is_silent(connection: object) -> bool:
    return isinstance(connection, PatientProtocol) and connection.silent


def _begun(connection: object) -> float:
    timer = getattr(connection, "_asking", None)
    return 0.0 if timer is None else timer.when()
