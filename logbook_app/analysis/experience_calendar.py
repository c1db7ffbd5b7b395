"""Spans by the calendar: what is so many months before or after a day."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta

import numpy as np

from logbook_app.analysis.experience_columns import Days
from logbook_app.analysis.experience_rules import Span


def later_by(on: date, span: Span, times: int = 1) -> date:
    """Return the day a span after another; the last of a month stands for a day that it lacks.

    times   -1 for the day a span before

    >>> later_by(date(2024, 8, 31), Span(months=6)), later_by(date(2024, 7, 1), Span(months=12), -1)
    (datetime.date(2025, 2, 28), datetime.date(2023, 7, 1))
    """
    year, month = divmod(on.year * 12 + on.month - 1 + times * span.months, 12)
    month += 1
    moved = date(year, month, min(on.day, monthrange(year, month)[1]))
    return moved + timedelta(days=times * span.days)


def all_later_by(days: Days, span: Span) -> Days:
    """Return `later_by` of many days."""
    months = days.astype("datetime64[M]")
    within = (days - months.astype("datetime64[D]")).astype(np.int64)
    moved = (months + span.months).astype("datetime64[D]")
    last = ((months + span.months + 1).astype("datetime64[D]") - moved).astype(np.int64) - 1
    shifted: Days = moved + np.minimum(within, last) + span.days
    return shifted


def age_on(born_on: date, on: date) -> int:
    """Return how old somebody is on a day, in whole years; born on 29 February, older on 1 March."""
    return on.year - born_on.year - ((on.month, on.day) < (born_on.month, born_on.day))


def birthday(born_on: date, age: int) -> date:
    """Return the first day of this age."""
    try:
        return born_on.replace(year=born_on.year + age)
    except ValueError:
        return date(born_on.year + age, 3, 1)


def days_in(span: Span) -> float:
    """Return about how many days a span has."""
    return span.months * 30.44 + span.days
