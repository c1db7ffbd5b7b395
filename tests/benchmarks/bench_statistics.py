"""How fast ten thousand dives are added up, beside SQLite's own sums over the same rows.

    pytest tests/benchmarks/bench_statistics.py -o python_files='bench_*.py' -s -q

The bare sums are what one aggregate query of SQLite says: dives and minutes by year, by month and by
band of depths. Ours are all figures of the page, with the ids of the dives behind each, which SQLite
does not hand out. What samples tell is kept beside the dives by then, as it is from the second visit on.
"""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from side_by_side import median_ratio, report, say

from logbook_app.analysis.book_columns import book_columns
from logbook_app.analysis.book_statistics import Period, book_statistics
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Dive, Site
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR
from logbook_app.store.logbook_store import LogbookStore

DIVES = 10_000
NOW = datetime(2026, 11, 14, 12, tzinfo=UTC)
SUMS = (
    "SELECT count(*), sum(duration_min), max(duration_min), max(max_depth_m), min(lowest_temperature_c)"
    " FROM dives WHERE binned_at IS NULL AND diver = '' GROUP BY {part}"
)
PARTS = ("substr(began_at, 1, 4)", "substr(began_at, 6, 2)", "CAST(max_depth_m / 10 AS INT)", "site_version")


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook of invented dives over thirty years at forty sites."""
    made, chance = tmp_path_factory.mktemp("book") / "book.leadline", random.Random(11)
    sites = [Site.named(f"site {n}", latitude_deg=n / 2, longitude_deg=-n / 3) for n in range(40)]
    store = LogbookStore(made)
    store.save((dive, ()) for dive in _dives(chance, sites))
    store.close()
    return made


def _dives(chance: random.Random, sites: list[Site]) -> Iterator[Dive]:
    for number in range(DIVES):
        yield Dive(
            began_at=NOW - timedelta(days=30 * 365 * number / DIVES, minutes=chance.randrange(600)),
            duration_min=chance.uniform(20, 90),
            max_depth_m=chance.uniform(5, 55),
            mean_depth_m=chance.uniform(4, 25),
            lowest_temperature_c=chance.uniform(3, 28),
            number=number,
            site=chance.choice(sites),
            cylinders=(Cylinder(AIR, 12.0, 200.0, chance.uniform(40, 120)),),
            estimate=True,
        )


def test_all_figures_beside_bare_sums(path: Path) -> None:
    """From the file to every figure, as at the second visit after a change."""
    logbook = Logbook.open(path, now=lambda: NOW)
    found = logbook.book.statistics()  # works out once what only samples and cylinders tell
    assert found.dives == DIVES
    assert found.minute_volume
    bare = sqlite3.connect(path)

    def ours() -> None:
        logbook.book._columns = None
        logbook.book.statistics()

    def sums() -> None:
        for part in PARTS:
            bare.execute(SUMS.format(part=part)).fetchall()

    ratio, seconds = median_ratio(ours, sums, rounds=11)
    say(f"all figures of {DIVES:,} dives: {seconds * 1000:.0f} ms")
    report("statistics of 10,000 dives over SQLite's own sums", ratio, 8)
    bare.close()
    logbook.close()


def test_another_period_costs_no_second_reading(path: Path) -> None:
    """A touch on another period only adds up again."""
    store = LogbookStore(path)
    book, bare = book_columns(store.book_rows(), {}), sqlite3.connect(path)
    ratio, seconds = median_ratio(
        lambda: book_statistics(book, Period.LAST_12_MONTHS, NOW),
        lambda: bare.execute(SUMS.format(part=PARTS[0])).fetchall(),
        rounds=21,
    )
    say(f"another period: {seconds * 1000:.1f} ms")
    report("another period over one of SQLite's sums", ratio, 2)
    bare.close()
    store.close()
