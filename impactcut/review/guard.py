"""Who may ask: the door in front of the served page.

Every address begins with a random token, new for each run; without it nothing is answered. The
token stands in the path and not in a cookie, because browsers send cookies to every port of a
machine, and to pages that other sites make them open. Beyond that:

- the Host header must name this machine, so that no name of somebody else's can be bent to it
  (DNS rebinding);
- a request that another site causes (Origin, Sec-Fetch-Site) is refused;
- the browser is told to load nothing from anywhere else, to guess no types, to send no referrer,
  and to let no other site frame or read the page.
"""

from __future__ import annotations

import ipaddress
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK_NAMES: Final = ("localhost", "127.0.0.1", "[::1]")

CONTENT_POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
        "require-trusted-types-for 'script'",
        "trusted-types 'none'",
    )
)
HEADERS: Final[Mapping[str, str]] = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), usb=()",
}
ENDED: Final = (
    "This address belongs to no running review. "
    "Open the one that 'impactcut review' printed last.\n"
)


@dataclass(frozen=True)
class Door:
    """What a request must show.

    Parameters
    ----------
    open_to_network : bool
        Also answer to this machine's numeric addresses; names other than localhost stay refused.
    """

    token: str
    port: int
    open_to_network: bool = False

    def refusal(self, method: str, path: str, headers: Headers) -> str:
        """Why a request is refused; empty for one that may pass."""
        host = headers.get("host", "")
        if not self._is_ours(host):
            return "wrong host\n"
        if not self._same_site(method, host, headers):
            return "asked for by another site\n"
        given = path.split("/", 2)[1] if path.startswith("/") else ""
        if not secrets.compare_digest(given.encode(), self.token.encode()):
            return ENDED
        return ""

    def _is_ours(self, host: str) -> bool:
        name, _, port = host.rpartition(":")
        if port != str(self.port):
            return False
        return name in LOOPBACK_NAMES or (self.open_to_network and _is_address(name))

    def _same_site(self, method: str, host: str, headers: Headers) -> bool:
        if headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
            return False
        origin = headers.get("origin")
        if origin is None:
            return method in ("GET", "HEAD")
        return origin == f"http://{host}"


class Guard:
    """Lets only requests through that the door allows, without the token in their path."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self.app = app
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or refuse to."""
        if scope["type"] != "http":
            return
        guarded = _with_headers(send)
        path = scope["path"]
        refusal = self.door.refusal(scope["method"], path, Headers(scope=scope))
        if refusal:
            await PlainTextResponse(refusal, 403)(scope, receive, guarded)
            return
        inner = path[len(self.door.token) + 1 :]
        if not inner:
            await RedirectResponse(f"{path}/")(scope, receive, guarded)
            return
        await self.app({**scope, "path": inner, "raw_path": inner.encode()}, receive, guarded)


def new_token() -> str:
    """A token that cannot be guessed."""
    return secrets.token_urlsafe(24)


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers.update(HEADERS)
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return sending


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(urlsplit(f"//{name}").hostname or "")
    except ValueError:
        return False
    return True
