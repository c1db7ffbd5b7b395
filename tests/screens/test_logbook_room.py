"""The Logbook room: the list, what its rows say, ten thousand of them, the deleted dives."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from driver import ON_THE_DOCK, Driver, OpenApp

from logbook_app.analysis.dive_catalogue import Sums
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.record import Site
from logbook_app.logbook import DiveRow, Logbook
from logbook_app.screens.logbook_lines import RowWords, binned_words, row_words, spoken_hours, sums_words

METRIC, IMPERIAL = SpokenUnits("metric"), SpokenUnits("imperial")
BEGAN = datetime.fromisoformat("2026-11-14T11:05:00+01:00")


def row(**changes: Any) -> DiveRow:
    """Return a row as the logbook gives it."""
    usual: dict[str, Any] = {
        "id": "a",
        "number": 214,
        "diver": "",
        "began_local": BEGAN,
        "duration_min": 47.0,
        "max_depth_m": 28.4,
        "site": "Heron Ledge",
        "buddies": ("Imke R.",),
        "gas": "air",
        "estimate": False,
        "outline": bytes([0, 255, 0]),
    }
    return DiveRow(**(usual | changes))


def three_dives(folder: Path) -> Path:
    """Return a logbook with three hand entries, the newest at Otter Steps."""
    path = folder / "three.leadline"
    logbook = Logbook.open(path, now=lambda: ON_THE_DOCK)
    for days_ago, site in ((9, "Heron Ledge"), (8, "Winch Terrace"), (1, "Otter Steps")):
        logbook.add_by_hand(
            HandEntry(
                began_local=ON_THE_DOCK - timedelta(days=days_ago),
                duration_min=40,
                max_depth_m=18.0 + days_ago,
                site=Site.named(site),
                buddies=("Imke R.",),
            )
        )
    logbook.close()
    return path


@pytest.fixture
def three(open_app: OpenApp, tmp_path: Path) -> Driver:
    """The app in the Logbook room with three dives in it."""
    return in_logbook(open_app(three_dives(tmp_path)))


def in_logbook(driver: Driver) -> Driver:
    """Go to the Logbook room and wait for its rows."""
    driver.tap(test_id="rail-logbook")
    driver.idle()
    return driver


def shown_rows(driver: Driver) -> list[Any]:
    """Return the row widgets on the screen, the upper first."""
    return sorted(driver.find_all(role="DiveRow"), key=lambda widget: -widget.y)


# What the rows say


def test_row_says_number_site_date_buddies_depth_and_time() -> None:
    """A diver finds the dive by any of them."""
    words = row_words(row(), METRIC, narrow=False)
    assert (words.site, words.depth, words.time) == ("Heron Ledge", "28.4 m", "47 min")
    assert words.line == "214 · Sat 14 Nov 2026, 11:05 · with Imke R."
    assert row_words(row(), IMPERIAL, narrow=True).depth == "93 ft"
    assert row_words(row(), METRIC, narrow=True).line == "214 · 14 Nov 2026 · with Imke R."


def test_row_of_a_hand_entry_says_estimate() -> None:
    """An estimate is marked wherever it shows."""
    assert "estimate" in row_words(row(estimate=True), METRIC, narrow=True).line


def test_row_leaves_out_what_nobody_wrote_down() -> None:
    """No number, no site, no buddies: no empty separators, and another diver's dive says whose it is."""
    words = row_words(row(number=None, site="", buddies=(), diver="Imke R."), METRIC, narrow=True)
    assert (words.site, words.line) == ("No site written down", "14 Nov 2026 · dive of Imke R.")


def test_counts_are_of_the_divers_own_dives() -> None:
    """Dives of buddies are kept apart: they give no experience."""
    assert (
        sums_words(Sums(2, 94.0, 28.4, others=1))
        == "2 dives · 1 h 34 min under water · and 1 by other divers"
    )
    assert sums_words(Sums(1, 47.0, 28.4)) == "1 dive · 0 h 47 min under water"
    assert spoken_hours(60 * 1234 + 5) == "1\u202f234 h 05 min"


def test_deleted_dive_says_when_it_was_deleted_where_it_was_dived(tmp_path: Path) -> None:
    """By the clock of the dive's own place: 23:30 UTC is the next day at UTC+1."""
    logbook = Logbook.open(tmp_path / "l.leadline", now=lambda: ON_THE_DOCK)
    dive, _ = logbook.add_by_hand(HandEntry(began_local=BEGAN, duration_min=47, max_depth_m=20))
    logbook.close()
    words = binned_words(dive, datetime.fromisoformat("2026-11-14T23:30:00+00:00"), METRIC)
    assert (words.action, words.time) == ("Restore", "deleted 15 Nov")


# The list on the window


def test_newest_dive_is_at_the_top(three: Driver) -> None:
    """The list begins with the last dive, and says how many there are."""
    assert [widget.words.site for widget in shown_rows(three)] == [
        "Otter Steps",
        "Winch Terrace",
        "Heron Ledge",
    ]
    assert three.find(test_id="counts").text == "3 dives · 2 h 00 min under water"


def test_tap_opens_the_dive_and_back_returns(three: Driver) -> None:
    """The page of the tapped dive, then the list again."""
    three.tap(shown_rows(three)[1])
    three.idle()
    assert three.find(test_id="dive-title").text == "Dive 2 · Winch Terrace"
    three.press_back()
    assert len(shown_rows(three)) == 3


def test_finger_on_the_seam_between_two_rows_chooses_neither(three: Driver) -> None:
    """A wet finger between two dives opens no wrong one."""
    upper = shown_rows(three)[0]
    x, y = upper.to_window(upper.center_x, upper.y + 1)
    finger = three.finger(x, y)
    finger.down()
    three.frames(2)
    finger.up()
    three.frames(15)
    assert three.app.shell.rooms.current == "logbook"


def test_empty_logbook_says_what_to_do(app: Driver) -> None:
    """No empty list: two ways to begin."""
    in_logbook(app)
    assert app.says("No dive in the logbook yet")
    app.tap(test_id="write-first")
    assert app.app.shell.rooms.current == "record"


def test_deleted_dive_can_be_restored(three: Driver) -> None:
    """Deleted on its page, listed under Deleted, back with one tap."""
    three.tap(shown_rows(three)[0])
    three.idle()
    three.tap(test_id="delete")
    three.idle()
    three.idle()  # the room asks again once it has heard of it
    assert three.says("Dive 3 · Otter Steps is deleted.")
    assert [widget.words.site for widget in shown_rows(three)] == ["Winch Terrace", "Heron Ledge"]
    assert three.find(test_id="other-list").text == "Deleted (1)"
    three.tap(test_id="other-list")
    three.frames(3)
    (binned,) = shown_rows(three)
    assert binned.words.action == "Restore"
    three.tap(binned)
    three.idle()
    three.idle()
    assert three.says("Dive 3 is back in the logbook.")
    assert shown_rows(three)[0].words.site == "Otter Steps"
    assert not three.find_all(test_id="other-list")


def test_back_leaves_the_deleted_dives_first(three: Driver) -> None:
    """Back goes from the deleted dives to the list, not out of the room."""
    dive_id = shown_rows(three)[0].words.chosen
    three.app.ask(lambda logbook: logbook.delete_dive(dive_id), then=three.app.changed)
    three.idle()
    three.idle()
    three.tap(test_id="other-list")
    assert three.says("Deleted dives")
    three.press_back()
    assert three.app.shell.rooms.current == "logbook"
    assert three.says("Logbook")
    assert len(shown_rows(three)) == 2


@pytest.mark.parametrize("text_scale", [1.0, 1.3, 2.0])
def test_room_fits_its_window(open_app: OpenApp, tmp_path: Path, text_scale: float) -> None:
    """Nothing is clipped, nothing too small for a finger, at any size."""
    driver = in_logbook(open_app(three_dives(tmp_path), text_scale=text_scale))
    for width, _height in driver.at_each_size():
        assert driver.misfits() == []
        for widget in shown_rows(driver):
            assert widget.height - 8 >= 56
            assert widget.width <= width


# Ten thousand rows


def many(count: int) -> list[RowWords]:
    """Return the words of this many dives."""
    return [
        RowWords(str(at), f"Ledge {at % 371}", f"{at} · 14 Nov 2026", f"{at % 60}.0 m", f"{at % 90} min")
        for at in range(count)
    ]


@pytest.fixture
def dive_list(app: Driver) -> Any:
    """The list of the Logbook room with nothing in it yet."""
    in_logbook(app)
    return app.app.shell.rooms.room("logbook").ids.dives


def visible_words(driver: Driver) -> list[RowWords]:
    """Return what the rows on the screen say, and see that each says it where it stands."""
    rows = shown_rows(driver)
    listed = rows[0].parent if rows else None
    for widget in rows:
        number = round((listed.top - widget.top) / listed.row_height)
        assert widget.words == listed.recycleview.data[number]
    return [widget.words for widget in rows]


def test_ten_thousand_rows_build_only_what_shows(app: Driver, dive_list: Any) -> None:
    """However many dives: as many widgets as fit on the screen, and one more at each end."""
    dive_list.data = many(10_000)
    app.frames(3)
    fit = dive_list.height / shown_rows(app)[0].height
    assert fit <= len(shown_rows(app)) <= fit + 2
    assert visible_words(app)[0].chosen == "0"


def test_rows_say_the_right_thing_wherever_they_are_flung(app: Driver, dive_list: Any) -> None:
    """Rows hold no state: after any jump each row says what belongs to its place."""
    dive_list.data = many(10_000)
    for share in (0.9, 0.2, 0.5001, 0.4999, 0.0, 1.0):
        dive_list.scroll_y = share
        app.frames(2)
        visible_words(app)
    dive_list.scroll_y = 0
    app.frames(2)
    assert visible_words(app)[-1].chosen == "9999"


def test_fling_moves_the_list_and_opens_nothing(app: Driver, dive_list: Any) -> None:
    """A finger that flings is no tap."""
    dive_list.data = many(10_000)
    app.frames(3)
    app.drag_from(600, 200, dx=0, dy=400, frames=5)
    app.wait(0.5)
    assert dive_list.scroll_y < 1
    assert visible_words(app)[0].chosen != "0"
    assert app.app.shell.rooms.current == "logbook"


def test_list_can_be_empty_short_and_long_again(app: Driver, dive_list: Any) -> None:
    """None, one, ten thousand, three: the rows are those of the data each time."""
    for count in (0, 1, 10_000, 3, 0):
        dive_list.show_from_top(many(count))
        app.frames(3)
        assert len(visible_words(app)) == min(count, len(shown_rows(app)))
        assert bool(shown_rows(app)) == bool(count)


def test_list_can_be_brought_to_a_row(app: Driver, dive_list: Any) -> None:
    """The asked row is at the top; the last one as near to it as it can be."""
    dive_list.data = many(10_000)
    app.frames(3)
    dive_list.bring_into_view(5_000)
    app.frames(3)
    assert visible_words(app)[0].chosen in ("4999", "5000")
    dive_list.bring_into_view(9_999)
    app.frames(3)
    assert visible_words(app)[-1].chosen == "9999"


def test_rows_follow_the_width_the_size_of_text_and_the_theme(three: Driver) -> None:
    """Larger text makes higher rows; a narrower window, narrower ones; night, other colours."""
    before = shown_rows(three)[0].height
    three.app.look.scale_text(1.5)
    three.resize(360, 640)
    three.app.look.wear("night")
    three.frames(3)
    larger = shown_rows(three)[0]
    assert larger.height > before * 1.15
    assert larger.width == 360
    assert tuple(larger._ink.rgba) == pytest.approx(three.app.look.theme.ink)
    visible_words(three)
    three.app.look.scale_text(1.0)
