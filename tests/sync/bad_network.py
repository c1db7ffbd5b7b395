"""A network between a device and a club that does as it is told: passes on, cuts, swallows, repeats."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from urllib.parse import urlsplit

Fault = Callable[[int], str]
"""What happens to the connection of this number: "" or a fault."""

BUSY = b"HTTP/1.1 503 Service Unavailable\r\ncontent-length: 0\r\nconnection: close\r\n\r\n"


class BadNetwork:
    """A proxy on this machine for one address; one connection carries one question.

    faults   refuse, busy, swallow (the club hears, no answer), silence, "cut N": N bytes of the answer;
             twice (the club hears it twice), late (it hears it only after the question that follows),
             delayed (the answer comes when nobody waits for it any more),
             old (the answer is the one before, where that was to the same question)
    """

    def __init__(self, address: str, fault: Fault) -> None:
        parts = urlsplit(address)
        self._club = (parts.hostname or "", parts.port or 0)
        self.fault, self.connections = fault, 0
        self._socket = socket.create_server(("127.0.0.1", 0))
        self._held: list[socket.socket] = []
        self._late: list[bytes] = []
        self._answers: dict[bytes, bytes] = {}
        self.address = f"http://127.0.0.1:{self._socket.getsockname()[1]}"
        threading.Thread(target=self._serve, daemon=True).start()

    def close(self) -> None:
        for each in (self._socket, *self._held):
            each.close()

    def _serve(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self._socket.accept()
                self.connections += 1
                threading.Thread(
                    target=self._pass, args=(near, self.fault(self.connections)), daemon=True
                ).start()

    def _pass(self, near: socket.socket, fault: str) -> None:
        with suppress(OSError, ValueError):
            if fault == "silence":
                self._held.append(near)
                return
            with near:
                if fault == "refuse":
                    return
                asked = _message(near)
                if fault == "busy":
                    near.sendall(BUSY)
                    return
                if fault == "late":
                    self._late.append(asked)
                    return
                before = self._answers.get(asked)
                answer = self._ask(asked)
                if fault == "twice":
                    answer = self._ask(asked)
                self._answers[asked] = answer
                self.deliver_late()
                if fault == "delayed":
                    while near.recv(65536):
                        """Until nobody waits any more."""
                elif fault == "old":
                    near.sendall(before or answer)
                elif fault.startswith("cut"):
                    near.sendall(answer[: int(fault.split()[1])])
                elif fault != "swallow":
                    near.sendall(answer)

    def _ask(self, asked: bytes) -> bytes:
        """Let the club hear a question, and return its answer."""
        with socket.create_connection(self._club) as far:
            head, _, body = asked.partition(b"\r\n\r\n")
            far.sendall(_closing(head) + b"\r\n\r\n" + body)
            return b"".join(iter(lambda: far.recv(65536), b""))

    def deliver_late(self) -> None:
        """Let the club hear what was held up; nobody gets its answer."""
        late, self._late = self._late, []
        for asked in late:
            self._ask(asked)


def _closing(head: bytes) -> bytes:
    lines = [line for line in head.split(b"\r\n") if not line.lower().startswith(b"connection:")]
    return b"\r\n".join([*lines, b"connection: close"])


def _message(near: socket.socket) -> bytes:
    data = b""
    while b"\r\n\r\n" not in data:
        data += near.recv(65536) or _gone()
    head, _, body = data.partition(b"\r\n\r\n")
    lengths = [line for line in head.lower().split(b"\r\n") if line.startswith(b"content-length:")]
    length = int(lengths[0].split(b":")[1])
    while len(body) < length:
        body += near.recv(65536) or _gone()
    return head + b"\r\n\r\n" + body


def _gone() -> bytes:
    raise OSError("gone")


@contextmanager
def hostile(answer: Callable[[socket.socket], None]) -> Iterator[str]:
    """A club that answers every question as it likes; gives its address."""
    listening = socket.create_server(("127.0.0.1", 0))

    def talk(near: socket.socket) -> None:
        with suppress(OSError, ValueError), near:
            _message(near)
            answer(near)

    def serve() -> None:
        with suppress(OSError):
            while True:
                near, _ = listening.accept()
                threading.Thread(target=talk, args=(near,), daemon=True).start()

    threading.Thread(target=serve, daemon=True).start()
    yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    listening.close()


def http(body: bytes, *headers: str, status: str = "200 OK") -> bytes:
    """Return an answer with its length."""
    lines = [f"HTTP/1.1 {status}", f"content-length: {len(body)}", "connection: close", *headers]
    return "\r\n".join(lines).encode() + b"\r\n\r\n" + body
