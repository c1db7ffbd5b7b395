"""The club over HTTP: `POST /v1/<message>`, with the device's secret as a bearer token.

What decides runs in one thread of its own, in the order of arrival, so that a slow disk holds up no
other connection. A body is read up to its limit and no further, packed or not.
"""

from __future__ import annotations

import asyncio
import gzip
import zlib
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from typing import Final

from fastapi import FastAPI, Request, Response

from logbook_app.sync.messages import LARGEST_REQUEST, Code, Refusal, to_wire
from server.club_home import ClubHome
from server.pages.routes import add_pages
from server.sync_desk import Answer, SyncDesk

PACKED_FROM: Final = 1_000  # bytes; below it packing costs more than it saves
JSON: Final = "application/json"


class TooLong(Exception):
    """A body beyond what a message may have, or not packed as it says."""


def make_app(home: ClubHome, name: str) -> FastAPI:
    """Return the app that answers for a club."""
    desk, thread = SyncDesk(home, name), ThreadPoolExecutor(1, thread_name_prefix="club")

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        yield
        thread.shutdown()
        end_pages()

    app = FastAPI(title=name, lifespan=lifespan, openapi_url=None)
    end_pages = add_pages(app, home.again, name)

    @app.post("/v1/{route}")
    async def answer(route: str, request: Request) -> Response:
        try:
            body = await _body(request)
        except TooLong as error:
            return _response(Answer(413, to_wire(Refusal(Code.UNREADABLE, str(error)))), request)
        loop = asyncio.get_running_loop()
        told = await loop.run_in_executor(thread, desk.answer, route, body, _token(request))
        return await loop.run_in_executor(None, _response, told, request)

    return app


def _token(request: Request) -> str:
    kind, _, token = request.headers.get("authorization", "").partition(" ")
    return token if kind.casefold() == "bearer" else ""


async def _body(request: Request) -> bytes:
    unpacked = zlib.decompressobj(wbits=31) if request.headers.get("content-encoding") == "gzip" else None
    data = bytearray()
    async for chunk in request.stream():
        try:
            data += unpacked.decompress(chunk, LARGEST_REQUEST + 1 - len(data)) if unpacked else chunk
        except zlib.error as error:
            raise TooLong("The message is not packed as it says it is.") from error
        if len(data) > LARGEST_REQUEST:
            raise TooLong(f"The message is longer than {LARGEST_REQUEST:,} bytes.")
    return bytes(data)


def _response(answer: Answer, request: Request) -> Response:
    headers = {"cache-control": "no-store", "x-content-type-options": "nosniff"}
    data = answer.data
    if len(data) > PACKED_FROM and "gzip" in request.headers.get("accept-encoding", ""):
        data, headers = gzip.compress(data, 6), headers | {"content-encoding": "gzip"}
    return Response(data, answer.status, headers, JSON)
