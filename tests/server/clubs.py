"""A club in this process, asked through its whole application without a socket."""

from __future__ import annotations

import asyncio
import hashlib
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from logbook_app.sync.changes import Change
from logbook_app.sync.messages import (
    Join,
    Joined,
    Push,
    Reply,
    Request,
    SentChange,
    message_name,
    parse_reply,
    to_wire,
)
from logbook_app.sync.stamps import StampClock
from server.app import make_app
from server.club_home import ClubHome

NAME = "Divers of the quarry"


def token_of(device: str) -> str:
    return hashlib.sha256(device.encode()).hexdigest()


class Answer(NamedTuple):
    """What an application answered."""

    status: int
    headers: dict[str, str]
    content: bytes


def scope_of(method: str, path: str, address: str = "127.0.0.1", **headers: str) -> dict[str, Any]:
    """Return what an ASGI application is told of a request."""
    given = [(name.lower().replace("_", "-").encode(), value.encode()) for name, value in headers.items()]
    return {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "path": path,
        "raw_path": path.encode(), "query_string": b"", "root_path": "", "scheme": "http", "headers": given,
        "client": (address, 50_000), "server": ("club.example", 80),
    }  # fmt: skip


def answer_of(
    app: Any, method: str, path: str, body: bytes = b"", *, address: str = "127.0.0.1", **headers: str
) -> Answer:
    """Ask an ASGI application once, without a socket; what it raises after an answer is its own affair."""
    told: list[dict[str, Any]] = []
    to_read = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> dict[str, Any]:
        return to_read.pop() if to_read else {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        told.append(message)

    scope = scope_of(method, path, address, **headers)
    asyncio.run(app(scope, receive, send))
    start = told[0]
    names = {name.decode(): value.decode() for name, value in start["headers"]}
    return Answer(start["status"], names, b"".join(each.get("body", b"") for each in told[1:]))


class ServedClub:
    """A club, the application that answers for it, and who asks."""

    def __init__(self, home: ClubHome, **how: Any) -> None:
        self.home, self.app = home, make_app(home, NAME, **how)

    def send(self, method: str, path: str, body: bytes = b"", **how: str) -> Answer:
        return answer_of(self.app, method, path, body, **how)

    def post(self, request: Request, token: str = "", address: str = "127.0.0.1") -> Answer:
        headers = {"authorization": f"Bearer {token}"} if token else {}
        path = f"/v1/{message_name(request)}"
        return self.send("POST", path, to_wire(request), address=address, **headers)

    def ask(self, request: Request, token: str = "") -> Reply:
        return parse_reply(self.post(request, token).content)

    def joined(self, name: str, device: str, **how: Any) -> str:
        """Let a device join, and return its member's id."""
        reply = self.ask(Join(self.home.invite(name, **how)[1], token_of(device), device))
        assert isinstance(reply, Joined)
        return reply.member

    def push(self, device: str, record: str, number: int, owner: str = "", /, **fields: Any) -> Reply:
        """Let a device write fields of a record."""
        stamp = StampClock(self.home.now_ms(), number % 1000).stamp
        change = Change(device, number, owner, record, stamp, fields, {})
        epoch = self.home.store.state().epoch
        return self.ask(Push(epoch, 1, (SentChange(change),)), token_of(device))


@contextmanager
def served(folder: Path, **how: Any) -> Iterator[ServedClub]:
    with closing(ClubHome(folder)) as home:
        yield ServedClub(home, **how)
