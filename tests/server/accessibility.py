"""Every page of the club held against axe-core, on a desk, on a phone and at night.

    make accessibility, or python -m tests.server.accessibility AXE.MIN.JS

Prints what is found and ends with 1 where there is anything serious.
"""

from __future__ import annotations

import json
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import uvicorn

from server.app import make_app
from server.club_home import ClubHome
from tests.server.browser import Browser
from tests.server.seeded_club import seed

PASSWORD = "four calm divers"  # noqa: S105
VIEWS = ((1280, False), (390, False), (1280, True))
ASK = (
    "axe.run(document, {resultTypes: ['violations']}).then(told => JSON.stringify("
    "told.violations.map(each => [each.impact, each.id, each.nodes[0].html.slice(0, 120)])))"
)


def found(browser: Browser, axe: str) -> Iterator[tuple[str, str, str]]:
    """Yield how serious, what and where, for each fault of the page that is shown."""
    for width, dark in VIEWS:
        browser.size(width, 800, dark=dark)
        browser._ask("Runtime.evaluate", expression=axe)
        yield from (tuple(each) for each in json.loads(browser.value(ASK)))


@contextmanager
def served(home: ClubHome) -> Iterator[str]:
    """Serve a club on this machine."""
    server = uvicorn.Server(uvicorn.Config(make_app(home, "Divers of the quarry"), port=0, log_level="error"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join()


def pages(member: str) -> Iterator[str]:
    """Yield the paths of pages for who is signed in."""
    yield from ("/members", "/progress?set=aaus-active", "/sign-offs", "/days", "/safety", "/me", "/office")
    yield from ("/office/trail", "/office/requirements", f"/office/members/{member}", f"/members/{member}")
    yield from (
        f"/members/{member}/paper",
        f"/progress/{member}/cmas-2",
        f"/progress/{member}/cmas-2/training",
    )


def main(axe: str) -> int:
    """Look at every page; return 1 where something serious was found."""
    with TemporaryDirectory() as folder, closing(ClubHome(Path(folder) / "club")) as home:
        people = seed(home, datetime.now(UTC))
        with home.store.change():
            home.sessions.set_password(people["Odile Marsh"].id, PASSWORD)
        with served(home) as address, Browser(Path(folder) / "profile") as browser:
            serious = 0
            for path in ("/enter", "/invitation"):
                browser.go(address + path)
                serious += _told(path, found(browser, axe))
            browser.go(f"{address}/enter")
            browser.fill("#name", "Odile Marsh")
            browser.fill("#password", PASSWORD)
            browser.press("main .first")
            for path in pages(people["Ewa Strand"].id):
                browser.go(address + path)
                serious += _told(path, found(browser, axe))
            for path in ("/days", f"/members/{people['Ewa Strand'].id}"):
                browser.go(address + path)
                browser.press("tbody th a")
                serious += _told(f"from {path}", found(browser, axe))
    return int(serious > 0)


def _told(path: str, faults: Iterator[tuple[str, str, str]]) -> int:
    serious = 0
    for impact, what, where in faults:
        print(f"{path}: {impact}: {what}: {where}")  # noqa: T201
        serious += impact in ("serious", "critical")
    return serious


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]).read_text(encoding="utf-8")))
