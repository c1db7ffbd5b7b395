"""What the columns of a table are: from a header that nobody knows to a dive, and never asked again."""

from __future__ import annotations

from pathlib import Path

import pytest
from bringing_in import WEEKEND, asked, assert_fits, bring_in, drop, open_page, until_reported
from driver import SIZES, Driver, OpenApp

from logbook_app.files.table_preview import parse_preview
from logbook_app.logbook import ColumnUse, TablePreview
from logbook_app.screens.columns_choice import (
    column_heading,
    column_values,
    first_uses,
    table_text,
    unit_answers,
    what_follows,
    what_is_needed,
    with_quantity,
    with_unit,
)

BEGAN = "# began: 2026-11-14T11:05+01:00\n"
TABLE = "Run;Dpt;Wtr;Alarm\n0;0;59;\n5;40;55;\n10;61;52;x\n20;30;54;\n28;0;58;\n"
FEET_M = 0.3048  # the international foot, by definition


@pytest.fixture
def page(home: Path, app: Driver) -> Driver:
    """The import page, looking into downloads that hold tables with a header of nobody's."""
    downloads = home / "Downloads"
    (downloads / "first.csv").write_text(BEGAN + TABLE)
    (downloads / "second.csv").write_text(BEGAN.replace("11-14", "11-13") + TABLE)
    (downloads / "third.csv").write_text(TABLE)
    return open_page(app)


def ask_about(app: Driver, *names: str) -> None:
    """Choose files and touch the button that reads them; the page of the columns opens."""
    for name in names:
        app.tap(app.bring_into_view(app.find(test_id=f"file-{name}")))
    app.tap(test_id="begin-import")
    app.until(lambda: app.app.shell.rooms.current == "columns", "the page of the columns")
    app.frames(10)


def touch(app: Driver, *test_ids: str) -> None:
    for test_id in test_ids:
        app.tap(app.bring_into_view(app.find(test_id=test_id)))


def say_columns(app: Driver) -> None:
    touch(app, "column-1-time", "unit-1-min", "column-2-depth", "unit-2-ft")
    app.idle()


def test_an_unknown_header_is_asked_about_once(page: Driver) -> None:
    """The whole way: asked, decided, imported, and the next file with that header is read at once."""
    ask_about(page, "first.csv")
    assert page.find(test_id="table-name").text == "first.csv"
    assert "Run  |  Dpt  |  Wtr" in page.find(test_id="table-text").text
    assert page.find(test_id="what-follows").text.startswith("Still needed: which column is the time")
    assert page.find(test_id="keep-columns").disabled
    say_columns(page)
    told = "Time in minutes from column 1, depth in feet from column 2."
    assert page.find(test_id="what-follows").text == told
    assert page.find(test_id="trial").text == "A dive of 28 min, 18.6 m deep."
    page.tap(test_id="keep-columns")
    until_reported(page)
    (dive,) = asked(page, lambda logbook: logbook.dives())
    assert dive.duration_min == 28
    assert dive.max_depth_m == pytest.approx(61 * FEET_M)
    page.tap(test_id="bring-in-more")
    page.idle()
    bring_in(page, "second.csv")
    assert page.find(test_id="report-heading").text == "1 dive added."
    first, second = asked(page, lambda logbook: logbook.dives())
    assert (first.duration_min, first.max_depth_m) == (second.duration_min, second.max_depth_m)


def test_one_answer_serves_a_whole_batch(page: Driver) -> None:
    """Two files with one header are one question."""
    ask_about(page, "first.csv", "second.csv")
    say_columns(page)
    page.tap(test_id="keep-columns")
    until_reported(page)
    assert page.find(test_id="report-heading").text == "2 dives added."


def test_the_start_is_asked_where_nothing_says_it(page: Driver) -> None:
    """By day and clock; one that is still to come is refused with a sentence."""
    ask_about(page, "third.csv")
    say_columns(page)
    assert page.find(test_id="what-follows").text == "Still needed: when the dive began."
    touch(page, "field-began_time")
    page.frames(10)
    for key in ("2", "3", "5", "9"):
        page.tap(test_id=f"key-{key}")
    page.tap(test_id="key-next")
    page.frames(10)
    assert page.says("That is still to come.")
    assert page.find(test_id="keep-columns").disabled
    touch(page, "day-yesterday")
    assert page.find(test_id="what-follows").text.endswith("It began Fri 13 Nov 2026 at 23:59 (UTC+1).")
    page.tap(test_id="keep-columns")
    until_reported(page)
    (dive,) = asked(page, lambda logbook: logbook.dives())
    assert dive.began_local.isoformat() == "2026-11-13T23:59:00+01:00"


def test_back_puts_the_pad_away_and_then_leaves_without_reading(page: Driver) -> None:
    """Nothing is in the logbook, and the files are still chosen."""
    ask_about(page, "third.csv")
    touch(page, "field-began_time")
    page.press_back()
    assert page.app.shell.rooms.current == "columns"
    assert not page.find_all(test_id="number-pad")
    page.press_back()
    page.idle()
    assert page.find(test_id="begin-import").text == "Bring in 1 file"
    assert asked(page, lambda logbook: logbook.dives()) == []


def test_a_doubtful_table_is_left_out_and_the_others_are_read(page: Driver) -> None:
    """Only in a batch; a single file is left with Back."""
    ask_about(page, "third.csv", WEEKEND)
    page.tap(test_id="leave-out")
    until_reported(page)
    assert page.find(test_id="report-heading").text == "2 dives added."
    assert not page.says("third.csv")


def test_columns_that_were_certain_can_be_corrected(page: Driver, home: Path) -> None:
    """Beside a chosen table: the header says metres, the diver knows better."""
    table = BEGAN + "time (s),depth (m)\n0,0\n600,40\n1200,0\n"
    (home / "Downloads" / "wrong_unit.csv").write_text(table)
    page.app.shell.rooms.room("import").ids.files.look_again()
    page.idle()
    assert not page.find_all(test_id="columns-of-wrong_unit.csv")
    touch(page, "file-wrong_unit.csv", "columns-of-wrong_unit.csv")
    page.idle()
    assert (
        page.find(test_id="what-follows").text
        == "Time in seconds from column 1, depth in metres from column 2."
    )
    assert not page.find_all(test_id="leave-out")
    assert page.find(test_id="trial").text == "A dive of 20 min, 40.0 m deep."
    touch(page, "unit-2-ft")
    page.idle()
    assert page.find(test_id="trial").text == "A dive of 20 min, 12.2 m deep."
    page.tap(test_id="keep-columns")
    page.idle()
    page.tap(test_id="begin-import")
    until_reported(page)
    (dive,) = asked(page, lambda logbook: logbook.dives())
    assert dive.max_depth_m == pytest.approx(40 * FEET_M)


def test_columns_that_give_no_dive_cannot_be_kept(page: Driver) -> None:
    """Depths that are no times: the sentence says why, and the button waits."""
    ask_about(page, "first.csv")
    touch(page, "column-4-time", "unit-4-min", "column-2-depth", "unit-2-ft")
    page.idle()
    assert "is neither UDDF nor a table" in page.find(test_id="trial").text
    assert page.find(test_id="keep-columns").disabled


def test_a_file_that_is_no_table_has_no_columns(page: Driver, home: Path) -> None:
    """A text with another ending's content is said to be none."""
    (home / "Downloads" / "letter.txt").write_text("Dear Odile,\nhere are the pictures.\n")
    page.app.shell.rooms.room("import").ids.files.look_again()
    page.idle()
    touch(page, "file-letter.txt", "columns-of-letter.txt")
    page.idle()
    assert page.says("letter.txt is no table of times and depths")


@pytest.mark.parametrize(
    ("size", "text_scale"), [(SIZES["tablet"], 1.0), (SIZES["tablet upright"], 1.3), (SIZES["phone"], 1.3)]
)
def test_the_page_fits(home: Path, open_app: OpenApp, size: tuple[int, int], text_scale: float) -> None:
    """At every size of window and text, with units open and with the pad open."""
    (home / "Downloads" / "third.csv").write_text(TABLE)
    app = open_app(size=size, text_scale=text_scale)
    drop(app, home / "Downloads" / "third.csv", home / "Downloads" / WEEKEND)
    app.until(lambda: app.find_all(text="Bring in 2 files"), "the files")
    ask_about(app)
    assert_fits(app)
    say_columns(app)
    assert_fits(app)
    touch(app, "field-began_time")
    app.frames(10)
    assert_fits(app)


# The words without a window


def preview(text: str) -> TablePreview:
    table = parse_preview(text.encode(), "table.csv", whole=True)
    assert table is not None
    return table


def test_a_unit_that_nobody_told_stays_open() -> None:
    """Metres are not assumed where they could be feet."""
    table = preview(BEGAN + "time (s),depth,temperature\n0,0,9\n10,3,9\n")
    uses = first_uses(table)
    assert [use.unit for use in uses] == ["s", "", ""]
    assert what_is_needed(table, uses, None) == ["the unit of the depth", "the unit of the temperature"]
    uses = with_unit(with_unit(uses, 1, "ft"), 2, "c")
    assert what_follows(table, uses, None) == (
        "Time in seconds from column 1, depth in feet from column 2, temperature in °C from column 3."
    )


def test_only_one_column_is_the_depth_but_each_cylinder_has_its_pressure() -> None:
    """A second depth takes over from the first; a second pressure is the next cylinder's."""
    table = preview(BEGAN + "a,b,c\n1,2,3\n2,2,3\n")
    uses = with_quantity(table, with_quantity(table, first_uses(table), 0, "depth"), 1, "depth")
    assert [use.quantity for use in uses] == ["", "depth", ""]
    for place in (0, 1, 2):
        uses = with_quantity(table, uses, place, "pressure")
    assert [use.cylinder for use in uses] == [0, 1, 2]
    uses = with_quantity(table, with_quantity(table, uses, 0, ""), 0, "pressure")
    assert [use.cylinder for use in uses] == [0, 1, 2]


def test_a_header_may_tell_the_unit_of_a_name_that_nobody_knows() -> None:
    """ "Run (min)" is minutes once it is said to be a time, and no unit of a depth."""
    table = preview(BEGAN + "Run (min),Dpt [ft]\n0,0\n1,3\n")
    uses = with_quantity(table, with_quantity(table, first_uses(table), 0, "time"), 1, "depth")
    assert [use.unit for use in uses] == ["min", "ft"]
    assert with_quantity(table, uses, 0, "depth")[0] == ColumnUse("depth", "", told=True)


def test_a_clock_is_asked_for_no_unit() -> None:
    """mm:ss is what it is."""
    table = preview(BEGAN + "Run,Dpt\n0:00,0\n0:10,3\n")
    uses = with_unit(
        with_quantity(table, with_quantity(table, first_uses(table), 0, "time"), 1, "depth"), 1, "m"
    )
    assert unit_answers(table, uses, 0) == []
    assert (
        what_follows(table, uses, None) == "Time by the clock from column 1, depth in metres from column 2."
    )


def test_columns_without_a_header_are_numbered_and_empty_cells_shown() -> None:
    """As they stand in the file."""
    table = preview(BEGAN + "0,,20\n10,3,\n20,5,19\n")
    assert column_heading(table, 1) == "Column 2"
    assert column_values(table, 1).split() == ["–", "3", "5"]
    assert table_text(table).splitlines()[0] == "0  |  –  |  20"
