"""What every request passes on its way in and every answer on its way out, whatever is behind.

In: who asks too much is told when to come back, before anything of a body is read. Out: headers that
keep a browser from making more of an answer than it is; one line in the log; the figures. Whatever
fails behind is written down and answered with one sentence.
"""

from __future__ import annotations

import hashlib
import logging
import math
import time
from collections.abc import Callable
from typing import Any, Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from logbook_app.sync.messages import Code, Refusal, to_wire
from server.figures import Figures
from server.limits import Rates, Turns, who_calls
from server.logs import LOG

BUSY_S: Final = 2
_HEADERS: Final = {
    "cache-control": "no-store",
    "content-security-policy": "default-src 'none'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
}
_ONLY_ENCRYPTED: Final = "max-age=31536000"


def refused(status: int, code: str, words: str, wait_s: float = 0.0) -> Response:
    """Return a refusal as an answer, with the seconds to wait where there are any."""
    headers = {"retry-after": str(math.ceil(wait_s))} if wait_s else {}
    return Response(to_wire(Refusal(code, words)), status, headers, "application/json")


def busy(wait_s: float, status: int = 429) -> Response:
    """Return the refusal of who has to wait."""
    wait_s = max(1, math.ceil(wait_s))
    wait = f"{wait_s} seconds" if wait_s < 120 else f"{math.ceil(wait_s / 60)} minutes"
    return refused(
        status, Code.BUSY, f"That is more than the club takes at once; try again in {wait}.", wait_s
    )


def secret_of(headers: Headers) -> str:
    """Return the secret that a device shows, empty where it shows none."""
    kind, _, secret = headers.get("authorization", "").partition(" ")
    return secret if kind.casefold() == "bearer" else ""


class _Visit:
    """One request and its answer, counted as they pass."""

    def __init__(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.scope, self._receive, self._send = scope, receive, send
        self.status, self.arrived, self.sent = 0, 0, 0
        secret = secret_of(Headers(scope=scope))
        self.device = hashlib.sha256(secret.encode()).hexdigest() if secret else ""
        client = scope.get("client")
        self.caller = who_calls(client[0]) if client else ""

    @property
    def route(self) -> str:
        """The route as it is written down, never the path that was asked for."""
        return getattr(self.scope.get("route"), "path", "")

    async def receive(self) -> Message:
        message = await self._receive()
        self.arrived += len(message.get("body", b""))
        return message

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.status = message["status"]
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
            if self.scope.get("scheme") == "https":
                headers.setdefault("strict-transport-security", _ONLY_ENCRYPTED)
        self.sent += len(message.get("body", b""))
        await self._send(message)


class FrontDoor:
    """Stands around an ASGI application.

    now_s   a clock that only goes forward
    """

    def __init__(
        self, app: ASGIApp, rates: Rates, figures: Figures, now_s: Callable[[], float] = time.monotonic
    ) -> None:
        self._app, self._rates, self._figures, self._now_s = app, rates, figures, now_s
        self._devices, self._addresses = Turns(rates.device, now_s), Turns(rates.address, now_s)
        self._inside = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        visit, began_s = _Visit(scope, receive, send), self._now_s()
        try:
            await (self._stopped(visit) or self._through)(scope, visit.receive, visit.send)
        except Exception:
            LOG.exception("failed", extra={"told": {"route": visit.route}})
            if visit.status:
                raise  # half an answer is on its way; the connection is cut, and the end mark is missing
            trouble = refused(
                500, Code.TROUBLE, "The club failed at this and has written it down; try later."
            )
            await trouble(scope, visit.receive, visit.send)
        finally:
            self._write_down(visit, self._now_s() - began_s)

    def _stopped(self, visit: _Visit) -> Response | None:
        wait_s = self._addresses.take(visit.caller)
        if not wait_s and visit.device:
            wait_s = self._devices.take(visit.device)
        if wait_s:
            return busy(wait_s)
        return busy(BUSY_S, 503) if self._inside >= self._rates.most_inside else None

    async def _through(self, scope: Scope, receive: Receive, send: Send) -> None:
        self._inside += 1
        try:
            await self._app(scope, receive, send)
        finally:
            self._inside -= 1

    def _write_down(self, visit: _Visit, seconds: float) -> None:
        self._figures.count(visit.route, visit.status, seconds, visit.arrived, visit.sent)
        if LOG.isEnabledFor(logging.INFO):
            told: dict[str, Any] = {
                "route": visit.route, "status": visit.status, "ms": round(seconds * 1000, 1),
                "bytes_in": visit.arrived, "bytes_out": visit.sent, "device": visit.device[:8],
            }  # fmt: skip
            LOG.info("answered", extra={"told": told})
