"""The served page: its addresses, and what each answers."""

from __future__ import annotations

import json
from collections.abc import Callable, Coroutine
from typing import Any, Final

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from impactcut.errors import (
    AnswersError,
    ImpactcutError,
    MediaError,
    ProjectFileError,
    UnknownHitError,
)
from impactcut.review.assets import (
    ICON,
    JOINED_SCRIPT,
    JOINED_STYLE,
    STYLES,
    asset,
    scripts,
    served_page,
)
from impactcut.review.guard import Door, Guard
from impactcut.review.material import Material, TooBusyError

MOST_BODY: Final = 64_000
_PACK, _WAV = "application/octet-stream", "audio/wav"
_KEPT_BY_BROWSER: Final = {"Cache-Control": "private, max-age=3600"}
_STATUS: Final[tuple[tuple[type[Exception], int], ...]] = (
    (UnknownHitError, 404),
    (AnswersError, 422),
    (MediaError, 409),
    (TooBusyError, 503),
    (ProjectFileError, 503),
    (ImpactcutError, 409),
)

Handler = Callable[[Request], Coroutine[Any, Any, Response]]


def review_app(material: Material, door: Door) -> ASGIApp:
    """The page for one project, behind a door."""
    page = served_page()
    kinds = {
        **dict.fromkeys((*scripts(), JOINED_SCRIPT), "text/javascript"),
        **dict.fromkeys((*STYLES, JOINED_STYLE), "text/css"),
        ICON: "image/svg+xml",
    }

    async def index(_: Request) -> Response:
        return HTMLResponse(page)

    async def static(request: Request) -> Response:
        name = request.path_params["name"]
        if name not in kinds:
            raise HTTPException(404)
        return Response(asset(name), media_type=kinds[name])

    app = Starlette(
        routes=[
            Route("/", index),
            Route("/static/{name:path}", static),
            Route("/api/review", _told(material.overview)),
            Route("/api/beats", _told(material.beats)),
            Route("/api/decisions", _told(material.decisions)),
            Route("/api/hits/{hit:int}", _told(material.detail)),
            Route("/api/hits/{hit:int}/pictures", _told(material.pictures, _PACK)),
            Route("/api/hits/{hit:int}/large", _told(material.large, _PACK)),
            Route("/api/hits/{hit:int}/strip", _told(material.strip, "image/jpeg")),
            Route("/api/hits/{hit:int}/production", _told(material.production, _WAV)),
            Route("/api/hits/{hit:int}/thump", _told(material.thump, _WAV)),
            Route("/api/clips/{clip:int}/{first:int}", _told(material.clip_pictures, _PACK)),
            Route("/api/answers", _taken(material.take), methods=["POST"]),
            Route("/api/taps", _taken(material.tap), methods=["POST"]),
        ],
        exception_handlers={kind: _explained(status) for kind, status in _STATUS},
    )
    return Guard(app, door)


def _told(question: Callable[..., Any], kind: str = "") -> Handler:
    """What a question comes to, asked with the numbers in the address: JSON, or bytes of a kind."""

    async def answer(request: Request) -> Response:
        numbers = request.path_params.values()
        if any(number >= 2**63 for number in numbers):
            raise HTTPException(404)
        told = await run_in_threadpool(question, *numbers)
        return Response(told, 200, _KEPT_BY_BROWSER, kind) if kind else JSONResponse(told)

    return answer


def _taken(take: Callable[[object], Any]) -> Handler:
    async def answer(request: Request) -> Response:
        return JSONResponse(await run_in_threadpool(take, await _body(request)))

    return answer


async def _body(request: Request) -> object:
    if request.headers.get("content-type") != "application/json":
        raise HTTPException(415)
    body = b""
    try:
        async for chunk in request.stream():
            body += chunk
            if len(body) > MOST_BODY:
                raise HTTPException(413)
    except ClientDisconnect as error:
        raise HTTPException(408) from error
    try:
        return json.loads(body)
    except (ValueError, RecursionError) as error:
        raise AnswersError("the answer is not JSON") from error


def _explained(status: int) -> Callable[[Request, Exception], Response]:
    def explain(_: Request, error: Exception) -> Response:
        return JSONResponse({"error": str(error)}, status)

    return explain
