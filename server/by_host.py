"""Many clubs behind one address: the host that a request names says which club it is for.

A club is opened when it is asked for the first time, and closed when it was asked least lately and others
need its place: an open club holds two connections to the database. Links, cookies and the addresses
that devices keep are a host's own, so nothing of one club can be taken for another's.
"""

from __future__ import annotations

import asyncio
import math
import time
from collections import OrderedDict
from collections.abc import Callable, Mapping
from contextlib import AsyncExitStack
from dataclasses import dataclass, field
from typing import Final

from fastapi import FastAPI
from starlette.datastructures import Headers
from starlette.types import Receive, Scope, Send

from logbook_app.sync.messages import Code
from server.front_door import BUSY_S, refused
from server.logs import LOG

Hosts = Mapping[str, tuple[int, str]]
READ_AGAIN_S: Final = 5


@dataclass
class _Open:
    """An open club; `asked` requests are being answered."""

    app: FastAPI
    ending: AsyncExitStack = field(default_factory=AsyncExitStack)
    asked: int = 0


class ByHost:
    """An ASGI application that hands each request on to the club of its host.

    hosts       reads number and name of every club by its host
    open_club   opens the app of a club
    most_open   clubs that are kept open while nobody asks them
    """

    def __init__(
        self, hosts: Callable[[], Hosts], open_club: Callable[[int, str], FastAPI], most_open: int
    ) -> None:
        self._read_hosts, self._open_club, self._most_open = hosts, open_club, most_open
        self._hosts: Hosts = {}
        self._read_at = -math.inf
        self._open: OrderedDict[str, _Open] = OrderedDict()
        self._opening = asyncio.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or begin and end with the server."""
        if scope["type"] == "lifespan":
            await self._live(receive, send)
            return
        try:
            club = await self._club_at(_host_of(scope))
        except Exception:
            LOG.exception("cannot open a club")
            answer = refused(503, Code.TROUBLE, "The club cannot be opened now.", BUSY_S)
            await answer(scope, receive, send)
            return
        if club is None:
            await refused(404, Code.UNREADABLE, "There is no club at this address.")(scope, receive, send)
            return
        club.asked += 1
        try:
            await club.app(scope, receive, send)
        finally:
            club.asked -= 1
            await self._close_down_to(self._most_open)

    async def _live(self, receive: Receive, send: Send) -> None:
        await receive()
        await send({"type": "lifespan.startup.complete"})
        await receive()
        await self._close_down_to(0)
        await send({"type": "lifespan.shutdown.complete"})

    async def _club_at(self, host: str) -> _Open | None:
        if host not in self._open:
            async with self._opening:
                if host not in self._open and not await self._opened(host):
                    return None
        self._open.move_to_end(host)
        return self._open[host]

    async def _opened(self, host: str) -> bool:
        """Open the club of a host; of one that is not known the database is asked now and then."""
        if host not in self._hosts and time.monotonic() > self._read_at + READ_AGAIN_S:
            self._hosts = await asyncio.to_thread(self._read_hosts)
            self._read_at = time.monotonic()
        if host not in self._hosts:
            return False
        app = await asyncio.to_thread(self._open_club, *self._hosts[host])
        club = _Open(app)
        await club.ending.enter_async_context(app.router.lifespan_context(app))
        self._open[host] = club
        return True

    async def _close_down_to(self, most: int) -> None:
        idle = [host for host, club in self._open.items() if not club.asked]
        for host in idle[: max(len(self._open) - most, 0)]:
            await self._open.pop(host).ending.aclose()


def _host_of(scope: Scope) -> str:
    """Return the host that a request names, without its port."""
    host = Headers(scope=scope).get("host", "").casefold()
    return host if host.endswith("]") else host.rpartition(":")[0] or host
