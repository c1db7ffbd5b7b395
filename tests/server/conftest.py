"""Both databases for every test that asks for one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count
from typing import Any

import pytest

from server.club_home import ClubHome
from server.database import Database
from server.sqlite_database import SqliteDatabase
from tests.server.own_postgresql import own_postgresql, why_not

OpenDatabase = Callable[[], Database]
OpenHome = Callable[..., ClubHome]
_names = count()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Where there is no PostgreSQL say so once, for all tests that need it."""
    needing = [item for item in items if _needs_postgresql(item)]
    if needing and (why := why_not()):
        needing[0].add_marker(pytest.mark.skip(reason=f"{len(needing)} tests on PostgreSQL left out: {why}"))
        config.hook.pytest_deselected(items=needing[1:])
        items[:] = [item for item in items if item not in needing[1:]]


def _needs_postgresql(item: pytest.Item) -> bool:
    params = getattr(getattr(item, "callspec", None), "params", {})
    return "postgresql" in getattr(item, "fixturenames", ()) or params.get("kind") == "postgresql"


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """The address of a PostgreSQL server of this session's own."""
    with own_postgresql() as address:
        yield address


@pytest.fixture
def new_address(postgresql) -> str:
    """The address of an empty PostgreSQL database."""
    import psycopg

    name = f"test_{next(_names)}"
    with psycopg.connect(postgresql, autocommit=True) as connection:
        connection.execute(f"CREATE SCHEMA {name}")
    return f"{postgresql}&options=-csearch_path%3D{name}"


@pytest.fixture(params=["sqlite", "postgresql"])
def kind(request) -> str:
    """Which database."""
    return str(request.param)


@pytest.fixture
def open_home(kind, request, tmp_path) -> Iterator[OpenHome]:
    """Return a function that opens a club at home, new at first, as often as it is called."""
    opened: list[ClubHome] = []
    in_a_file = kind == "sqlite"

    def open_one(**options: Any) -> ClubHome:
        database = None if in_a_file else request.getfixturevalue("open_database")()
        opened.append(ClubHome(tmp_path / "club", database=database, **options))
        return opened[-1]

    yield open_one
    for home in opened:
        home.close()


@pytest.fixture
def open_database(kind, request, tmp_path) -> Iterator[OpenDatabase]:
    """Return a function that opens the test's database, new at first, as often as it is called."""
    opened: list[Database] = []
    if kind == "sqlite":
        connect: OpenDatabase = lambda: SqliteDatabase(tmp_path / "clubs.sqlite")  # noqa: E731
    else:
        from server.postgresql_database import PostgresqlDatabase

        address = request.getfixturevalue("new_address")
        connect = lambda: PostgresqlDatabase(address)  # noqa: E731

    def open_one() -> Database:
        opened.append(connect())
        return opened[-1]

    yield open_one
    for database in opened:
        database.close()
