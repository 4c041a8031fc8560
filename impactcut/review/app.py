"""The served page: its addresses, and what each answers."""

from __future__ import annotations

import json
from collections.abc import Callable
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
from impactcut.workflow.hits.answers_file import parse_answer, parse_tap

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

Handler = Callable[[Request], Any]


def review_app(material: Material, door: Door) -> ASGIApp:
    """The page for one project, behind a door.

    Parameters
    ----------
    material : Material
    door : Door
    """
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
            Route("/api/review", _json(material.overview)),
            Route("/api/beats", _json(material.beats)),
            Route("/api/decisions", _json(material.decisions)),
            Route("/api/hits/{hit:int}", _json_of_hit(material.detail)),
            Route("/api/hits/{hit:int}/pictures", _bytes_of_hit(material.pictures, _PACK)),
            Route("/api/hits/{hit:int}/large", _bytes_of_hit(material.large, _PACK)),
            Route("/api/hits/{hit:int}/strip", _bytes_of_hit(material.strip, "image/jpeg")),
            Route("/api/hits/{hit:int}/production", _bytes_of_hit(material.production, _WAV)),
            Route("/api/hits/{hit:int}/thump", _bytes_of_hit(material.thump, _WAV)),
            Route("/api/clips/{clip:int}/{first:int}", _bytes_of_clip(material.clip_pictures)),
            Route("/api/answers", _answers(material), methods=["POST"]),
            Route("/api/taps", _taps(material), methods=["POST"]),
        ],
        exception_handlers={kind: _explained(status) for kind, status in _STATUS},
    )
    return Guard(app, door)


def _json(question: Callable[[], Any]) -> Handler:
    async def answer(_: Request) -> Response:
        return JSONResponse(await run_in_threadpool(question))

    return answer


def _json_of_hit(question: Callable[[int], Any]) -> Handler:
    async def answer(request: Request) -> Response:
        return JSONResponse(await run_in_threadpool(question, _number(request)))

    return answer


def _bytes_of_hit(question: Callable[[int], bytes], kind: str) -> Handler:
    async def answer(request: Request) -> Response:
        content = await run_in_threadpool(question, _number(request))
        return Response(content, media_type=kind, headers=dict(_KEPT_BY_BROWSER))

    return answer


def _answers(material: Material) -> Handler:
    async def answer(request: Request) -> Response:
        given = parse_answer(await _body(request))
        _, told = await run_in_threadpool(material.take, given)
        return JSONResponse(told)

    return answer


def _bytes_of_clip(question: Callable[[int, int], bytes]) -> Handler:
    async def answer(request: Request) -> Response:
        clip, first = (_number(request, name) for name in ("clip", "first"))
        content = await run_in_threadpool(question, clip, first)
        return Response(content, media_type=_PACK, headers=dict(_KEPT_BY_BROWSER))

    return answer


def _taps(material: Material) -> Handler:
    async def answer(request: Request) -> Response:
        body = await _body(request)
        if isinstance(body, dict) and isinstance(body.get("back"), int):
            who = str(body.get("who", ""))
            return JSONResponse(await run_in_threadpool(material.take_back, body["back"], who))
        return JSONResponse(await run_in_threadpool(material.tap, parse_tap(body)))

    return answer


def _number(request: Request, name: str = "hit") -> int:
    number = int(request.path_params[name])
    if number >= 2**63:
        raise HTTPException(404)
    return number


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
