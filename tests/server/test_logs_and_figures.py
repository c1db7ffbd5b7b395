"""What the server writes down tells what happened, and of whom nothing."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from logbook_app.sync.messages import Code, Hello, Refusal, parse_reply
from server.logs import LOG, JsonLine
from tests.server.clubs import ServedClub, served, token_of

pytestmark = pytest.mark.law

SECRET_THINGS = ("Ada", "phone", "calm and clear", "192.0.2.7", token_of("phone"), "dive:1")


class Lines(logging.Handler):
    """The lines of the log as they are written."""

    def __init__(self) -> None:
        super().__init__()
        self.setFormatter(JsonLine())
        self.written: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.written.append(self.format(record))


@pytest.fixture
def lines() -> Iterator[Lines]:
    lines, level = Lines(), LOG.level
    LOG.addHandler(lines)
    LOG.setLevel(logging.INFO)
    yield lines
    LOG.removeHandler(lines)
    LOG.setLevel(level)


@pytest.fixture
def club(tmp_path: Path) -> Iterator[ServedClub]:
    with served(tmp_path / "club") as club:
        yield club


def test_every_answer_is_one_object_and_names_nobody(club, lines):
    club.joined("Ada", "phone")
    club.push("phone", "dive:1", 1, notes="calm and clear", buddies=["Bo"])
    club.post(Hello(1), token_of("phone"), "192.0.2.7")
    club.send("GET", "/people/Ada")
    told = [json.loads(line) for line in lines.written]
    assert [(each["route"], each["status"]) for each in told] == [
        ("/v1/join", 200), ("/v1/push", 200), ("/v1/hello", 200), ("", 404),
    ]  # fmt: skip
    assert {key for each in told for key in each} == {
        "time", "level", "event", "route", "status", "ms", "bytes_in", "bytes_out", "device",
    }  # fmt: skip
    ((device, _),) = club.home.accounts.devices_of(club.home.accounts.members()[0].id)
    assert told[1]["device"] == device[:8]
    assert told[1]["bytes_in"] > 100
    for secret in SECRET_THINGS:
        assert not [line for line in lines.written if secret in line]


def test_what_fails_is_one_sentence_outside_and_a_place_in_the_log(club, lines, monkeypatch):
    club.joined("Ada", "phone")

    def fail(*_: Any) -> None:
        raise RuntimeError("Ada's notes: calm and clear")

    monkeypatch.setattr(club.home.club, "answer", fail)
    answer = club.post(Hello(1), token_of("phone"))
    assert answer.status == 500
    assert parse_reply(answer.content) == Refusal(
        Code.TROUBLE, "The club failed at this and has written it down; try later."
    )
    failed = next(json.loads(line) for line in lines.written if '"failed"' in line)
    assert (failed["level"], failed["error"], failed["route"]) == ("error", "RuntimeError", "/v1/hello")
    assert failed["raised"][-1].startswith("test_logs_and_figures.py:")
    assert not [line for line in lines.written if "calm" in line]


def test_health_is_of_a_club_that_can_write(club, monkeypatch):
    assert json.loads(club.send("GET", "/health").content) == {"club": "well", "end": True}
    club.home.database.connection.execute("PRAGMA query_only = ON")
    answer = club.send("GET", "/health")
    assert (answer.status, answer.headers["retry-after"]) == (503, "2")
    assert parse_reply(answer.content).code == Code.TROUBLE


def test_figures_count_and_are_told_here_alone(club):
    club.joined("Ada", "phone")
    club.push("phone", "dive:1", 1, notes="calm")
    club.post(Hello(1))
    text = club.send("GET", "/metrics").content.decode().splitlines()
    for line in (
        'leadline_answers_total{route="/v1/push",status="200"} 1.0',
        'leadline_answers_total{route="/v1/hello",status="401"} 1.0',
        "leadline_members 1.0",
        "leadline_log_lines 1.0",
        'leadline_answer_seconds_count{route="/v1/join"} 1.0',
    ):
        assert line in text
    elsewhere = club.send("GET", "/metrics", address="192.0.2.7")
    assert (elsewhere.status, parse_reply(elsewhere.content).code) == (403, Code.UNREADABLE)


def test_answers_carry_what_keeps_a_browser_calm(club):
    for method, path in (("GET", "/health"), ("POST", "/v1/hello"), ("GET", "/nothing"), ("PUT", "/v1/push")):
        headers = club.send(method, path).headers
        assert headers["cache-control"] == "no-store"
        assert headers["content-security-policy"] == "default-src 'none'; frame-ancestors 'none'"
        assert headers["x-content-type-options"] == "nosniff"
        assert "server" not in headers
