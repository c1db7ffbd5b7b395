"""Speed of the search, as ratios against the bare query of the index in the same run.

    make bench, or python -m pytest tests/benchmarks/bench_search.py -s

The baseline is the least that can be done for a key: SQLite's full-text index is asked for the numbers
of the dives that match, and they are fetched. Ours is all that a diver waits for: words folded, the index
asked, the answer filtered, sorted, parted and summed, and the lines of one screen put into words. In the
room comes what its filters say and the way to the worker and back. Over 10,000 dives, key after key, as
somebody types; processor time, turn about.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from itertools import accumulate
from pathlib import Path
from typing import Any

import pytest
from side_by_side import many, median_ratio, report

from logbook_app.analysis.dive_filter import DiveFilter, DiveOrder, Grouping
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Dive, Site
from logbook_app.dive.search_words import asked_words
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.screens.logbook_lines import FoundLines
from logbook_app.store.search_index import matching

sys.path.insert(0, str(Path(__file__).parents[1] / "screens"))

DIVES = 10_000
FIRST_DIVE = datetime(1990, 1, 1, tzinfo=UTC)
ON_A_SCREEN = 16
# What is typed, key by key: a word in a seventh of the dives, one in all, one that is rare, two, and none.
TYPED = ("wreck", "sound", "balu", "wreck ledge", "xylo")
FIRST_KEYS = [text for typed in TYPED for text in accumulate(typed) if text.strip() == text]


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook of 10,000 dives, each with thirty words of notes."""
    path = tmp_path_factory.mktemp("search") / "many.leadline"
    with closing(Logbook.open(path)) as logbook:
        logbook.keep_dives(list(invented_dives()))
        logbook.catalogue()  # the small pictures are drawn once in the life of a logbook
    return path


def invented_dives() -> Iterator[Dive]:
    """Yield dives nobody made; the last few alone are in the load of the day."""
    chance = random.Random(1)
    words = ["".join(_syllable(chance) for _ in range(chance.randint(2, 4))) for _ in range(3000)]
    for number in range(DIVES):
        yield Dive(
            id=f"{number:032x}",
            began_at=FIRST_DIVE + timedelta(hours=30 * number, days=40 * (number > DIVES - 10)),
            duration_min=40.0 + number % 30,
            max_depth_m=10.0 + number % 30,
            number=number,
            site=Site.named(f"{words[number % 371].title()} Ledge", region="Gannet Sound"),
            buddies=(words[number % 97].title(),),
            cylinders=(Cylinder(AIR if number % 3 else BreathingGas(0.32)),),
            notes=" ".join(chance.choices(words, k=30)),
            tags=("wreck",) if number % 7 == 0 else (),
            trip=words[number // 9 % 500].title() if number % 2 else "",
        )


def _syllable(chance: random.Random) -> str:
    return chance.choice("bcdfglmnprstv") + chance.choice("aeiou")


def bare_query(logbook: Logbook) -> Callable[[], None]:
    """Return what asks the index alone, key after key."""
    connection = logbook._store._connection
    asked = [matching(asked_words(text)) for text in FIRST_KEYS]
    query = "SELECT rowid FROM dive_word_index WHERE dive_word_index MATCH ?"

    def ask() -> None:
        for each in asked:
            connection.execute(query, [each]).fetchall()

    return ask


@pytest.mark.parametrize("grouping", list(Grouping))
def test_search_as_somebody_types(path: Path, grouping: Grouping) -> None:
    with closing(Logbook.open(path)) as logbook:

        def search() -> None:
            for text in FIRST_KEYS:
                found = logbook.find_dives(DiveFilter(text=text), DiveOrder.NEWEST, grouping)
                FoundLines(found, SpokenUnits(), narrow=False)[:ON_A_SCREEN]

        search()
        ratio, seconds = median_ratio(search, bare_query(logbook), rounds=15)
        report(f"search, groups {grouping}, {seconds / len(FIRST_KEYS) * 1e3:.2f} ms a key", ratio, 5)


def test_every_filter_at_once(path: Path) -> None:
    """Filters beside the words cost next to nothing."""
    with closing(Logbook.open(path)) as logbook:
        catalogue = logbook.catalogue()
        wanted = DiveFilter(
            "wreck",
            first_day=datetime(1995, 1, 1, tzinfo=UTC).date(),
            least_m=20.0,
            sites=tuple(row.site for row in catalogue.rows[:20]),
            gases=("air", "nitrox 32"),
            tags=("wreck",),
        )
        bare = bare_query(logbook)
        logbook.find_dives(wanted, DiveOrder.DEEPEST, Grouping.YEAR)
        times = len(FIRST_KEYS)
        ratio, _seconds = median_ratio(
            many(times, lambda: logbook.find_dives(wanted, DiveOrder.DEEPEST, Grouping.YEAR)), bare, rounds=15
        )
        report("every filter, sorted and parted, against a bare query", ratio, 5)


def test_search_in_the_room(path: Path) -> None:
    """From the key to the lines in the list, over the worker and back, before they are drawn."""
    from driver import Driver, set_environment, why_no_window

    set_environment()
    if why := why_no_window():
        pytest.skip(why)
    driver = Driver()
    room = _room(driver, path)
    with closing(Logbook.open(path)) as logbook:

        def search() -> None:
            for text in FIRST_KEYS:
                before = room._list.data
                room.searched = text
                while room._list.data is before:
                    time.sleep(0.0002)  # who waits does no work
                    driver.kivy_clock.tick()
                room._list.data[:ON_A_SCREEN]

        search()
        ratio, seconds = median_ratio(search, bare_query(logbook), rounds=9)
        driver.stop()
        report(f"search in the room, {seconds / len(FIRST_KEYS) * 1e3:.2f} ms a key", ratio, 5)


def _room(driver: Any, path: Path) -> Any:
    """Open the app in the Logbook room; of the rest of it nothing is drawn."""
    from logbook_app.screens.app import LeadlineApp

    app = LeadlineApp(lambda: Logbook.open(path), driver.clock, builds_ahead=False)
    driver.start(app)
    driver.idle()
    driver.tap(test_id="rail-logbook")
    driver.idle()
    driver.idle()
    return app.shell.rooms.room("logbook")
