"""Roster and matrix of a club full of dives beside those of one with as many members and none.

    make bench, or python -m pytest tests/benchmarks/bench_club_pages.py -s

500 members with 100 shown dives each; LEADLINE_BENCH_SHOWN=500 is the full size, 250,000 dives. The first
visit of a day works out what is kept for the others, page by page, and is told apart. Compared is the 95th
percentile of the time on the clock, because much of it is the database.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from side_by_side import report, say

from logbook_app.dive.record import Dive, Site
from logbook_app.sync.changes import EVERYBODY
from logbook_app.sync.merging import Edit, Field
from logbook_app.sync.records import values_from
from logbook_app.sync.shown_dives import PARTS, shown_dive, shown_name
from server.club_home import ClubHome
from server.roles import Role
from tests.server.visitor import Visitor, come_in

MEMBERS, SHOWN = 500, int(os.environ.get("LEADLINE_BENCH_SHOWN", "100"))
VISITS = 60
TARGET = 3.0
PAGES = ("/members?page=3", "/progress?set=cmas-2&page=5")
NOW = datetime(2031, 6, 15, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def clubs(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Visitor]]:
    folder = tmp_path_factory.mktemp("clubs")
    with closing(_opened(folder / "empty")) as empty, closing(_opened(folder / "large")) as large:
        _fill(large, SHOWN)
        _fill(empty, 0)
        began = time.perf_counter()
        yield {"empty": come_in(empty, "Odile", Role.ADMIN), "large": come_in(large, "Odile", Role.ADMIN)}
        say(f"from the first visit on {time.perf_counter() - began:.1f} s")


def _opened(folder: Path) -> ClubHome:
    return ClubHome(folder, lambda: int(NOW.timestamp() * 1000))


def _fill(home: ClubHome, shown: int) -> None:
    store, stamp = home.store, "01a0c4506c000002"
    for number in range(MEMBERS):
        with store.change():
            member = home.accounts.add_member(f"Member {number:03d}")
            for dive in range(shown):
                values = _values(number, dive)
                fields = values.items()
                record = {name: Field((Edit(f"a.1.{0:016x}", stamp, each),)) for name, each in fields}
                key = f"{member.id}/{shown_name(f'{number:06x}{dive:026x}')}"
                store.put_record(key, record, frozenset({member.id, EVERYBODY}), 0)


def _values(number: int, each: int) -> dict[str, Any]:
    dive = Dive(
        began_at=NOW - timedelta(days=each, hours=number % 9),
        duration_min=30.0 + each % 25,
        max_depth_m=8.0 + (each * 7 + number) % 30,
        site=Site.named("Lantern Wall"),
    )
    return {**values_from(shown_dive(dive, "", PARTS, None)), "readers": [EVERYBODY]}


def _waits_ms(visitor: Visitor, page: str) -> list[float]:
    waits = []
    for _visit in range(VISITS):
        began = time.perf_counter()
        visitor.answered(page)
        waits.append((time.perf_counter() - began) * 1000)
    return waits


@pytest.mark.parametrize("page", PAGES)
def test_a_page_of_a_full_club_beside_that_of_an_empty_one(clubs, page):
    began = time.perf_counter()
    clubs["large"].answered(page)
    first_s = time.perf_counter() - began
    waits = {name: _waits_ms(visitor, page) for name, visitor in clubs.items()}
    slowest = {name: statistics.quantiles(each, n=20)[-1] for name, each in waits.items()}
    say(f"{page}: first visit of the day {first_s:.2f} s; then {slowest['large']:.1f} ms")
    say(f"the same without dives: {slowest['empty']:.1f} ms")
    what = f"{page}, {MEMBERS} members with {MEMBERS * SHOWN:,} dives, over none"
    report(what, slowest["large"] / slowest["empty"], TARGET)
