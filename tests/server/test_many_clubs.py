"""One server for all clubs of a database, each at its host."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from typing import Any

import pytest
import requests
import uvicorn

from logbook_app.dive.problems import LeadlineError
from logbook_app.sync.messages import Code, Hello, Join, Joined, Welcome, message_name, parse_reply, to_wire
from server.club_home import ClubHome
from server.sql_club import found_club
from server.worker import Serving
from tests.server.clubs import token_of
from tests.server.racing import database_at

pytestmark = pytest.mark.law

SESSIONS = "SELECT count(*) FROM pg_stat_activity WHERE backend_type = 'client backend'"
QUARRY, LAKE, SHORE = "quarry.example", "lake.example", "shore.example"
OPEN = 2


@pytest.fixture
def homes(new_address, tmp_path) -> Iterator[dict[str, ClubHome]]:
    homes = {}
    for host in (QUARRY, LAKE, SHORE):
        database = database_at(new_address)
        number = found_club(database, host, f"Divers of {host}").number
        homes[host] = ClubHome(tmp_path / "clubs", database=database, number=number)
    yield homes
    for home in homes.values():
        home.close()


@pytest.fixture
def address(homes, new_address, tmp_path) -> Iterator[str]:
    app = Serving(str(tmp_path / "clubs"), new_address, None, "A club", OPEN).app()
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="error"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join()


def asked(address: str, host: str, request: Any, token: str = "") -> Any:
    headers = {"host": f"{host}:8440", "authorization": f"Bearer {token}"}
    url = f"{address}/v1/{message_name(request)}"
    return parse_reply(requests.post(url, to_wire(request), headers=headers, timeout=30).content)


def joined(address: str, homes: dict[str, ClubHome], host: str, device: str) -> Joined:
    code = homes[host].invite("Ada")[1]
    reply = asked(address, host, Join(code, token_of(device), device))
    assert isinstance(reply, Joined)
    return reply


def test_a_device_is_known_to_its_own_club_alone(address, homes):
    for host in homes:
        assert joined(address, homes, host, host).club == f"Divers of {host}"
    for host in homes:
        for device in homes:
            reply = asked(address, host.upper(), Hello(1), token_of(device))
            assert isinstance(reply, Welcome) == (host == device)
    assert {len(home.accounts.members()) for home in homes.values()} == {1}


def test_where_there_is_no_club_nobody_answers(address):
    for host in ("nowhere.example", "", "[::1]"):
        assert asked(address, host, Hello(1)).code == Code.UNREADABLE


def test_clubs_that_nobody_asks_make_room_for_others(address, homes, new_address):
    for host in homes:
        joined(address, homes, host, host)
    with ThreadPoolExecutor(6) as pool:
        hosts = list(homes) * 10
        replies = list(pool.map(lambda host: asked(address, host, Hello(1), token_of(host)), hosts))
    assert all(isinstance(reply, Welcome) for reply in replies)
    with closing(database_at(new_address)) as database:
        ours = len(homes) + 1
        for _ in range(1000):  # a session is over a moment after its connection was closed
            (sessions,) = database.one(SESSIONS)
            if sessions <= ours + 2 * OPEN:
                break
            time.sleep(0.01)
        assert sessions <= ours + 2 * OPEN


def test_no_two_clubs_answer_at_one_host(homes, new_address):
    refused = pytest.raises(LeadlineError, match="Another club answers")
    with closing(database_at(new_address)) as database, refused:
        found_club(database, QUARRY.upper())
