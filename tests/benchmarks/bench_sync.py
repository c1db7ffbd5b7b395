"""A club's server beside what the same bytes cost without one, in one run on 127.0.0.1.

    pytest tests/benchmarks/bench_sync.py -o python_files='bench_*.py' -s -q

Both servers are processes of their own, uvicorn with one worker. The baseline is an ASGI application of
thirty lines that knows no members, rules or merging: it takes JSON and writes rows, durably. Times are
real times, since two processes take part; turns are taken about, and medians compared. A target that is
missed is said to be missed, and does not fail.

LEADLINE_BENCH_SYNCED_DIVES sets how many dives are in the logbook that is synced.
"""

from __future__ import annotations

import http.client
import os
import secrets
import socket
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

import numpy as np
from club_dives import FullClubs, demo_dives
from side_by_side import say

from logbook_app.dive.profile import Profile, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, Recording
from logbook_app.logbook import Logbook
from logbook_app.sync import transport
from logbook_app.sync.changes import Change
from logbook_app.sync.messages import Join, Push, SentChange, to_wire
from logbook_app.sync.records import written_values
from logbook_app.sync.stamps import StampClock
from server.club_home import ClubHome
from tests.dive.strategies import plain_dive

ROOT = Path(__file__).parents[2]
DIVES = int(os.environ.get("LEADLINE_BENCH_SYNCED_DIVES", "10000"))
IDLE_DIVES, FEW = min(DIVES, 1_000), 1_000
A_PUSH, PUSHES = 100, 60

OURS = """
import sys, uvicorn
from pathlib import Path
from server.app import make_app
from server.club_home import ClubHome
from server.limits import Rate, Rates

free = Rate(10**9, 1e-6)
app = make_app(ClubHome(Path(sys.argv[1])), "Quarry", rates=Rates(free, free, free))
"""
BARE = """
import json, sqlite3, sys, uvicorn
from pathlib import Path

rows = sqlite3.connect(Path(sys.argv[1]) / "bare.sqlite", isolation_level=None)
rows.execute("PRAGMA journal_mode = WAL")
rows.execute("PRAGMA synchronous = FULL")
rows.execute("CREATE TABLE lines (body BLOB)")
for table in ("records", "log", "seen", "named"):
    rows.execute(f"CREATE TABLE {table} (id TEXT PRIMARY KEY, body TEXT) WITHOUT ROWID")

async def body_of(receive):
    parts, more = [], True
    while more:
        message = await receive()
        parts.append(message.get("body", b""))
        more = message.get("more_body")
    return b"".join(parts)

async def app(scope, receive, send):
    if scope["type"] != "http":
        return
    body = await body_of(receive)
    rows.execute("BEGIN IMMEDIATE")
    if scope["path"] == "/upload":
        rows.executemany("INSERT INTO lines VALUES (?)", ((line,) for line in body.splitlines()))
        told = {}
    else:
        made = [each["change"] for each in json.loads(body)["changes"]]
        told = {"ids": [f"{each['origin']}.{each['number']}" for each in made]}
        for table, content in (("records", "fields"), ("log", ""), ("seen", "number"), ("named", "stamp")):
            rows.executemany(
                f"INSERT INTO {table} VALUES (?, ?)",
                ((i, json.dumps(each[content] if content else each)) for i, each in zip(told["ids"], made)),
            )
    rows.execute("COMMIT")
    answer = json.dumps(told).encode()
    await send({"type": "http.response.start", "status": 200,
                "headers": [(b"content-length", str(len(answer)).encode())]})
    await send({"type": "http.response.body", "body": answer})
"""
START = """
config = uvicorn.Config(app, port=0, log_level="error", access_log=False, lifespan="off")
server = uvicorn.Server(config)
started = server.startup

async def startup(sockets=None):
    await started(sockets)
    print(server.servers[0].sockets[0].getsockname()[1], flush=True)

server.startup = startup
server.run()
"""


def tell(what: str, figure: float, target: float, unit: str = "times", *, least: bool = False) -> None:
    """Say one line, and whether the target was met."""
    met = figure >= target if least else figure <= target
    word = "at least" if least else "at most"
    say(f"{what}: {figure:.3g} {unit}, target {word} {target:g}: {'met' if met else 'missed'}")


@contextmanager
def process(code: str, folder: Path) -> Iterator[int]:
    """A server; gives its port."""
    command = [sys.executable, "-c", code + START, str(folder)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as started:
        yield int(started.stdout.readline())
        started.terminate()


class Counting:
    """A way to a server that counts what goes over it, HTTP and all."""

    def __init__(self, far_port: int) -> None:
        self._far_port = far_port
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.port = self._socket.getsockname()[1]
        self.bytes = self.questions = 0

    def __enter__(self) -> Counting:
        threading.Thread(target=self._serve, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        self._socket.close()

    def reset(self) -> None:
        self.bytes = self.questions = 0

    def _serve(self) -> None:
        with suppress(OSError):
            while True:
                near = self._socket.accept()[0]
                far = socket.create_connection(("127.0.0.1", self._far_port))
                for ends in ((near, far, True), (far, near, False)):
                    threading.Thread(target=self._pass, args=ends, daemon=True).start()

    def _pass(self, source: socket.socket, target: socket.socket, asking: bool) -> None:
        with suppress(OSError):
            while data := source.recv(65536):
                self.bytes += len(data)
                self.questions += asking and data.startswith(b"POST ")
                target.sendall(data)
            target.shutdown(socket.SHUT_WR)


class Asking:
    """One connection that is kept."""

    def __init__(self, port: int, token: str = "") -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port)
        self._headers = {"authorization": f"Bearer {token}", "content-type": "application/json"}

    def post(self, path: str, body: bytes) -> bytes:
        self._connection.request("POST", path, body, self._headers)
        answer = self._connection.getresponse()
        told = answer.read()
        assert answer.status == 200, told
        return told


def dive(number: int, chance: np.random.Generator) -> tuple[Dive, list[Profile]]:
    """A dive of three quarters of an hour with a sample every ten seconds."""
    steps = chance.integers(-8, 9, 270).cumsum()
    profile = Profile(
        time_s=np.arange(270) * 10.0,
        depth_m=np.abs(steps) / 10 + 0.5,
        channels={"temperature_c": np.round(14 - np.abs(steps) / 100, 1)},
    )
    recording = Recording(f"print {number}", profile_digest(profile_to_bytes(profile)))
    made = plain_dive(
        id=f"{number:08d}",
        began_at=datetime(2001, 1, 1, tzinfo=UTC) + timedelta(hours=12 * number),
        buddies=("Ada", "Bo"),
        notes="Along the north wall, back over the sand; calm.",
        recordings=(recording,),
    )
    return made, [profile]


def filled(path: Path, dives: int = DIVES) -> Logbook:
    book, chance = Logbook.open(path, now=lambda: datetime.now(UTC)), np.random.default_rng(7)
    for first in range(0, dives, 1000):
        book._store.save([dive(number, chance) for number in range(first, min(first + 1000, dives))])
    return book


def test_a_first_sync(tmp_path, monkeypatch):
    sent: list[bytes] = []
    to_wire_ = transport.to_wire
    monkeypatch.setattr(transport, "to_wire", lambda request: sent.append(to_wire_(request)) or sent[-1])
    with closing(ClubHome(tmp_path / "club")) as home:
        code = home.invite("Ada")[1]
    book = filled(tmp_path / "ada.leadline")
    with process(OURS, tmp_path / "club") as port, closing(book):
        book.club.join(f"http://127.0.0.1:{port}", code)
        began = time.perf_counter()
        outcome = book.club.sync().outcome
        ours_s = time.perf_counter() - began
    assert (outcome.sent, outcome.blobs_sent, outcome.counts_agree) == (DIVES, DIVES, True)
    (tmp_path / "bare").mkdir()
    with process(BARE, tmp_path / "bare") as port:
        began = time.perf_counter()
        Asking(port).post("/upload", b"\n".join(sent))
        bare_s = time.perf_counter() - began
    megabytes = sum(map(len, sent)) / 2**20
    say(f"first sync of {DIVES:,} dives: {len(sent):,} questions, {megabytes:.1f} MB, {ours_s:.1f} s")
    tell("  beside one upload and one bulk insert of the same bytes", ours_s / bare_s, 3)


def pushes(many: int, chance: np.random.Generator) -> Iterator[bytes]:
    """Bodies with 100 new dives each, as a device sends them."""
    for _ in range(many):
        origin, stamp = f"{chance.integers(2**62):032x}", StampClock(1_900_000_000_000).stamp
        sent = tuple(
            SentChange(Change(origin, number, "", f"dive:{origin}{number}", stamp, written_values(made), {}))
            for number in range(1, A_PUSH + 1)
            for made, _ in [dive(number, chance)]
        )
        yield to_wire(Push(1, 1, sent))


def joined(home: ClubHome, port: int) -> Asking:
    """A device that has just joined, on a connection of its own."""
    code, token = home.invite("Ada")[1], secrets.token_hex(32)
    Asking(port).post("/v1/join", to_wire(Join(code, token)))
    return Asking(port, token)


def seconds(call: Callable[[], object]) -> float:
    began = time.perf_counter()
    call()
    return time.perf_counter() - began


def test_pushes_beside_a_bare_application(tmp_path):
    chance = np.random.default_rng(11)
    (tmp_path / "bare").mkdir()
    with closing(ClubHome(tmp_path / "club")) as home, process(OURS, tmp_path / "club") as port:
        ours = joined(home, port)
        with process(BARE, tmp_path / "bare") as bare_port:
            bare = Asking(bare_port)
            pairs = [
                (seconds(partial(ours.post, "/v1/push", body)), seconds(partial(bare.post, "/push", body)))
                for body in pushes(PUSHES, chance)
            ]
    ours_s, bare_s = (statistics.median(times) for times in zip(*pairs[3:], strict=True))
    say(f"a push of {A_PUSH} dives: {ours_s * 1e3:.1f} ms, {1 / ours_s:.0f} a second")
    tell(
        "  requests a second, beside a bare application that makes the same rows",
        bare_s / ours_s,
        0.7,
        least=True,
    )


def test_a_sync_with_nothing_new(tmp_path):
    with closing(ClubHome(tmp_path / "club")) as home:
        code = home.invite("Ada")[1]
    book = filled(tmp_path / "ada.leadline", IDLE_DIVES)
    with process(OURS, tmp_path / "club") as port, Counting(port) as counting, closing(book):
        book.club.join(f"http://127.0.0.1:{counting.port}", code)
        book.club.sync()
        times = []
        for _ in range(20):
            counting.reset()
            times.append(seconds(book.club.sync))
    tell(f"a sync of {IDLE_DIVES:,} dives with nothing new: questions", counting.questions, 1, "")
    tell("  bytes both ways, HTTP and all", counting.bytes, 1000, "bytes")
    tell(
        f"  time, the quickest {min(times) * 1e3:.0f} ms, the median",
        statistics.median(times) * 1e3,
        20,
        "ms",
    )


def test_the_95th_of_100_pushes_while_the_club_grows(tmp_path):
    demo, chance = demo_dives(tmp_path), np.random.default_rng(12)
    told: list[float] = []
    for many in (FEW, 100 * FEW):
        folder = tmp_path / f"club{many}"
        with closing(ClubHome(folder)) as home:
            FullClubs(home.database, demo, many, many).load()
            with process(OURS, folder) as port:
                ours = joined(home, port)
                times = [seconds(partial(ours.post, "/v1/push", body)) for body in pushes(PUSHES, chance)]
        told.append(sorted(times)[len(times) * 95 // 100])
    few_ms, many_ms = (1e3 * each for each in told)
    say(f"95th of 100 pushes with {FEW:,} dives stored {few_ms:.1f} ms, with {100 * FEW:,} {many_ms:.1f}")
    tell("  the larger beside the smaller", told[1] / told[0], 1.3)
