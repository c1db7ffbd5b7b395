"""How kit is spoken of: in words that one says, the most urgent first."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from logbook_app.analysis.kit_due import kit_line, kit_view
from logbook_app.analysis.kit_words import (
    all_due_words,
    due_words,
    interval_words,
    kind_words,
    last_words,
    line_words,
    reminder_words,
    span_words,
)
from logbook_app.dive.kit import CareInterval, CareRecord, Check, KitItem

TODAY = date(2026, 11, 14)
BY_DIVES = (CareInterval(Check.SERVICE, dives=100),)


def regulator(last: date | None, dives: int = 0) -> tuple[KitItem, list[CareRecord]]:
    """A regulator that is serviced every year, and when that was last done."""
    item = KitItem(
        id="r",
        name="Cold water regulator",
        kind="regulator",
        dives_before=dives,
        intervals=(CareInterval(Check.SERVICE, months=12),),
    )
    return item, [CareRecord(item_id="r", check=Check.SERVICE, done_on=last)] if last else []


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (1, "1 day"),
        (13, "13 days"),
        (14, "2 weeks"),
        (21, "3 weeks"),
        (60, "9 weeks"),
        (61, "2 months"),
        (365, "12 months"),
        (730, "2 years"),
        (1826, "5 years"),
    ],
)
def test_a_span_is_said_in_one_unit(days: int, words: str) -> None:
    assert span_words(days) == words


@pytest.mark.parametrize(
    ("last", "words"),
    [
        (TODAY - timedelta(days=365 - 21), "due in 3 weeks"),
        (TODAY - timedelta(days=365), "due today"),
        (TODAY - timedelta(days=365 + 61), "overdue by 2 months"),
        (None, "date not known: note when it was last done"),
    ],
)
def test_a_date_is_said_by_what_is_left(last: date | None, words: str) -> None:
    item, care = regulator(last)
    assert due_words(kit_line(item, care, [], TODAY).due[0]) == words


@pytest.mark.parametrize(
    ("dives", "words"),
    [(86, "14 dives left"), (99, "1 dive left"), (100, "due now"), (105, "overdue by 5 dives")],
)
def test_dives_are_said_by_what_is_left(dives: int, words: str) -> None:
    item = KitItem(name="r", dives_before=dives, intervals=BY_DIVES)
    assert due_words(kit_line(item, [], [], TODAY).due[0]) == words


def test_what_is_overdue_comes_first() -> None:
    item = KitItem(
        id="r",
        name="r",
        bought_on=TODAY - timedelta(days=10),
        dives_before=101,
        intervals=(CareInterval(Check.SERVICE, months=12, dives=100),),
    )
    due = kit_line(item, [], [], TODAY).due[0]
    assert due_words(due) == "overdue by 1 dive · due in 12 months"
    assert last_words(due) == "Not noted so far."


def test_a_piece_says_what_it_is_and_how_much_it_was_dived() -> None:
    item, care = regulator(date(2026, 11, 1), 100)
    line = kit_line(item, care, [(date(2026, 11, 2), 54.0)], TODAY)
    assert line_words(line) == "Regulator · 101 dives, 0.9 h"
    assert all_due_words(line) == "Service: due in 12 months"
    assert last_words(line.due[0]) == "Last on 1 Nov 2026, 1 dive, 0.9 h since."
    assert kind_words("fish sack") == "fish sack"


def test_an_interval_names_all_that_it_has() -> None:
    assert interval_words(CareInterval(Check.SERVICE, months=12, dives=100)) == "every 12 months or 100 dives"
    assert interval_words(CareInterval(Check.SERVICE, months=1)) == "every 1 month"
    assert interval_words(CareInterval(Check.SERVICE, hours=2.5)) == "every 2.5 h"


def test_a_reminder_names_three_and_counts_the_rest() -> None:
    items = [
        KitItem(id=str(n), name=f"piece {n}", dives_before=100 + n, intervals=BY_DIVES) for n in range(5)
    ]
    lines = kit_view(items, [], {}, [], TODAY).lines
    told = reminder_words(lines)
    assert told.startswith("piece 4, Service: overdue by 4 dives; piece 3, ")
    assert told.endswith("; 2 more pieces")
    assert reminder_words(()) == ""
