"""One of several processes that answer for a club: how each opens it for itself.

Nothing of a club lives in a process: the database keeps it, its row is the lock, the ledger is a file that
all of them read. What a process counts for itself is its limits and its figures.
"""

from __future__ import annotations

import json
import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Final

from fastapi import FastAPI

from server.app import ClubApp, make_app
from server.club_home import ClubHome
from server.opening import database_at

APP: Final = "server.worker:app"
PASSED_ON: Final = "LEADLINE_WORKER"


def pass_on(folder: Path, database: str | None, number: int, name: str) -> None:
    """Tell the processes that are about to be started which club it is."""
    os.environ[PASSED_ON] = json.dumps([str(folder), database, number, name])


def app() -> ClubApp:
    """Return the app of the club that was passed on; when it ends, it closes the club."""
    folder, database, number, name = json.loads(os.environ[PASSED_ON])
    home = ClubHome(Path(folder), database=database_at(database), number=number)
    made = make_app(home, name)
    before = made.router.lifespan_context

    @asynccontextmanager
    async def until_closed(app: FastAPI) -> AsyncIterator[None]:
        async with before(app):
            yield
        home.close()

    made.router.lifespan_context = until_closed
    return made
