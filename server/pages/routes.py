"""The pages over HTTP: a request becomes an `Asked`, an `Answer` becomes a response.

Pages have a thread and a connection of their own, so that a page that takes long holds up no device.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, Final

from fastapi import FastAPI, Request, Response
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException

from logbook_app.language import LANGUAGES
from logbook_app.shipped_files import font_file
from server.club_home import ClubHome
from server.pages.desk import PageDesk
from server.pages.site_map import PAGES, Page
from server.pages.visit import Answer, Asked

LARGEST_FORM: Final = 6 * 2**20  # a paper history, as a table
SESSION_S: Final = 14 * 86_400
_TOKEN, _VISITOR, _LANGUAGE = "leadline", "leadline_visitor", "leadline_language"
_POLICY: Final = (
    "default-src 'none'; style-src 'self'; font-src 'self'; img-src 'self'; form-action 'self';"
    " base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS: Final = {
    "content-security-policy": _POLICY,
    "cache-control": "no-store",
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
}
_LOOK: Final = {
    "look.css": "text/css; charset=utf-8",
    "IBMPlexSans-Regular.ttf": "font/ttf",
    "IBMPlexSans-SemiBold.ttf": "font/ttf",
    "IBMPlexSans-Italic.ttf": "font/ttf",
}


class Pages:
    """The pages of one club behind HTTP.

    open_home   opens the club once more, for the pages alone
    """

    def __init__(self, open_home: Callable[[], ClubHome], name: str) -> None:
        self._open_home, self._name = open_home, name
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="pages")
        self._desk: PageDesk | None = None
        self._home: ClubHome | None = None

    def add_to(self, app: FastAPI) -> None:
        """Let an app answer for every page."""
        for page in PAGES:
            app.add_route(page.path, self._route(page), methods=[page.method], include_in_schema=False)
        app.add_route("/look/{name}", _look, methods=["GET"], include_in_schema=False)

    def end(self) -> None:
        """Close what was opened."""
        self._thread.shutdown()
        if self._home is not None:
            self._home.close()

    async def missing(self, request: Request) -> Response:
        """Answer whoever looks for a page that is not there."""
        asked = _asked(request, {}, {})
        return _response(await self._run(lambda desk: desk.missing(asked)), asked)

    def _route(self, page: Page) -> Any:
        async def route(request: Request) -> Response:
            form = await _form(request) if request.method == "POST" else ({}, {})
            asked = _asked(request, *form)
            return _response(await self._run(lambda desk: desk.answer(page, asked)), asked)

        return route

    async def _run(self, work: Callable[[PageDesk], Answer]) -> Answer:
        return await asyncio.get_running_loop().run_in_executor(self._thread, lambda: work(self._opened()))

    def _opened(self) -> PageDesk:
        if self._desk is None:
            self._home = self._open_home()
            self._desk = PageDesk(self._home, self._name)
        return self._desk


def _asked(request: Request, form: dict[str, str], files: dict[str, bytes]) -> Asked:
    return Asked(
        method=request.method,
        path=request.url.path,
        place=dict(request.path_params),
        query=dict(request.query_params),
        form=form,
        files=files,
        token=request.cookies.get(_cookie(_TOKEN, request.url.scheme == "https"), ""),
        visitor=request.cookies.get(_cookie(_VISITOR, request.url.scheme == "https"), ""),
        language=_language(request),
        address=request.client.host if request.client else "",
        origin=f"{request.url.scheme}://{request.url.netloc}",
        secure=request.url.scheme == "https",
    )


async def _form(request: Request) -> tuple[dict[str, str], dict[str, bytes]]:
    if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        raise HTTPException(403)
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > LARGEST_FORM:
            raise HTTPException(413)

    async def again() -> dict[str, Any]:
        return {"type": "http.request", "body": bytes(body), "more_body": False}

    try:
        parsed = await Request(request.scope, again).form(max_files=1, max_fields=300, max_part_size=2**16)
    except (MultiPartException, HTTPException, UnicodeDecodeError) as error:
        raise HTTPException(400) from error
    form = {name: value for name, value in parsed.items() if isinstance(value, str)}
    files = {name: await value.read() for name, value in parsed.items() if isinstance(value, UploadFile)}
    await parsed.close()
    return form, files


def _language(request: Request) -> str:
    told = [request.cookies.get(_LANGUAGE, "")]
    told += [part.strip()[:2].lower() for part in request.headers.get("accept-language", "").split(",")]
    return next((name for name in told if name in LANGUAGES), "en")


def _cookie(name: str, secure: bool) -> str:
    """The prefix lets no other host and no unencrypted page set it."""
    return f"__Host-{name}" if secure else name


def _response(told: Answer, asked: Asked) -> Response:
    response = Response(told.body, told.status, {**_HEADERS, **told.headers}, told.kind)
    how: dict[str, Any] = {"path": "/", "secure": asked.secure, "httponly": True, "samesite": "strict"}
    if told.token == "":
        response.delete_cookie(_cookie(_TOKEN, asked.secure), **how)
    if told.token:
        response.set_cookie(_cookie(_TOKEN, asked.secure), told.token, max_age=SESSION_S, **how)
    if told.visitor:
        response.set_cookie(_cookie(_VISITOR, asked.secure), told.visitor, **how)
    if told.language:
        response.set_cookie(_LANGUAGE, told.language, max_age=365 * 86_400, **how)
    return response


def _look(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in _LOOK:
        raise HTTPException(404)
    path = Path(__file__).parent / name if name == "look.css" else font_file(name)
    headers = {"cache-control": "public, max-age=3600", "x-content-type-options": "nosniff"}
    return Response(path.read_bytes(), 200, headers, _LOOK[name])
