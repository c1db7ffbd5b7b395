"""Speed of a push while a club's database grows, as ratios against a small one in the same run.

    make bench, or python -m pytest tests/benchmarks/bench_club_store.py -s

Both databases, each twice: with 10,000 dives and with many more. Pushes of 100 dives, of members drawn by
lot, go to one and to the other turn about, through all that the club decides and onto the disk; compared
is the median of what a push takes on the clock, because much of it is another process and the disk. The
dives are one club's in SQLite, and those of clubs of 50 members in PostgreSQL. 300,000 take two minutes
or so; LEADLINE_BENCH_DIVES=3000000 is the full size.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from club_dives import COLUMNS, OF_A_MEMBER, FullClubs, Written, demo_dives
from side_by_side import report, say

from logbook_app.sync.messages import Pushed
from server.database import Database
from server.sqlite_database import SqliteDatabase
from tests.server.own_postgresql import own_postgresql, why_not

FEW, MANY = 10_000, int(os.environ.get("LEADLINE_BENCH_DIVES", "300000"))
A_PUSH, PUSHES = 100, 60
MEMBERS = 50
KEPT_SAFE = {
    "fsync": "on", "full_page_writes": "on", "shared_buffers": "256MB", "autovacuum": "on",
    "max_wal_size": "4GB",
}  # fmt: skip


@pytest.fixture(scope="module")
def dives(tmp_path_factory: pytest.TempPathFactory) -> list[Written]:
    return demo_dives(tmp_path_factory.mktemp("demo"))


@pytest.fixture(params=["sqlite", "postgresql"])
def kind(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def opened(kind: str) -> Iterator[Callable[[], Database]]:
    """Return a function that makes a new database on the disk; the full size takes 7 GB of it."""
    numbers = count()
    with ExitStack() as stack:
        if kind == "sqlite":
            folder = Path(stack.enter_context(TemporaryDirectory()))
            yield lambda: SqliteDatabase(folder / f"{next(numbers)}.sqlite")
            return
        if why := why_not():
            pytest.skip(f"Left out on PostgreSQL: {why}")
        from server.postgresql_database import PostgresqlDatabase

        address = stack.enter_context(own_postgresql(**KEPT_SAFE))

        def make() -> Database:
            name = f"clubs_{next(numbers)}"
            PostgresqlDatabase(address).run(f"CREATE DATABASE {name}")
            return PostgresqlDatabase(address.replace("/postgres?", f"/{name}?"))

        yield make


def test_a_push_takes_as_long_with_many_dives_stored(kind, opened, dives):
    few, many = (loaded(kind, opened(), dives, dives_in_all) for dives_in_all in (FEW, MANY))
    if kind == "postgresql":
        tell_sizes(many)
    for clubs in (few, many):
        seconds_of_a_push(clubs)
    pairs = [(seconds_of_a_push(few), seconds_of_a_push(many)) for _ in range(PUSHES)]
    small, large = (sorted(times) for times in zip(*pairs, strict=True))
    say(f"{kind}: a push of {A_PUSH} with {FEW:,} dives {told(small)}, with {MANY:,} {told(large)}")
    ratio = statistics.median(large) / statistics.median(small)
    report(f"{kind}: a push with {MANY:,} dives stored against {FEW:,}", ratio, 1.3)


def loaded(kind: str, database: Database, dives: list[Written], many: int) -> FullClubs:
    clubs = FullClubs(database, dives, many, many if kind == "sqlite" else MEMBERS * OF_A_MEMBER)
    clubs.load()
    if kind == "postgresql":
        database.run("VACUUM ANALYZE")  # what it does by itself, a while after a load
        database.run("CHECKPOINT")
    return clubs


def seconds_of_a_push(clubs: FullClubs) -> float:
    club, push, caller = clubs.ask(*clubs.somebody(), A_PUSH)
    began = time.perf_counter()
    answer = club.answer(push, caller)
    seconds = time.perf_counter() - began
    assert isinstance(answer, Pushed)
    assert {judged.verdict for judged in answer.verdicts} == {"accepted"}
    return seconds


def told(times: list[float]) -> str:
    return f"{1000 * statistics.median(times):.0f} ms, 95th of 100 {1000 * times[len(times) * 95 // 100]:.0f}"


def tell_sizes(clubs: FullClubs) -> None:
    for table in COLUMNS:
        row = clubs.database.one(f"SELECT pg_table_size('{table}'), pg_indexes_size('{table}')")
        (lines,) = clubs.database.one(f"SELECT count(*) FROM {table}")  # noqa: S608
        rows, keys = (size / lines for size in row)
        say(f"{table}: {rows:.0f} bytes a row, its keys {keys:.0f}")
