"""When a dive began: today, yesterday or a day of a month, and the time by the clock on the dock."""

from __future__ import annotations

import calendar
from datetime import date, datetime, time, timedelta
from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from logbook_app.analysis.spoken_times import full_date, month_name, weekday_name
from logbook_app.language import _, later
from logbook_app.screens.asked_number import ClockAsked
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.edged_box import EdgedBox

TODAY, YESTERDAY, ANOTHER = "today", "yesterday", "another"
BEGAN_AT = ClockAsked(later("Time it began"))


class DayCell(ButtonBehavior, EdgedBox):
    """One day of the month, with the name of its weekday."""

    day = ObjectProperty(None, rebind=True)
    """The date."""

    weekday = StringProperty("")
    """Its weekday, short."""

    chosen = BooleanProperty(False)
    """True for the day of the dive."""

    test_id = StringProperty("")
    """How tests find it: `day-` and the ISO date."""


class MonthGrid(KvBeside, BoxLayout):
    """The days of one month. A day that has not come yet cannot be chosen.

    Event: `on_day(day)`.
    """

    __events__ = ("on_day",)

    first = ObjectProperty(None, allownone=True)
    """First day of the month that is shown; None shows nothing."""

    today = ObjectProperty(None, allownone=True)
    """The last day that can be chosen."""

    chosen = ObjectProperty(None, allownone=True)
    """The day of the dive."""

    sunday_first = BooleanProperty(False)
    """True where the diver's week begins on Sunday."""

    aligned = BooleanProperty(False)
    """True where there is room for seven columns, one for each weekday."""

    def on_kv_post(self, _base_widget: Any) -> None:
        """Show the month, and follow what is written."""
        for name in ("first", "today", "chosen", "aligned", "sunday_first"):
            self.fbind(name, self._fill)
        self._fill()

    def turn(self, months: int) -> None:
        """Show an earlier or later month."""
        self.first = month_on(self.first, months)

    def on_day(self, day: date) -> None:
        """The diver chose a day."""

    def _fill(self, *_args: Any) -> None:
        grid = self.ids.grid
        grid.clear_widgets()
        if self.first is None:
            return
        for day in month_days(self.first, aligned=self.aligned, sunday_first=self.sunday_first):
            grid.add_widget(self._cell(day) if day else Widget())

    def _cell(self, day: date) -> DayCell:
        cell = DayCell(
            day=day,
            weekday=weekday_name(day),
            chosen=day == self.chosen,
            disabled=self.today is not None and day > self.today,
            test_id=f"day-{day.isoformat()}",
        )
        cell.bind(on_release=lambda touched: self.dispatch("on_day", touched.day))
        return cell


class DayEntry(KvBeside, BoxLayout):
    """Chips for a day that is not to come, and a month where another day is wanted.

    The form writes the properties and answers `on_choice(day)`.
    """

    __events__ = ("on_choice",)

    today = ObjectProperty(None, allownone=True)
    """The day by the clock on the dock."""

    day = ObjectProperty(None, allownone=True)
    """The day chosen; None is today."""

    month_open = BooleanProperty(False)
    """True while the month shows."""

    def choose(self, chosen: list[str]) -> None:
        """Take a chip: a day, or the month to find another in."""
        self.month_open = chosen == [ANOTHER]
        if self.month_open:
            self.ids.month.first = (self.day or self.today).replace(day=1)
        else:
            self.dispatch("on_choice", None if chosen == [TODAY] else self.today - timedelta(days=1))

    def take(self, day: date) -> None:
        """Take a day of the month."""
        self.month_open = False
        self.dispatch("on_choice", None if day == self.today else day)

    def on_choice(self, day: date | None) -> None:
        """The diver chose a day; None is today."""


class DateTimeEntry(DayEntry):
    """A day and the time; the field of the time is `ids.clock`."""

    trouble = StringProperty("")
    """One sentence where day and time cannot be."""


def month_days(first: date, *, aligned: bool, sunday_first: bool = False) -> list[date | None]:
    """Return the days of a month; aligned, with None before the first so that each row begins a week.

    >>> month_days(date(2026, 11, 1), aligned=True)[5:8]
    [None, datetime.date(2026, 11, 1), datetime.date(2026, 11, 2)]
    """
    before, count = calendar.monthrange(first.year, first.month)
    before = (before + sunday_first) % 7
    days: list[date | None] = [first.replace(day=number) for number in range(1, count + 1)]
    return [*([None] * before if aligned else []), *days]


def month_on(first: date, months: int) -> date:
    """Return the first day of a month some months later, or earlier.

    >>> month_on(date(2026, 1, 1), -1)
    datetime.date(2025, 12, 1)
    """
    years, month = divmod(first.year * 12 + first.month - 1 + months, 12)
    return date(years, month + 1, 1)


def month_words(first: date | None) -> str:
    """Return the month that is shown: `Nov 2026`."""
    return f"{month_name(first)} {first.year}" if first else ""


def day_answers(day: date | None, today: date | None) -> list[tuple[str, str]]:
    """Return the chips for the day: another day is called by its date once it is chosen."""
    named = day is not None and chosen_answer(day, today) == ANOTHER
    another = full_date(datetime.combine(day, time.min)) if named and day else _("Another day")
    return [(TODAY, _("Today")), (YESTERDAY, _("Yesterday")), (ANOTHER, another)]


def chosen_answer(day: date | None, today: date | None) -> str:
    """Return which chip holds for a day."""
    if day is None or day == today:
        return TODAY
    return YESTERDAY if today is not None and day == today - timedelta(days=1) else ANOTHER
