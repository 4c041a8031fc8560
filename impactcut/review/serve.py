"""Serving the page from this machine until somebody stops it."""

from __future__ import annotations

import hashlib
import ipaddress
import socket
import threading
import webbrowser
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import uvicorn

from impactcut.errors import OutputError
from impactcut.review.app import review_app
from impactcut.review.connections import PatientProtocol
from impactcut.review.guard import Door, new_token
from impactcut.review.material import Material

LOOPBACK: Final = "127.0.0.1"
_FIRST_PORT, _PORTS = 61000, 4536


@dataclass(frozen=True)
class Reception:
    """A socket that listens, and the address at which the page is to be opened."""

    socket: socket.socket
    door: Door
    address: str


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach ``host``."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def usual_port(project: Path) -> int:
    """The port for a project: the same each time, because browsers keep answers by port.

    It lies in the range for private use (RFC 6335, section 6), above the ports that Linux gives to
    connections by itself (``ip_local_port_range``, from memory: up to 60999).
    """
    digest = hashlib.blake2b(str(project.resolve()).encode(), digest_size=4).digest()
    return _FIRST_PORT + int.from_bytes(digest) % _PORTS


def receive(project: Path, host: str = LOOPBACK, port: int | None = None) -> Reception:
    """Listen for browsers.

    Parameters
    ----------
    host : str
        Address of an interface of this machine.
    port : int, optional
        The project's own, or any free one if that is taken, where it is not given.

    Raises
    ------
    OutputError
        If the host is none of this machine's, or the port is taken.
    """
    listening = _listen(host, usual_port(project) if port is None else port, port is None)
    number = int(listening.getsockname()[1])
    door = Door(new_token(), number, open_to_network=not is_loopback(host))
    named = {"0.0.0.0": LOOPBACK, "::": "::1"}.get(host, host)
    named = f"[{named}]" if ":" in named else named
    return Reception(listening, door, f"http://{named}:{number}/{door.token}/")


def serve(material: Material, reception: Reception, open_browser: bool) -> None:
    """Serve the page until the process is interrupted."""
    server = make_server(material, reception)
    if open_browser:
        threading.Timer(0.2, webbrowser.open, [reception.address]).start()
    with suppress(KeyboardInterrupt):
        server.run(sockets=[reception.socket])


def make_server(material: Material, reception: Reception) -> uvicorn.Server:
    """The server, not yet running."""
    config = uvicorn.Config(
        review_app(material, reception.door),
        log_level="warning",
        access_log=False,
        server_header=False,
        lifespan="off",
        ws="none",
        proxy_headers=False,
        http=PatientProtocol,
        timeout_graceful_shutdown=2,
    )
    return uvicorn.Server(config)


def _listen(host: str, port: int, or_any: bool) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family)
    except OSError as error:
        if or_any:
            return _listen(host, 0, or_any=False)
        raise OutputError(
            f"{host}, port {port}: cannot be listened on ({error.strerror}); "
            "name another with --port, or leave --host and --port away"
        ) from error
