"""Finding dives in the Logbook room: with real touches, on a tablet and on a phone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from driver import SIZES, Driver, OpenApp
from logbook_of_trips import (
    close_sheet,
    listed,
    logbook_of_trips,
    look_for,
    open_sheet,
    row_of,
    settle,
    touch,
)

from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.screens.filter_lines import stepped_m


@pytest.fixture(params=list(SIZES))
def room(request: pytest.FixtureRequest, open_app: OpenApp, tmp_path: Path) -> Driver:
    """The Logbook room at each size of window."""
    return in_the_room(open_app(logbook_of_trips(tmp_path), size=SIZES[request.param]))


@pytest.fixture
def phone(open_app: OpenApp, tmp_path: Path) -> Driver:
    """The Logbook room where there is least room for it."""
    return in_the_room(open_app(logbook_of_trips(tmp_path), size=SIZES["phone"]))


def in_the_room(driver: Driver) -> Driver:
    driver.tap(test_id="rail-logbook")
    settle(driver)
    return driver


def said(driver: Driver, test_id: str) -> str:
    """Return what one label says, empty where it does not show."""
    return "".join(label.text for label in driver.find_all(test_id=test_id))


def test_words_are_found_as_they_are_written(room: Driver) -> None:
    """Each key narrows the list; accents and case do not matter; the field's key empties it."""
    assert listed(room) == "f e d c b a"
    look_for(room, "GANN")
    assert listed(room) == "d c a"  # the trip Gannock, and twice the ledge
    assert said(room, "counts") == "3 of 6 dives · 2 h 15 min"
    assert said(room, "filtered") == "Only dives with “GANN” in them."
    look_for(room, "et")
    assert listed(room) == "c a"
    room.tap(test_id="search-empty")
    settle(room)
    assert listed(room) == "f e d c b a"
    assert said(room, "filtered") == ""


def test_what_is_filtered_by_several_is_said_and_cleared_with_one_touch(room: Driver) -> None:
    """Words, a name of each of two kinds, and a depth: all of them hold."""
    look_for(room, "wreck")
    open_sheet(room, "gases")
    room.tap(row_of(room, "nitrox 32"))
    settle(room)
    close_sheet(room)
    assert listed(room) == "d b"
    open_sheet(room, "depth")
    touch(room, "deeper-30")
    close_sheet(room)
    assert listed(room) == "b"
    assert said(room, "filtered") == "Only dives with “wreck” in them, 30 m or deeper, on nitrox 32."
    room.tap(test_id="clear-filter")
    settle(room)
    assert listed(room) == "f e d c b a"
    assert said(room, "filtered") == ""
    assert room.find(test_id="search").text == ""


@pytest.mark.parametrize(
    ("sheet", "name", "ids"),
    [
        ("sites", "Gännet Ledge", "c a"),
        ("buddies", "Tom", "e b"),
        ("tags", "wreck", "d b"),
        ("trips", "Gannock", "d"),
    ],
)
def test_names_are_chosen_with_a_touch_and_let_go_with_another(
    phone: Driver, sheet: str, name: str, ids: str
) -> None:
    open_sheet(phone, sheet)
    phone.tap(row_of(phone, name))
    settle(phone)
    assert row_of(phone, name).words.mark == "on"
    assert listed_behind(phone) == ids
    phone.tap(row_of(phone, name))
    settle(phone)
    assert listed_behind(phone) == "f e d c b a"
    phone.tap(row_of(phone, name))
    settle(phone)
    phone.tap(test_id="sheet-any")
    settle(phone)
    assert listed_behind(phone) == "f e d c b a"


def listed_behind(driver: Driver) -> str:
    """Return what the list holds while a sheet is in front of it."""
    return " ".join(line.chosen[:1] for line in driver.app.shell.rooms.room("logbook")._list.data)


def listed_after(driver: Driver) -> str:
    close_sheet(driver)
    return listed(driver)


def test_a_kind_without_names_says_what_to_do(phone: Driver) -> None:
    open_sheet(phone, "kit")
    assert phone.says("No dive has kit yet.")


def test_days_are_touched_in_a_month(room: Driver) -> None:
    """From the tenth of May 2026; and the last twelve months by one chip."""
    open_sheet(room, "days")
    touch(room, "span-365")
    assert listed_behind(room) == "f e d"
    touch(room, "span-365")
    assert listed_behind(room) == "f e d c b a"
    for _ in range(7):
        touch(room, "month-earlier")
    touch(room, "month-later")
    touch(room, "day-2026-05-10")
    assert listed_after(room) == "f e"
    assert said(room, "filtered") == "Only dives from 10 May 2026."


def test_the_last_day_brings_the_first_with_it(phone: Driver) -> None:
    """A span never ends before it begins, and the year is a step away."""
    open_sheet(phone, "days")
    touch(phone, "span-this")
    touch(phone, "end-last")
    touch(phone, "year-less")
    first = phone.app.shell.rooms.room("logbook")._filter_sheet.ids.month.first
    assert (first.year, first.month) == (2025, 12)
    for _ in range(6):
        touch(phone, "month-earlier")
    touch(phone, "day-2025-06-01")
    assert listed_after(phone) == "b a"
    assert said(phone, "filtered") == "Only dives on 1 Jun 2025."


def test_depths_are_stepped(phone: Driver) -> None:
    open_sheet(phone, "depth")
    touch(phone, "least-more")
    touch(phone, "least-more")
    touch(phone, "most-more")
    for _ in range(4):
        touch(phone, "most-more")
    assert listed_after(phone) == "d"
    assert said(phone, "filtered") == "Only dives 19 m to 22 m deep."


def test_steps_are_in_the_divers_unit() -> None:
    """A metre, or five feet; below the first and above the last there is no bound."""
    metric, imperial = SpokenUnits("metric"), SpokenUnits("imperial")
    assert [stepped_m(None, "least_m", 1, metric), stepped_m(18.0, "least_m", 1, metric)] == [18.0, 19.0]
    assert stepped_m(1.0, "least_m", -1, metric) is None
    assert stepped_m(350.0, "most_m", 1, metric) is None
    assert stepped_m(18.288, "least_m", 1, imperial) == pytest.approx(65 * 0.3048)


def test_whose_dives(phone: Driver) -> None:
    open_sheet(phone, "whose")
    phone.tap(test_id="whose-others")
    settle(phone)
    assert listed_after(phone) == "f"
    assert said(phone, "counts") == "1 of 6 dives"


def test_none_fits_says_what_to_do(phone: Driver) -> None:
    look_for(phone, "zebrafish")
    assert phone.says("No dive fits")
    phone.tap(test_id="show-all")
    settle(phone)
    assert listed(phone) == "f e d c b a"
    assert not phone.find_all(test_id="none-fits")


@pytest.mark.parametrize(
    ("order", "ids"),
    [
        ("oldest", "a b c d e f"),
        ("deepest", "f e b d c a"),
        ("number", "a b c d e f"),
        ("site", "c a f b d e"),
    ],
)
def test_order(phone: Driver, order: str, ids: str) -> None:
    phone.tap(test_id="chip-order")
    settle(phone)
    touch(phone, f"order-{order}")
    assert listed_after(phone) == ids


def test_order_and_groups_are_remembered_over_a_restart(open_app: OpenApp, tmp_path: Path) -> None:
    path = logbook_of_trips(tmp_path)
    room = in_the_room(open_app(path))
    room.tap(test_id="chip-order")
    settle(room)
    room.tap(test_id="order-oldest")
    settle(room)
    close_sheet(room)
    room.tap(test_id="chip-grouping")
    settle(room)
    room.tap(test_id="grouping-trip")
    settle(room)
    before = listed_after(room)
    assert before.startswith("Sorvane a")
    room.stop()
    assert listed(in_the_room(open_app(path))) == before


def test_groups_stand_under_headings_with_their_sums(room: Driver) -> None:
    room.tap(test_id="chip-grouping")
    settle(room)
    room.tap(test_id="grouping-trip")
    settle(room)
    assert listed_after(room) == "Gannock d Sorvane c b a Of no trip f e"
    heading = row_of(room, "Sorvane")
    assert heading.words.line == "3 dives · 2 h 00 min under water"
    assert (heading.words.depth, heading.words.time) == ("31.0 m", "deepest")
    x, y = heading.to_window(*heading.center)
    finger = room.finger(x, y)
    finger.down()
    finger.up()
    settle(room)
    assert room.app.shell.rooms.current == "logbook"  # a heading opens nothing
    room.tap(test_id="chip-grouping")
    settle(room)
    room.tap(test_id="grouping-year")
    settle(room)
    assert listed_after(room) == "2026 f e d 2025 c b a"
    assert row_of(room, "2026").words.line == "2 dives · 1 h 10 min under water · and 1 by other divers"


def test_dive_under_headings_opens_and_the_list_is_as_it_was(phone: Driver) -> None:
    phone.tap(test_id="chip-grouping")
    settle(phone)
    phone.tap(test_id="grouping-year")
    settle(phone)
    close_sheet(phone)
    phone.tap(row_of(phone, "d"))
    settle(phone)
    assert phone.find(test_id="dive-title").text == "Dive 4 · Winch Terrace"
    phone.press_back()
    settle(phone)
    assert listed(phone) == "2026 f e d 2025 c b a"


def test_back_closes_the_sheet_first(phone: Driver) -> None:
    open_sheet(phone, "sites")
    phone.press_back()
    assert not phone.find_all(test_id="sheet-done")
    assert phone.app.shell.rooms.current == "logbook"


def test_a_new_dive_is_found_by_the_search_that_stands(phone: Driver) -> None:
    """Another change of the logbook does not undo the search."""
    look_for(phone, "kelp")
    assert listed(phone) == "f d a"
    phone.app.ask(lambda logbook: logbook.delete_dive("d" * 32), then=phone.app.changed)
    settle(phone)
    assert listed(phone) == "f a"
    assert phone.find(test_id="search").text == "kelp"


def test_fast_typing_ends_with_what_was_typed(phone: Driver) -> None:
    """Keys come faster than answers: the last word counts."""
    phone.tap(test_id="search")
    for letter in "gannock":
        phone.window.dispatch("on_textinput", letter)
    settle(phone)
    assert listed(phone) == "d"


@pytest.mark.parametrize("text_scale", [1.0, 1.3, 2.0])
def test_every_sheet_fits_its_window(open_app: OpenApp, tmp_path: Path, text_scale: float) -> None:
    """Nothing is clipped and nothing too small, whatever is open, at any size."""
    driver = open_app(logbook_of_trips(tmp_path), text_scale=text_scale)
    driver.tap(test_id="rail-logbook")
    look_for(driver, "kelp")
    room: Any = driver.app.shell.rooms.room("logbook")
    for sheet in ("", "filter", "days", "depth", "sites", "kit", "whose", "order", "grouping"):
        room.sheet = sheet
        settle(driver)
        for _ in driver.at_each_size():
            assert driver.misfits() == [], sheet
