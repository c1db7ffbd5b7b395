"""`POST /v1/<message>`, with the device's secret as a bearer token: one route a message.

What decides runs in one thread of its own, in the order of arrival, so that a slow disk holds up no
other connection. A body is read up to its limit and no further, packed or not.
"""

from __future__ import annotations

import asyncio
import gzip
import zlib
from collections.abc import Awaitable, Callable
from concurrent.futures import Executor
from typing import Final

from fastapi import FastAPI, Request, Response

from logbook_app.sync.messages import LARGEST_REQUEST, Code
from server.api_document import ANSWER_TO, JSON, MESSAGES, described
from server.front_door import busy, refused, secret_of
from server.limits import Turns, who_calls
from server.sync_desk import Answer, SyncDesk

PACKED_FROM: Final = 1_000  # bytes; below it packing costs more than it saves
JOIN: Final = "join"


class Unread(Exception):
    """A body that is not read to its end; the answer says why."""

    def __init__(self, status: int, words: str) -> None:
        super().__init__(words)
        self.answer = refused(status, Code.UNREADABLE, words)


class MessageRoutes:
    """The routes of the messages.

    thread   in which the club decides
    joins    turns of an address to show an invitation that is not good
    body_s   within which a whole body has to arrive
    """

    def __init__(self, desk: SyncDesk, thread: Executor, joins: Turns, body_s: float) -> None:
        self._desk, self._thread, self._joins, self._body_s = desk, thread, joins, body_s

    def add_to(self, app: FastAPI) -> None:
        """Give an app a route for every message."""
        for name in ANSWER_TO:
            ask = self._join if name == JOIN else self._ask
            app.add_api_route(MESSAGES + name, _route(name, ask), methods=["POST"], **described(name))

    async def _ask(self, name: str, request: Request) -> Response:
        return await _response(await self._answered(name, request), request)

    async def _join(self, name: str, request: Request) -> Response:
        """Answer who shows an invitation; only one that is not good costs a turn."""
        caller = who_calls(request.client.host) if request.client else ""
        if wait_s := self._joins.take(caller):
            return busy(wait_s)
        answer = await self._answered(name, request)
        if answer.code != Code.BAD_INVITATION:
            self._joins.give_back(caller)
        return await _response(answer, request)

    async def _answered(self, name: str, request: Request) -> Answer:
        body = await _body(request, self._body_s)
        loop, secret = asyncio.get_running_loop(), secret_of(request.headers)
        return await loop.run_in_executor(self._thread, self._desk.answer, name, body, secret)


def _route(
    name: str, ask: Callable[[str, Request], Awaitable[Response]]
) -> Callable[[Request], Awaitable[Response]]:
    async def answer(request: Request) -> Response:
        try:
            return await ask(name, request)
        except Unread as unread:
            return unread.answer

    return answer


async def _body(request: Request, within_s: float) -> bytes:
    try:
        async with asyncio.timeout(within_s):
            return await _read(request)
    except TimeoutError as error:
        raise Unread(408, f"The message did not arrive within {within_s:g} seconds; try again.") from error


async def _read(request: Request) -> bytes:
    unpacked = zlib.decompressobj(wbits=31) if request.headers.get("content-encoding") == "gzip" else None
    data = bytearray()
    async for chunk in request.stream():
        try:
            data += unpacked.decompress(chunk, LARGEST_REQUEST + 1 - len(data)) if unpacked else chunk
        except zlib.error as error:
            raise Unread(413, "The message is not packed as it says it is.") from error
        if len(data) > LARGEST_REQUEST:
            raise Unread(413, f"The message is longer than {LARGEST_REQUEST:,} bytes.")
    return bytes(data)


async def _response(answer: Answer, request: Request) -> Response:
    data, headers = answer.data, {}
    if len(data) > PACKED_FROM and "gzip" in request.headers.get("accept-encoding", ""):
        data = await asyncio.get_running_loop().run_in_executor(None, gzip.compress, data, 6)
        headers = {"content-encoding": "gzip"}
    return Response(data, answer.status, headers, JSON)
