"""Who asks too much waits, and is told how long; nobody else does."""

from __future__ import annotations

import asyncio
import gzip
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.sync.messages import (
    LARGEST_REQUEST,
    Code,
    Hello,
    Join,
    Joined,
    Refusal,
    Welcome,
    parse_reply,
)
from server import limits
from server.limits import Rate, Rates, Turns, who_calls
from tests.server.clubs import ServedClub, scope_of, served, token_of

pytestmark = pytest.mark.law

RATES = Rates(device=Rate(4, 10.0), address=Rate(8, 5.0), join=Rate(3, 600.0))


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.s = 1000.0

    def __call__(self) -> float:
        return self.s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def club(tmp_path: Path, clock: Clock) -> Iterator[ServedClub]:
    with served(tmp_path / "club", rates=RATES, now_s=clock) as club:
        yield club


@given(
    st.integers(1, 20),
    st.floats(0.01, 100),
    st.lists(st.floats(0, 50), min_size=1, max_size=80),
)
def test_in_no_time_are_more_turns_than_the_rate_allows(at_once, every_s, pauses):
    clock = Clock()
    turns, taken = Turns(Rate(at_once, every_s), clock), []
    for pause in pauses:
        clock.s += pause
        if not turns.take("a"):
            taken.append(clock.s)
    for first in range(len(taken)):
        for last in range(first, len(taken)):
            most = at_once + (taken[last] - taken[first]) / every_s
            assert last - first + 1 <= most + 1e-6


@given(st.integers(1, 20), st.floats(0.01, 100), st.integers(0, 60))
def test_who_waits_as_told_gets_a_turn(at_once, every_s, asked):
    clock = Clock()
    turns = Turns(Rate(at_once, every_s), clock)
    for _ in range(asked):
        turns.take("a")
    assert not turns.take("b")
    clock.s += turns.take("a") + 1e-6
    assert not turns.take("a") or asked < at_once


def test_who_has_all_turns_again_is_not_remembered(clock, monkeypatch):
    monkeypatch.setattr(limits, "MOST_KEYS", 100)
    turns = Turns(Rate(2, 10.0), clock)
    for number in range(1000):
        clock.s += 1.0
        turns.take(str(number))
        assert len(turns._all_back_s) <= 101
    clock.s -= 1.0
    turns.take("999")
    assert turns.take("999") > 0


def test_an_ipv6_customer_is_one_caller():
    assert who_calls("2001:db8::1") == who_calls("2001:db8::ffff:2") != who_calls("2001:db8:0:1::1")
    assert who_calls("fe80::1%eth0") == "fe80::"
    assert who_calls("what:ever") == "what:ever"


def test_a_device_that_asks_too_much_waits_and_others_do_not(club, clock):
    club.joined("Ada", "phone")
    club.joined("Bo", "tablet")
    clock.s += 1000
    for _ in range(4):
        assert isinstance(club.ask(Hello(1), token_of("phone")), Welcome)
    answer = club.post(Hello(1), token_of("phone"))
    assert (answer.status, answer.headers["retry-after"]) == (429, "10")
    refusal = parse_reply(answer.content)
    assert refusal == Refusal(Code.BUSY, "That is more than the club takes at once; try again in 10 seconds.")
    assert isinstance(club.ask(Hello(1), token_of("tablet")), Welcome)
    clock.s += 10
    assert isinstance(club.ask(Hello(1), token_of("phone")), Welcome)


def test_an_address_that_asks_too_much_waits_whatever_secrets_it_shows(club):
    asked = [club.post(Hello(1), token_of(str(number)), "192.0.2.7") for number in range(9)]
    assert [answer.status for answer in asked] == [401] * 8 + [429]
    assert club.post(Hello(1), "", "192.0.2.8").status == 401


def test_guessing_invitations_is_stopped_and_good_ones_cost_nothing(club, clock):
    for number in range(20):
        clock.s += 10
        assert club.joined("Ada", f"phone{number}")
    for number in range(3):
        clock.s += 10
        assert club.post(Join(f"guess {number}", token_of("thief"))).status == 403
    clock.s += 10
    code = club.home.invite("Bo")[1]
    answer = club.post(Join(code, token_of("bo")))
    assert answer.status == 429
    assert "10 minutes" in parse_reply(answer.content).words
    assert isinstance(parse_reply(club.post(Join(code, token_of("bo")), "", "192.0.2.9").content), Joined)
    clock.s += int(answer.headers["retry-after"])
    assert club.post(Join("another guess", token_of("thief"))).status == 403


def test_of_what_is_stopped_nothing_is_read(club):
    for _ in range(8):
        club.post(Hello(1), "", "192.0.2.7")
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        raise AssertionError("something was read")

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    asyncio.run(club.app(scope_of("POST", "/v1/push", "192.0.2.7"), receive, send))
    assert sent[0]["status"] == 429


@pytest.mark.parametrize(("body", "headers"), [
    (b" " * (LARGEST_REQUEST + 1), {}),
    (gzip.compress(b" " * (20 * 2**20)), {"content_encoding": "gzip"}),
    (b"not packed", {"content_encoding": "gzip"}),
], ids=["long", "bomb", "unpacked"])  # fmt: skip
def test_a_body_beyond_the_limit_is_one_sentence(club, body, headers):
    answer = club.send("POST", "/v1/push", body, **headers)
    assert (answer.status, parse_reply(answer.content).code) == (413, Code.UNREADABLE)


def test_a_body_that_does_not_arrive_is_not_waited_for(tmp_path, clock):
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        await asyncio.Event().wait()
        raise AssertionError

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    with served(tmp_path / "patient", rates=Rates(body_s=0.01), now_s=clock) as club:
        asyncio.run(club.app(scope_of("POST", "/v1/push"), receive, send))
    assert sent[0]["status"] == 408
    assert "did not arrive within 0.01 seconds" in parse_reply(sent[1]["body"]).words


def test_more_than_the_club_answers_at_once_comes_back_later(tmp_path, clock):
    with served(tmp_path / "full", rates=Rates(most_inside=0), now_s=clock) as full:
        answer = full.post(Hello(1))
        assert (answer.status, answer.headers["retry-after"]) == (503, "2")
        assert parse_reply(answer.content).code == Code.BUSY
