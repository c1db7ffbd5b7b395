"""What a table's columns are taken for before it is read, and that the reader takes them the same way."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.dive.problems import RefusedFile
from logbook_app.files.csv_columns import UNITS, parse_columns
from logbook_app.files.read_dive import ReadDive, ReadOptions
from logbook_app.files.recording_file import read_preview, read_recording
from logbook_app.files.table_preview import (
    ROWS_SHOWN,
    ColumnUse,
    columns_text,
    parse_preview,
    units_of,
    uses_from_text,
)
from logbook_app.logbook import Logbook
from logbook_app.shipped_files import shipped_folder

BEGAN = "# began: 2026-06-14T10:05+02:00\n"


def preview(text: str, *, whole: bool = True):
    return parse_preview(text.encode(), "table.csv", whole=whole)


def told(table) -> list[str]:
    return [f"{use.quantity} {use.unit}".strip() for use in table.uses]


def test_a_header_that_says_everything_asks_nothing():
    """The shipped tables are read without a word."""
    for name in ("one_dive.csv", "one_dive_feet.csv"):
        table = read_preview(shipped_folder("demo_data") / name)
        assert table is not None
        assert not table.asks
        assert len(table.rows) == ROWS_SHOWN


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (BEGAN + "time (s),depth\n0,0\n10,3\n", "the depth has no unit"),
        (BEGAN + "time,depth (m)\n0,0\n10,3\n", "the time has no unit"),
        (BEGAN + "t,d\n0,0\n10,3\n", "neither is named"),
        (BEGAN + "0,0\n10,3\n", "there is no header"),
        ("time (s),depth (m)\n0,0\n10,3\n", "nothing says when it began"),
    ],
)
def test_every_doubt_asks(text: str, why: str):
    """A wrong unit of depth makes every figure wrong, so none is guessed."""
    assert preview(text).asks, why


@pytest.mark.parametrize("first", ["0:00", "10:05:00", "2026-06-14T10:05:00+02:00"])
def test_a_clock_needs_no_unit(first: str):
    """Times that are written as a clock are what they are."""
    later = first.replace("05:00", "05:10") if "05" in first else "0:10"
    table = preview(BEGAN + f"time,depth (m)\n{first},0\n{later},3.1\n")
    assert table.clocks == {0}
    assert not table.asks


def test_dates_in_the_table_say_when_it_began():
    """No line before the table is needed then."""
    table = preview("time,depth (m)\n2026-06-14T10:05:00Z,0\n2026-06-14T10:05:10Z,3\n")
    assert not table.needs_start
    assert not table.asks


def test_a_quantity_named_twice_is_taken_once_as_the_reader_does():
    """The first of two depths is read."""
    table = preview(BEGAN + "time (s),depth (m),mean depth (m),pressure 2 (psi)\n0,0,0,2000\n10,3,1,\n")
    assert told(table) == ["time s", "depth m", "", "pressure psi"]
    assert columns_text(table.uses) == "time=1:s,depth=2:m,pressure 2=4:psi"


@pytest.mark.parametrize(
    "text",
    [
        "Dear Odile,\nhere, at last, the pictures.\nYours, Rune\n",
        "one\ntwo\nthree\n",
        "",
        "name,place\nOdile,Cinder Quay\nRune,Heron Ledge\n",
    ],
)
def test_prose_and_lists_of_names_are_no_tables(text: str):
    """They are refused with a sentence when they are read; there is nothing to ask."""
    assert preview(text) is None


def test_a_list_of_dives_and_other_files_are_not_asked_about(tmp_path: Path):
    """They have readers of their own."""
    listed = tmp_path / "list.csv"
    listed.write_text("date,time,depth (m),duration (min)\n2026-06-14,10:05,21.4,47\n")
    assert read_preview(listed) is None
    assert read_preview(shipped_folder("demo_data") / "last_weekend.uddf") is None
    with pytest.raises(RefusedFile, match=r"gone\.csv cannot be opened"):
        read_preview(tmp_path / "gone.csv")


def test_a_line_that_is_cut_off_is_not_shown():
    """Only the beginning of a long file is looked at."""
    table = preview("t;d\n0;0,0\n10;3,1\n20;4", whole=False)
    assert table.rows == (("0", "0,0"), ("10", "3,1"))


def test_the_same_header_has_the_same_name_whatever_its_spacing():
    """And another header another one; without a header there is none."""
    names = [
        preview(f"{header}\n0,0\n1,2\n").header_digest
        for header in ("Run  time,Dpt", "run time , dpt", "a,b")
    ]
    assert names[0] == names[1] != names[2]
    assert preview("0,0\n1,2\n").header_digest == ""


quantities = st.sampled_from(["time", "depth", "temperature", "pressure", "gas"])


@given(st.lists(st.one_of(st.just(""), quantities), min_size=1, max_size=8), st.data())
def test_a_list_of_columns_comes_back_equal(chosen: list[str], data: st.DataObject):
    """Law: `uses_from_text` undoes `columns_text`."""
    uses = tuple(
        ColumnUse(
            quantity,
            data.draw(st.sampled_from(units_of(quantity))) if units_of(quantity) else "",
            told=True,
            cylinder=data.draw(st.integers(0, 3)) if quantity == "pressure" else 0,
        )
        if quantity
        else ColumnUse()
        for quantity in chosen
    )
    assert uses_from_text(columns_text(uses), len(uses)) == uses


def test_the_reader_takes_a_list_as_it_is_meant():
    """Place, unit, cylinder and start of every part arrive."""
    uses = (
        ColumnUse("depth", "ft"),
        ColumnUse(),
        ColumnUse("time", "min"),
        ColumnUse("pressure", "psi", cylinder=1),
    )
    columns = parse_columns(columns_text(uses, began="2026-06-14T10:05+02:00"))
    assert (columns.time.place, columns.depth.place) == (2, 0)
    assert columns.depth.convert is UNITS["depth"]["feet"]
    assert columns.began == "2026-06-14T10:05+02:00"
    assert [(other.place, other.cylinder) for other in columns.others] == [(3, 1)]


def test_what_was_decided_holds_for_the_next_file_with_that_header(tmp_path: Path):
    """Kept in the logbook, over a restart; a file with another header is not touched by it."""
    table = BEGAN + "Run;Dpt\n0;0\n1;30\n2;40\n3;0\n"
    first, other = tmp_path / "first.csv", tmp_path / "other.csv"
    first.write_text(table)
    other.write_text(table.replace("Dpt", "Level"))
    path = tmp_path / "logbook.leadline"
    logbook = Logbook.open(path)
    asked = logbook.columns_for(first)
    assert asked is not None
    assert asked.asks
    logbook.remember_columns(asked.header_digest, "time=1:min,depth=2:ft")
    logbook.close()
    logbook = Logbook.open(path)
    assert not logbook.columns_for(first).asks
    assert logbook.columns_for(other).asks
    report = logbook.import_files([first, other])
    (dive,) = [logbook.dive(dive_id) for dive_id in report.added]
    assert dive.duration_min == 3.0
    assert dive.max_depth_m == pytest.approx(40 * 0.3048)
    assert [problem.file for problem in report.problems] == ["other.csv"]
    logbook.close()


def test_a_start_is_told_for_one_file_alone(tmp_path: Path):
    """The start of one dive is not the start of the next one with the same header."""
    first, second = tmp_path / "first.csv", tmp_path / "second.csv"
    for file in (first, second):
        file.write_text("time (min),depth (m)\n0,0\n10,12\n20,0\n")
    logbook = Logbook.open(tmp_path / "logbook.leadline")
    report = logbook.import_files(
        [first, second], columns={first: "time=1:min,depth=2:m,began=2026-06-14T10:05+02:00"}
    )
    (dive,) = [logbook.dive(dive_id) for dive_id in report.added]
    assert dive.began_local.isoformat() == "2026-06-14T10:05:00+02:00"
    assert "does not say when the dive began" in report.problems[0].what
    logbook.close()


def test_a_told_list_gives_the_same_dive_as_the_header(tmp_path: Path):
    """What a preview says of a certain header is what the reader does with it."""
    path = shipped_folder("demo_data") / "one_dive_feet.csv"
    table = read_preview(path)
    by_header, by_list = (
        next(item for item in read_recording(path, options) if isinstance(item, ReadDive))
        for options in (ReadOptions(), ReadOptions(csv_columns=columns_text(table.uses)))
    )
    assert by_list == by_header
