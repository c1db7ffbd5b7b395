"""A club that says when to come back is left alone until then; an answer that broke off is none."""

from __future__ import annotations

import socket
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime

import pytest

from logbook_app.dive.problems import Cancelled, NoClub
from logbook_app.sync.messages import Hello, Welcome, to_wire
from logbook_app.sync.transport import Patience, Transport
from tests.sync.bad_network import hostile, http

pytestmark = pytest.mark.law

WELCOME = to_wire(Welcome(1_900_000_000_000, 1, 1, "ada"))
QUICK = Patience(connect_s=5, read_s=5, answer_s=10, again=2, pause_s=0.001, longest_pause_s=0.002)


def busy(wait: str) -> bytes:
    return http(b"", f"retry-after: {wait}", status="429 Too Many Requests")


def test_an_answer_that_is_cut_at_any_byte_is_no_answer():
    """Some HTTP libraries take one that ends within its headers for a complete and empty one."""
    whole = http(WELCOME, "content-type: application/json", "cache-control: no-store")
    told = dict[str, bytes]()
    with hostile(lambda near: near.sendall(told["answer"])) as address:
        once = Transport(address, patience=replace(QUICK, again=0))
        for at in range(len(whole)):
            told["answer"] = whole[:at]
            with pytest.raises(NoClub):
                once.ask(Hello(1))
        told["answer"] = whole
        assert isinstance(once.ask(Hello(1)), Welcome)


@pytest.fixture
def pauses(monkeypatch) -> list[float]:
    """What a device would have waited; the clock stands still for it."""
    waited: list[float] = []
    monkeypatch.setattr(Transport, "_pause", lambda _self, seconds: waited.append(seconds))
    return waited


def asked(*answers: bytes) -> object:
    left = iter(answers)
    with hostile(lambda near: near.sendall(next(left))) as address:
        return Transport(address, patience=QUICK).ask(Hello(1))


@pytest.mark.parametrize("status", ["429 Too Many Requests", "503 Service Unavailable"])
def test_the_device_comes_back_when_it_was_told_to(pauses, status):
    answer = http(b"", "retry-after: 7", status=status)
    assert isinstance(asked(answer, answer, http(WELCOME)), Welcome)
    assert pauses == [7, 7]


def test_a_date_is_understood_as_well(pauses):
    until = format_datetime(datetime.now(UTC) + timedelta(seconds=40), usegmt=True)
    assert isinstance(asked(busy(until), http(WELCOME)), Welcome)
    assert 0 < pauses[0] <= 41


@pytest.mark.parametrize("wait", ["", "soon", "-5", "1e3", "9" * 5_000, "Mon, 99 Foo 2999"])
def test_what_is_no_time_is_no_reason_to_wait(pauses, wait):
    assert isinstance(asked(busy(wait), http(WELCOME)), Welcome)
    assert pauses[0] < 1


def test_a_long_wait_is_told_and_not_waited(pauses):
    with pytest.raises(NoClub, match=r"can be asked again in 10 min\."):
        asked(busy("600"))
    assert pauses == []


def test_waiting_can_be_given_up():
    def answer(near: socket.socket) -> None:
        near.sendall(busy("50"))

    began = time.monotonic()
    with hostile(answer) as address:
        transport = Transport(address, cancelled=lambda: time.monotonic() > began + 0.3, patience=QUICK)
        with pytest.raises(Cancelled):
            transport.ask(Hello(1))
