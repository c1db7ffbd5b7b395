"""A club and devices on one desk, without trouble: for tests that care about one rule."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from logbook_app.sync.conversation import Conversation, Outcome
from logbook_app.sync.device_store import DeviceState
from logbook_app.sync.messages import Reply, Request, parse_reply, parse_request, to_wire
from logbook_app.sync.own_changes import seen_record, write
from server.deciding import Club
from server.memory_club import MemoryClub, MemoryLedger
from server.permissions import Caller
from tests.sync.memory_device import MemoryDevice, Tables

NOW_MS = 1_950_000_000_000


class Desk:
    """One club."""

    def __init__(self, store: Any = None) -> None:
        self.store, self.ledger = store or MemoryClub(), MemoryLedger()
        self.club = Club(self.store, self.ledger)
        self.now_ms = NOW_MS
        self.asked: list[Request] = []

    def device(self, member: str, origin: str, *, instructor: bool = False) -> Device:
        return Device(self, member, origin, instructor)

    def restore(self, tables: Any) -> None:
        """Put back a backup, as an officer does."""
        self.store.tables = tables.copied()
        self.club.begin_epoch(self.now_ms)

    def ask(self, request: Request, member: str, device: str = "d", *, instructor: bool = False) -> Reply:
        self.asked.append(request)
        signing = ("instructor", frozenset("*")) if instructor else ()
        caller = Caller(member, device, self.now_ms, *signing)
        return parse_reply(to_wire(self.club.answer(parse_request(to_wire(request)), caller)))


class Device:
    """One member's device; `skew_ms` is what its clock is ahead."""

    def __init__(self, desk: Desk, member: str, origin: str, instructor: bool) -> None:
        self.desk, self.member, self.id, self.instructor = desk, member, origin, instructor
        self.store = MemoryDevice(Tables(DeviceState(origin)))
        self.skew_ms = 0
        self.names = 0

    def write(self, name: str, *, chooses: bool = False, **fields: Any) -> Any:
        key = name if "/" in name else f"{self.store.state().member}/{name}"
        with self.store.change():
            return write(self.store, key, fields, self.desk.now_ms + self.skew_ms, chooses=chooses)

    def sees(self, name: str) -> Any:
        return seen_record(self.store, name if "/" in name else f"{self.store.state().member}/{name}")

    def _new_origin(self) -> str:
        self.names += 1
        return f"{self.id}x{self.names}"

    def conversation(self, **options: Any) -> Conversation:
        return Conversation(self.store, lambda: self.desk.now_ms + self.skew_ms, self._new_origin, **options)

    def sync(self, *, stop: Callable[[Request], bool] = lambda _: False, **options: Any) -> Outcome:
        """Hold a conversation; where `stop` says so of a request, it breaks off unanswered."""
        self.desk.now_ms += 1_000
        conversation = self.conversation(**options)
        talk = conversation.run()
        try:
            request = next(talk)
            while not stop(request):
                answer = self.desk.ask(request, self.member, self.id, instructor=self.instructor)
                request = talk.send(answer)
        except StopIteration:
            pass
        return conversation.outcome
