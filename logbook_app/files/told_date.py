"""The dates of a list, as people write them: 2026-06-14, 14.06.2026, 14/06/2026.

Years first and days before dots leave no doubt. With slashes or hyphens the day comes first in
one country and the month in another; the other dates of the same list may tell, the header may,
and where neither does, nobody guesses.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from enum import StrEnum
from typing import Final

_YEAR_FIRST: Final = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})", re.ASCII)
_WITH_DOTS: Final = re.compile(r"(\d{1,2})\.\s*(\d{1,2})\.\s*(\d{4})", re.ASCII)
_EITHER_WAY: Final = re.compile(r"(\d{1,2})[-/](\d{1,2})[-/](\d{4})", re.ASCII)
_DAYS_AND_TIME: Final = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?\s*([ap])?\.?m?\.?", re.ASCII)


class Order(StrEnum):
    """What comes first in a date with slashes."""

    DAY = "dd/mm/yyyy"
    MONTH = "mm/dd/yyyy"


def order_of(texts: Iterable[str]) -> Order | None:
    """Return the order that the dates of a list show, None where they show none or both.

    >>> order_of(["03/04/2026", "14/06/2026"]).value, order_of(["03/04/2026"])
    ('dd/mm/yyyy', None)
    """
    shown: set[Order] = set()
    for match in filter(None, map(_EITHER_WAY.fullmatch, texts)):
        if int(match[1]) > 12:
            shown.add(Order.DAY)
        elif int(match[2]) > 12:
            shown.add(Order.MONTH)
    return shown.pop() if len(shown) == 1 else None


def needs_order(text: str) -> bool:
    """Tell whether a date can be read in two ways."""
    match = _EITHER_WAY.fullmatch(text)
    return match is not None and match[1] != match[2]


def parse_date(text: str, order: Order | None) -> date | None:
    """Return a date, None where the text is none or can be read in two ways.

    >>> parse_date("14.6.2026", None)
    datetime.date(2026, 6, 14)
    """
    if match := _YEAR_FIRST.fullmatch(text):
        return _date(match[1], match[2], match[3])
    if match := _WITH_DOTS.fullmatch(text):
        return _date(match[3], match[2], match[1])
    match = _EITHER_WAY.fullmatch(text)
    if match is None or (order is None and needs_order(text)):
        return None
    day, month = (match[2], match[1]) if order is Order.MONTH else (match[1], match[2])
    return _date(match[3], month, day)


def parse_time_of_day(text: str) -> str | None:
    """Return a time of day as hh:mm:ss, None where the text is none; "a" and "p" halve the day.

    >>> parse_time_of_day("9:05 pm"), parse_time_of_day("21:05:30"), parse_time_of_day("24:00")
    ('21:05:00', '21:05:30', None)
    """
    match = _DAYS_AND_TIME.fullmatch(text.strip().casefold())
    if match is None:
        return None
    hour = int(match[1])
    if match[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match[4] == "p" else 0)
    minute, second = int(match[2]), int(match[3] or 0)
    return f"{hour:02}:{minute:02}:{second:02}" if hour < 24 and minute < 60 and second < 60 else None


def _date(year: str, month: str, day: str) -> date | None:
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        return None
