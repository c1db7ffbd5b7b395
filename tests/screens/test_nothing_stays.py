"""However often a page is opened, nothing of it stays: objects are counted, and what is bound to what.

Memory itself is measured in tests/benchmarks; the system hands it out in lumps, so that it says nothing
after a few openings. An object that stays is one for each of them, whatever else the machine does.
"""

from __future__ import annotations

import gc
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from driver import SIZES, Driver, OpenApp
from entering import asked, enter
from kivy.clock import Clock
from kivy.lang import builder

from logbook_app.demo_logbook import demo_clock, throw_away_demo
from logbook_app.language import SYSTEM
from logbook_app.screens.rooms import DOORWAYS

ROUNDS, VISITS = 3, 2  # the first round builds what is kept on purpose; two visits may take turns


@pytest.fixture(scope="module")
def demo() -> Iterator[Path]:
    """The demo logbook, to be thrown away."""
    with throw_away_demo() as path:
        yield path


@pytest.fixture
def app(open_app: OpenApp, demo: Path) -> Driver:
    return open_app(demo, at=demo_clock()(), size=SIZES["phone"])


def alive() -> Counter[str]:
    """Count what is alive of Kivy's and of ours, by kind; what is bound to a property is one of them."""
    gc.collect()
    gc.collect()  # what a destructor let go of
    kinds = (type(each) for each in gc.get_objects())
    found = Counter(
        kind.__qualname__ for kind in kinds if str(kind.__module__).startswith(("kivy", "logbook_app"))
    )
    found["rules that are bound"] = sum(
        len(bound) for rules in builder._handlers.values() for bound in rules.values()
    )
    found["events of the clock"] = len(list(Clock.get_events()))
    return found


def what_stays(app: Driver, visit: Callable[[], None]) -> dict[str, int]:
    """Return of which kinds there are more after each of some visits, and how many more.

    What Kivy makes late, when it is first asked for, is made once; what stays comes again and again.
    """
    counts = []
    for _ in range(ROUNDS):
        for _ in range(VISITS):
            visit()
        app.wait(1.2)  # bars fade, animations end
        counts.append(alive())
    first, second, third = counts
    more = {kind: (second[kind] - first[kind], third[kind] - second[kind]) for kind in third}
    return {kind: sum(grown) for kind, grown in more.items() if min(grown) >= VISITS}


def test_nothing_stays_of_the_rooms(app: Driver, demo: Path) -> None:
    """All of them and all pages, one after the other; each is scrolled."""

    def visit() -> None:
        for room in DOORWAYS:
            enter(app, room, demo.parent)
            for page in app.find_all(role="ScrollView"):
                page.scroll_y = 0.5 if page.scroll_y == 0.25 else 0.25
            app.frames(2)

    assert what_stays(app, visit) == {}


def test_nothing_stays_of_the_pages_of_dives(app: Driver) -> None:
    """Other dives in turn; the chart with all that it can show is scrubbed and zoomed, fields are opened."""
    dives = asked(app, lambda logbook: [row.id for row in logbook.rows() if not row.estimate])
    turn, page = iter(range(100)), app.app.shell.rooms.room("dive")

    def visit() -> None:
        app.app.open_dive(dives[next(turn) % 2])
        app.idle()
        page.ids.chart_card.ids.chips.chosen = ["temperature", "pressure", "ppo2", "load"]
        page.ids.chart_card.chart.scrub_s = 300.0
        page.ids.chart_card.chart.show_span(100.0, 700.0)
        for field in ("notes", "max_depth_m", "began_at", "cylinder.0"):
            page.edit(field)
            app.idle()
            assert page.ids.panel.editor is not None
        app.app.back()
        app.app.back()
        app.frames(2)

    assert what_stays(app, visit) == {}


def test_nothing_stays_of_the_sheets_of_the_logbook(app: Driver) -> None:
    """The filters, opened and put away."""
    room = app.app.go("logbook")
    app.idle()

    def visit() -> None:
        for sheet in ("date", "depth", "sites", ""):
            room.sheet = sheet
            app.idle()

    assert what_stays(app, visit) == {}


def test_nothing_stays_of_a_comparison(app: Driver) -> None:
    """Two dives laid over each other, and back to the choice."""
    pairs = asked(app, lambda logbook: logbook.buddies.likely(most=1))
    room = app.app.go("buddies")
    app.idle()

    def visit() -> None:
        room.compare([pairs[0].own.id, pairs[0].other.id])
        app.idle()
        app.app.back()
        app.idle()

    assert what_stays(app, visit) == {}


def test_nothing_stays_of_the_rooms_of_another_language(app: Driver, demo: Path) -> None:
    """Another language builds the rooms anew, and the ones before go; so it is with both themes."""
    turn = iter(range(100))

    def visit() -> None:
        number = next(turn)
        app.app._speak("de" if number % 2 else "en")
        app.app.shell.say_anew()
        app.app.look.wear("night" if number % 2 else "day")
        enter(app, "dive", demo.parent)

    try:
        assert what_stays(app, visit) == {}
    finally:
        app.app._speak(SYSTEM)
