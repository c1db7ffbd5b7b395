"""Every room is used without a finger: Tab reaches all of it in reading order, Escape leaves."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from driver import SIZES, Driver, OpenApp, _parents
from entering import enter

from logbook_app.demo_logbook import demo_clock, throw_away_demo
from logbook_app.screens.key_walk import DOWN, ENTER, TAB, UP
from logbook_app.screens.rooms import DOORWAYS

MOST_STOPS = 400


@pytest.fixture(scope="module")
def demo() -> Iterator[Path]:
    """The demo logbook, to be thrown away."""
    with throw_away_demo() as path:
        yield path


@pytest.fixture
def app(open_app: OpenApp, demo: Path) -> Driver:
    return open_app(demo, at=demo_clock()())


def press_tab(app: Driver) -> Any:
    """Press Tab, and return where one stands."""
    app.window.dispatch("on_key_down", TAB, 0, None, [])
    return standing_at(app)


def standing_at(app: Driver) -> Any:
    written_in = [field for field in app.find_all(role="FocusBehavior") if field.focus]
    return written_in[0] if written_in else app.app._keys._at


def walk(app: Driver) -> list[Any]:
    """Press Tab until one is where one began; return every stop."""
    stops: list[Any] = []
    while (stop := press_tab(app)) not in stops:
        assert is_marked(app, stop), f"nothing shows where one stands: {stop}"
        stops.append(stop)
        assert len(stops) < MOST_STOPS
    assert stop is stops[0], f"the walk goes round without {stops[0]}"
    return stops


def is_marked(app: Driver, stop: Any) -> bool:
    """True where a frame is drawn around it, or its field has the focus and with that an edge of ink."""
    keys = app.app._keys
    return bool(getattr(stop, "focus", False)) or keys._frame in stop.canvas.after.children


def to_be_reached(app: Driver) -> list[Any]:
    """Return all that a finger can use; the rows of a long list are one stop."""
    found = [*app.find_all(role="ButtonBehavior"), *app.find_all(role="FocusBehavior")]
    return [
        widget
        for widget in found
        if not widget.disabled
        and widget.width
        and widget.height
        and not any(getattr(parent, "one_stop", False) for parent in _parents(widget))
    ]


def backwards(a: Any, b: Any) -> bool:
    """True where b stands above or left of a, and neither below nor right of it: read before it.

    Compared are the largest boxes that hold one of them and not the other.
    """
    line_a, line_b = [a, *_parents(a)][::-1], [b, *_parents(b)][::-1]
    fork = next(
        (at for at, (x, y) in enumerate(zip(line_a, line_b, strict=False)) if x is not y),
        min(len(line_a), len(line_b)) - 1,
    )
    box_a, box_b = line_a[fork], line_b[fork]
    return not (box_b.x >= box_a.right - 2 or box_b.top <= box_a.y + 2)


@pytest.mark.parametrize("room", DOORWAYS)
def test_tab_reaches_everything_once_in_reading_order(app: Driver, demo: Path, room: str) -> None:
    """On a desk; and Escape goes back from wherever one is."""
    enter(app, room, demo.parent)
    stops = walk(app)
    missed = [widget for widget in to_be_reached(app) if widget not in stops]
    assert not missed, missed
    wrong = [(a, b) for a, b in pairwise(stops) if backwards(a, b)]
    assert not wrong, wrong
    for _ in range(4):  # a sheet, a field or a part of the room may be closed first
        app.press_back()
        app.idle()
        if app.app.shell.rooms.current != room:
            break
    assert app.app.shell.rooms.current != room or room == "surface"


def test_the_list_is_one_stop_and_the_arrows_walk_in_it(app: Driver, demo: Path) -> None:
    """Down and up go from dive to dive, beyond what is seen at first; Enter opens the one."""
    enter(app, "logbook", demo.parent)
    while type(press_tab(app)).__name__ != "DiveRow":
        assert not app.find_all(role="DiveRow")[0].disabled
    first = standing_at(app).words.chosen
    listed = [line.chosen for line in app.find(role="DiveList").data[:30]]
    for _ in range(25):
        app.press_key(DOWN)
    assert standing_at(app).words.chosen == listed[listed.index(first) + 25]
    app.press_key(UP)
    wanted = standing_at(app).words.chosen
    assert wanted == listed[listed.index(first) + 24]
    app.press_key(ENTER)
    app.idle()
    assert app.app.shell.rooms.current == "dive"
    assert app.app.shell.rooms.room("dive").dive_id == wanted


def test_a_field_is_written_in_without_a_finger(open_app: OpenApp, demo: Path) -> None:
    """Tab comes to it and leaves it; Escape leaves the field before it leaves the room."""
    app = open_app(demo, at=demo_clock()(), size=SIZES["tablet"])
    enter(app, "logbook", demo.parent)
    while not getattr(press_tab(app), "focus", False):
        pass
    app.type("ledge")
    assert app.find(test_id="search").text == "ledge"
    app.press_back()
    assert not app.find(test_id="search").focus
    assert app.app.shell.rooms.current == "logbook"
