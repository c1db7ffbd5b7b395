"""What is due of a piece of kit: by date, by dives and by hours."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.kit_due import KitUse, Urgency, kit_line, kit_view, months_on
from logbook_app.dive.kit import CareInterval, CareRecord, Check, KitItem, usual_care

TODAY = date(2026, 11, 14)
REGULATOR = KitItem(
    id="r",
    name="regulator",
    bought_on=date(2024, 3, 1),
    dives_before=30,
    hours_before=20.0,
    intervals=(CareInterval(Check.SERVICE, months=12, dives=100),),
)


def serviced(on: date, item_id: str = "r") -> CareRecord:
    return CareRecord(item_id=item_id, check=Check.SERVICE, done_on=on)


def dived(*days: date) -> list[tuple[date, float]]:
    return [(day, 45.0) for day in days]


def test_use_counts_what_was_before_the_logbook() -> None:
    line = kit_line(REGULATOR, [], dived(date(2026, 5, 1), date(2026, 6, 1)), TODAY)
    assert line.use == KitUse(32, 21.5)


def test_since_the_service_the_day_of_the_service_counts() -> None:
    days = dived(date(2026, 4, 30), date(2026, 5, 1), date(2026, 5, 2))
    (due,) = kit_line(REGULATOR, [serviced(date(2026, 5, 1))], days, TODAY).due
    assert due.since == KitUse(2, 1.5)
    assert due.dives_left == 98
    assert due.due_on == date(2027, 5, 1)
    assert due.urgency is Urgency.LATER


def test_without_a_service_it_counts_from_the_day_it_was_bought() -> None:
    (due,) = kit_line(REGULATOR, [], [], TODAY).due
    assert due.due_on == date(2025, 3, 1)
    assert due.dives_left == 70
    assert due.urgency is Urgency.OVERDUE


def test_without_any_day_the_date_is_not_known_and_the_dives_still_count() -> None:
    item = KitItem(name="old", dives_before=95, intervals=REGULATOR.intervals)
    (due,) = kit_line(item, [], [], TODAY).due
    assert (due.due_on, due.dives_left, due.urgency) == (None, 5, Urgency.SOON)
    (due,) = kit_line(KitItem(name="old", intervals=REGULATOR.intervals), [], [], TODAY).due
    assert due.urgency is Urgency.NOT_KNOWN


@pytest.mark.parametrize(
    ("last", "urgency"),
    [
        (date(2025, 11, 13), Urgency.OVERDUE),
        (date(2025, 11, 14), Urgency.SOON),  # due today, and today is not over
        (date(2025, 12, 14), Urgency.SOON),
        (date(2025, 12, 15), Urgency.LATER),
    ],
)
def test_a_date_is_soon_within_thirty_days(last: date, urgency: Urgency) -> None:
    (due,) = kit_line(REGULATOR, [serviced(last)], [], TODAY).due
    assert due.urgency is urgency


@pytest.mark.parametrize(
    ("dives", "urgency"), [(89, Urgency.LATER), (90, Urgency.SOON), (100, Urgency.OVERDUE)]
)
def test_dives_are_soon_with_a_tenth_left(dives: int, urgency: Urgency) -> None:
    days = dived(*[date(2026, 11, 1)] * dives)
    (due,) = kit_line(REGULATOR, [serviced(date(2026, 10, 30))], days, TODAY).due
    assert due.urgency is urgency


def test_hours_are_counted_as_dives_are() -> None:
    item = KitItem(name="scrubber", intervals=(CareInterval(Check.SERVICE, hours=3.0),))
    (due,) = kit_line(item, [], dived(*[TODAY] * 4), TODAY).due
    assert due.hours_left == 0.0
    assert due.urgency is Urgency.OVERDUE


def test_each_check_of_a_cylinder_has_its_own_day() -> None:
    cylinder = KitItem(id="c", name="12 L", kind="cylinder", intervals=usual_care("cylinder"))
    visual = CareRecord(item_id="c", check=Check.VISUAL, done_on=date(2026, 1, 10))
    pressure = CareRecord(item_id="c", check=Check.HYDROSTATIC, done_on=date(2022, 1, 31))
    due = {each.check: each.due_on for each in kit_line(cylinder, [visual, pressure], [], TODAY).due}
    assert due == {Check.VISUAL: date(2027, 1, 10), Check.HYDROSTATIC: date(2027, 1, 31)}


def test_nothing_is_due_of_what_is_retired_and_it_comes_last() -> None:
    retired = KitItem(id="a", name="a", retired=True, intervals=REGULATOR.intervals)
    spare = KitItem(id="b", name="b")
    view = kit_view([retired, spare, REGULATOR], [], {}, [], TODAY)
    assert [line.item.id for line in view.lines] == ["r", "b", "a"]
    assert [due.item_id for _, due in view.due] == ["r"]


def test_only_the_care_of_the_piece_itself_counts() -> None:
    view = kit_view([REGULATOR], [serviced(TODAY, "another")], {}, [], TODAY)
    assert view.lines[0].due[0].last_on is None


@pytest.mark.law
@given(st.dates(date(1950, 1, 1), date(2100, 1, 1)), st.integers(1, 600))
def test_months_keep_the_day_where_the_month_has_it(day: date, months: int) -> None:
    later = months_on(day, months)
    assert (later.year - day.year) * 12 + later.month - day.month == months
    assert later.day == day.day or (later.day < day.day and (later + timedelta(days=1)).day == 1)
