"""What answers in each process of the server: the app of one club, or of all of a database by their hosts.

Nothing of a club lives in a process: the database keeps it, its row is the lock, the ledger is a file that
all of them read. What a process counts for itself is its limits and its figures.
"""

from __future__ import annotations

import json
import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, closing
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from fastapi import FastAPI

from server.app import make_app
from server.by_host import ByHost
from server.club_home import ClubHome
from server.opening import database_at
from server.sql_club import hosts

APP: Final = "server.worker:passed_on"
PASSED_ON: Final = "LEADLINE_WORKER"


@dataclass(frozen=True)
class Serving:
    """What is to be served.

    number      of the club, None for all of the database by their hosts
    name        of the club, or of one that has no other
    open_clubs  that are kept open, where there are several
    """

    folder: str
    database: str | None
    number: int | None
    name: str
    open_clubs: int

    def app(self) -> Any:
        """Return what answers."""
        if self.number is None:
            return ByHost(self._hosts, self._club, self.open_clubs)
        return self._club(self.number, self.name)

    def _hosts(self) -> dict[str, tuple[int, str]]:
        database = database_at(self.database)
        if database is None:
            return {}
        with closing(database):
            return hosts(database)

    def _club(self, number: int, name: str) -> FastAPI:
        """Return the app of a club, which closes the club when it ends."""
        home = ClubHome(Path(self.folder), database=database_at(self.database), number=number)
        home.catch_up()
        app = make_app(home, name or self.name)
        before = app.router.lifespan_context

        @asynccontextmanager
        async def until_closed(app: FastAPI) -> AsyncIterator[None]:
            async with before(app):
                yield
            home.close()

        app.router.lifespan_context = until_closed
        return app


def pass_on(serving: Serving) -> None:
    """Tell the processes that are about to be started what to serve."""
    os.environ[PASSED_ON] = json.dumps(asdict(serving))


def passed_on() -> Any:
    """Return the app that this process was told to serve."""
    return Serving(**json.loads(os.environ[PASSED_ON])).app()
