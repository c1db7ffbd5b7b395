"""The club over HTTP: the messages of devices, and what who runs it asks of the machine.

POST /v1/<message>   see message_routes.py
GET  /health         whether the club is there and can write
GET  /metrics        what was counted; to this machine alone
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import asynccontextmanager
from http import HTTPStatus
from typing import Any, Final

from fastapi import FastAPI, Request, Response
from prometheus_client import CONTENT_TYPE_LATEST
from starlette.exceptions import HTTPException

from logbook_app.sync.messages import Code, canonical_bytes
from server.api_document import JSON, components, refusals
from server.club_home import ClubHome
from server.figures import Figures
from server.front_door import BUSY_S, FrontDoor, refused
from server.limits import Rates, Turns
from server.logs import LOG
from server.message_routes import MessageRoutes
from server.pages.routes import Pages
from server.sync_desk import SyncDesk

RATES: Final = Rates()
HERE: Final = frozenset({"127.0.0.1", "::1"})
WELL: Final = {"club": "well", "end": True}


class ClubApp(FastAPI):
    """The app, which knows what its messages look like."""

    def openapi(self) -> dict[str, Any]:
        """Return the OpenAPI document."""
        if self.openapi_schema is None:
            told = super().openapi()
            told["components"] = components() | {
                kind: {**of_routes, **components().get(kind, {})}
                for kind, of_routes in told.get("components", {}).items()
            }
        return self.openapi_schema or {}


def make_app(
    home: ClubHome, name: str, *, rates: Rates = RATES, now_s: Callable[[], float] = time.monotonic
) -> ClubApp:
    """Return the app that answers for a club.

    name    of the club
    now_s   a clock that only goes forward, for the limits
    """
    thread, figures = ThreadPoolExecutor(1, thread_name_prefix="club"), Figures()

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        yield
        thread.shutdown()
        pages.end()

    app = ClubApp(title=name, version="1", lifespan=lifespan, openapi_url=None)
    app.add_middleware(FrontDoor, rates=rates, figures=figures, now_s=now_s)
    pages = Pages(home.again, name)
    app.add_exception_handler(HTTPException, _not_answered(pages))
    joins = Turns(rates.join, now_s)
    MessageRoutes(SyncDesk(home, name), thread, joins, rates.body_s).add_to(app)
    pages.add_to(app)
    _add_health(app, home, thread)
    _add_metrics(app, home, thread, figures)
    return app


def _not_answered(pages: Pages) -> Callable[[Request, Exception], Awaitable[Response]]:
    async def answer(request: Request, error: Exception) -> Response:
        """Say in a sentence what is wrong with a route, or a way to ask it; to who reads pages on a page."""
        status = error.status_code if isinstance(error, HTTPException) else HTTPStatus.INTERNAL_SERVER_ERROR
        if status == HTTPStatus.NOT_FOUND and "text/html" in request.headers.get("accept", ""):
            return await pages.missing(request)
        words = {
            HTTPStatus.NOT_FOUND: "The club has nothing at this address.",
            HTTPStatus.METHOD_NOT_ALLOWED: f"This address is not asked by {request.method[:10]}.",
        }.get(HTTPStatus(status), "The club does not answer this.")
        response = refused(status, Code.UNREADABLE, words)
        response.headers.update(getattr(error, "headers", None) or {})
        return response

    return answer


def _add_health(app: FastAPI, home: ClubHome, thread: Executor) -> None:
    def write() -> None:
        with home.store.change():
            home.store.put_state(home.store.state())

    @app.get("/health", operation_id="health", responses=_health_answers(), response_class=Response)
    async def health() -> Response:
        """Whether the club's database is there and can be written."""
        try:
            await asyncio.get_running_loop().run_in_executor(thread, write)
        except Exception:
            LOG.exception("cannot write")
            return refused(503, Code.TROUBLE, "The club's database cannot be written now.", BUSY_S)
        return Response(canonical_bytes(WELL), media_type=JSON)


def _health_answers() -> dict[int | str, dict[str, Any]]:
    well = {"type": "object", "properties": {name: {"const": said} for name, said in WELL.items()}}
    schema = well | {"required": list(WELL)}
    return {200: {"description": "All is well.", "content": {JSON: {"schema": schema}}}} | refusals(
        405, 429, 500, 503
    )


def _add_metrics(app: FastAPI, home: ClubHome, thread: Executor, figures: Figures) -> None:
    told: dict[int | str, dict[str, Any]] = {
        200: {"description": "Figures as text.", "content": {"text/plain": {"schema": {"type": "string"}}}}
    }

    def counted() -> bytes:
        return figures.text(len(home.accounts.members()), home.store.state().seq)

    @app.get(
        "/metrics",
        operation_id="metrics",
        responses=told | refusals(403, 405, 429, 500, 503),
        response_class=Response,
    )
    async def metrics(request: Request) -> Response:
        """What was counted of the club since it was started; asked from this machine alone."""
        if request.client is None or request.client.host not in HERE:
            return refused(403, Code.UNREADABLE, "The figures are for the club's own machine.")
        text = await asyncio.get_running_loop().run_in_executor(thread, counted)
        return Response(text, media_type=CONTENT_TYPE_LATEST)
