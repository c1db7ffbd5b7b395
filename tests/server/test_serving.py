"""`leadline serve` as a process of its own: what it says, and how it ends."""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
import requests

from logbook_app.sync.messages import Hello, Join, Joined, Welcome, parse_reply, to_wire
from server.club_home import ClubHome
from tests.server.clubs import token_of

pytestmark = pytest.mark.law

ROOT = Path(__file__).parents[2]


def free_port() -> int:
    with closing(socket.create_server(("127.0.0.1", 0))) as listening:
        return int(listening.getsockname()[1])


@contextmanager
def serving(folder: Path, *arguments: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A club that is served; gives the process and the address, once it answers."""
    port = free_port()
    given = ["--home", str(folder), "--port", str(port), *arguments]
    command = [sys.executable, "-m", "logbook_app", "serve", *given]
    with subprocess.Popen(
        command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        address = f"http://127.0.0.1:{port}"
        while True:
            try:
                requests.get(f"{address}/health", timeout=10)
                break
            except requests.ConnectionError:
                assert process.poll() is None, process.stderr.read()
                time.sleep(0.05)
        yield process, address
        if process.poll() is None:
            process.kill()


def asked(address: str, request: Join | Hello, token: str = "") -> object:
    url, headers = f"{address}/v1/{type(request).__name__.lower()}", {"authorization": f"Bearer {token}"}
    return parse_reply(requests.post(url, to_wire(request), headers=headers, timeout=10).content)


def test_with_nothing_configured_it_says_where_and_how_the_first_one_joins(tmp_path):
    with serving(tmp_path / "club") as (process, address):
        code = re.search(r"^[\w-]{22}$", said_until(process, r"^[\w-]{22}$"), re.MULTILINE).group()
        assert isinstance(asked(address, Join(code, token_of("phone"), "phone")), Joined)
        assert isinstance(asked(address, Hello(1), token_of("phone")), Welcome)
        process.send_signal(signal.SIGTERM)
        said, lines = process.communicate(timeout=30)
        assert process.returncode == 0
    assert [json.loads(line)["level"] for line in lines.splitlines()]
    with serving(tmp_path / "club") as (process, _):
        process.send_signal(signal.SIGTERM)
        said, _lines = process.communicate(timeout=30)
    assert str(tmp_path / "club") in said
    assert "code" not in said


def said_until(process: subprocess.Popen[str], pattern: str) -> str:
    said = ""
    while not re.search(pattern, said, re.MULTILINE):
        line = process.stdout.readline()
        assert line, said
        said += line
    return said


def test_what_is_being_answered_when_it_is_stopped_is_answered(tmp_path):
    """The message is half sent when the server hears that it shall end; the other half comes after that."""
    folder = tmp_path / "club"
    with closing(ClubHome(folder)) as home:
        code = home.invite("Ada")[1]
    with serving(folder) as (process, address):
        body = to_wire(Join(code, token_of("phone"), "phone"))
        head = f"POST /v1/join HTTP/1.1\r\nhost: club\r\ncontent-length: {len(body)}\r\n\r\n".encode()
        host, port = address.removeprefix("http://").split(":")
        stopping = threading.Event()
        threading.Thread(target=_wait_for, args=(process, "Shutting down", stopping), daemon=True).start()
        with socket.create_connection((host, int(port))) as near:
            near.sendall(head + body[:10])
            _until_it_is_read(near)
            process.send_signal(signal.SIGTERM)
            assert stopping.wait(30)
            near.sendall(body[10:])
            answer = b"".join(iter(lambda: near.recv(65536), b""))
        assert process.wait(30) == 0
    assert isinstance(parse_reply(answer.partition(b"\r\n\r\n")[2]), Joined)
    with closing(ClubHome(folder)) as home:
        assert home.accounts.speaker(token_of("phone"))
    assert not (folder / "club.sqlite-wal").exists()


def _wait_for(process: subprocess.Popen[str], words: str, heard: threading.Event) -> None:
    for line in process.stderr:
        if words in line:
            heard.set()


def _until_it_is_read(near: socket.socket) -> None:
    """Wait until the server has taken the first half: it then answers what was asked after it."""
    host, port = near.getpeername()[:2]
    for _ in range(2):
        requests.get(f"http://{host}:{port}/health", timeout=10)
