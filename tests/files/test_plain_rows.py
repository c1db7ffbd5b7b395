"""Plain rows of a table are read together; that must give what one row after the other gives."""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.dive.problems import RefusedFile
from logbook_app.files import sample_table
from logbook_app.files.depth_csv import parse_depth_csv
from logbook_app.files.read_dive import ReadOptions
from logbook_app.files.sample_table import SampleTable
from logbook_app.files.table_lines import lines_of

HEADS = (
    "time (s),depth (m),temperature (C),pressure (bar),pressure 2 (psi),gas",
    "depth [ft],remarks,Zeit [min],temp (F)",
    "time,depth",
    "gas,depth_ft,time (s)",
)
LISTS = ("time=1:s,depth=2:m,temperature=9:c", "depth=3:ft,time=1:h,pressure=2:psi", "time=1:s,depth=1:m")


def table(head: str, rows: str, delimiter: str = ",", end: str = "\n") -> bytes:
    lines = ["# began: 2026-06-14T10:05Z", "# gas: 32", *([head] if head else []), rows]
    return "\n".join(lines).replace(",", delimiter).replace("\n", end).encode()


def all_read(content: bytes, size: int, told: str | None) -> list[str]:
    """Return all that a text gives when it comes in pieces of a size."""
    pieces = [content[at : at + size] for at in range(0, len(content), size)]
    words = []
    try:
        for item in parse_depth_csv(pieces, "file.csv", ReadOptions(csv_columns=told)):
            words.append(repr(item))
    except RefusedFile as refused:
        words.append(str(refused))
    return words


@contextmanager
def row_by_row() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as held:
        held.setattr(SampleTable, "add_together", lambda *_: 0)
        yield


def both_ways(content: bytes, size: int = 100_000, told: str | None = None) -> list[str]:
    """Return all that a text gives, after both ways have given the same."""
    with row_by_row():
        expected = all_read(content, size, told)
    assert all_read(content, size, told) == expected
    return expected


def stretch(begin: int, count: int, cells: str) -> str:
    return "".join(f"{begin + 10 * number},{number % 40}.5{cells}\n" for number in range(count))


ODD_ROWS = {
    "a remark in quotation marks": '15,3,"18,5",200,,32\n',
    "an open quotation mark": '15,3,"18,200,,32\n',
    "another width": "15,3\n",
    "a row too short and one too long": "15,3,18,200,\n16,3,18,200,,,32\n",
    "an empty line": "\n",
    "a line of blanks": "  \n",
    "a time of day": "0:15,3,18,200,,\n",
    "an instant": "2026-06-14T10:05:15Z,3,18,200,,\n",
    "a number of another script": "٣,3,18,200,,\n",
    "an underscore": "1_5,3,18,200,,\n",
    "infinity": "15,inf,18,200,,\n",
    "no number": "15,nan,18,200,,\n",
    "a number too large": "1e308,3,18,200,,\n",
    "no time": ",3,18,200,,\n",
    "no depth": "15,,18,200,,\n",
    "a depth that cannot be": "15,400,18,200,,\n",
    "a temperature that cannot be": "15,3,100,200,,\n",
    "a pressure that cannot be": "15,3,18,-5,,\n",
    "a time that goes back": "2,3,18,200,,\n",
    "a gas": "15,3,18,200,,18/45\n",
    "a gas with blanks around": "15,3,18,200,, air \n",
    "a gas of blanks": "15,3,18,200,, \n",
    "a gas that is none": "15,3,18,200,,phlogiston\n",
    "blanks around numbers": " 15 ,\t3, 18 ,200,,\n",
    "a blank cell": "15,3, ,200,,\n",
    "no letters of UTF-8": "15,3,18,200,,\udcff\n",
    "a lone return": "15,3,18,200,,\r16,3,18,200,,\n",
    "the ends of lines of another system": "15,3,18,200,,\r\n16,3,18,200,,\r\n",
}


@pytest.mark.parametrize("kind", ODD_ROWS)
@pytest.mark.parametrize("size", [100, 100_000])
def test_an_odd_row_among_plain_ones_is_read_as_by_itself(kind, size):
    rows = stretch(0, 2, ",18,200,3000,") + ODD_ROWS[kind] + stretch(20, 90, ",18.5,,,")
    text = "\n".join(["# began: 2026-06-14T10:05Z", HEADS[0], rows])
    both_ways(text.encode("utf-8", "surrogateescape"), size)


CELLS = st.one_of(
    st.sampled_from(["", "", "0", "-0", "18", "18.5", "18,5", "1e2", ".5", "5.", "+7", "1.2.3"]),
    st.sampled_from(["32", "air", "18/45"]),
    st.integers(-30, 400).map(str),
    st.floats(-1e4, 1e4).map(repr),
)
OTHERS = st.one_of(st.sampled_from(["", ",", ",18,,3,", ",,200,,"]), CELLS.map(",{}".format))
ROWS = st.one_of(
    st.builds(stretch, st.integers(0, 3000), st.integers(1, 60), OTHERS),
    st.lists(CELLS, max_size=7).map(lambda cells: ",".join(cells) + "\n"),
    st.sampled_from(sorted(row for row in ODD_ROWS.values() if row.isascii())),
)


@given(
    st.lists(ROWS, max_size=6).map("".join),
    st.sampled_from([*HEADS, *LISTS]),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.integers(20, 3000),
)
def test_both_ways_read_any_table_alike(rows, head, delimiter, end, size):
    told = head if head in LISTS else None
    both_ways(table("" if told else head, rows, delimiter, end), size, told)


@given(st.lists(st.sampled_from([b"a", b",", b"\r", b"\n", b"\r\n"])).map(b"".join), st.integers(1, 5))
def test_lines_are_the_same_in_pieces_of_any_size(content, size):
    """Against `splitlines` of Python's own."""
    pieces = [content[at : at + size] for at in range(0, len(content), size)]
    assert list(lines_of(pieces, "file.csv")) == content.decode().splitlines()


def test_rows_that_only_together_have_the_right_number_of_cells_are_read_one_by_one():
    rows = stretch(0, 40, ",") + "500,3\n9,518,19,20\n"
    assert "518." not in both_ways(table("time,depth,temp", rows))[0]


def test_one_endless_row_before_many_short_ones_needs_no_memory():
    content = table("time,depth", f"0,0{',' * 30_000}\n" + stretch(10, 6000, ""))
    tracemalloc.start()
    try:
        all_read(content, 64 * 1024, None)
        peak_bytes = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak_bytes < 10_000_000


def test_a_comma_in_quotation_marks_parts_no_cells_even_in_every_row():
    rows = "".join(f'{number},"5,6,7",8\n' for number in range(100, 200))
    assert "depth_m=array([8., 8.," in both_ways(table("time,remarks,depth", rows))[0]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_most_of_a_usual_table_is_read_together(monkeypatch, delimiter):
    """Or the tests above would compare one way with itself."""
    alone: list[int] = []
    monkeypatch.setattr(SampleTable, "add", lambda _self, row, *_: alone.append(row))
    rows = table(HEADS[0], stretch(0, 500, ",18,,3000,air"), delimiter, end="\r\n")
    all_read(rows if delimiter == "," else rows.replace(b".5", b",5"), 1000, None)
    assert alone == []


def test_a_table_of_too_many_rows_is_refused(monkeypatch):
    monkeypatch.setattr(sample_table, "MOST_ROWS", 60)
    assert "more than 60 rows" in both_ways(table("time,depth", stretch(0, 100, "")))[0]
    assert both_ways(table("time,depth", stretch(0, 57, "")))[0].startswith("ReadDive")
