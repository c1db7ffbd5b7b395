"""The real server on this machine, for as long as a test talks to it."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn

from server.app import make_app
from server.club_home import ClubHome


@contextmanager
def served(home: ClubHome, name: str = "Quarry") -> Iterator[str]:
    """Serve a club on a free port of 127.0.0.1 and give its address."""
    server = uvicorn.Server(uvicorn.Config(make_app(home, name), port=0, log_level="error"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join()
