"""A piece of kit as a form: what is written in its fields, what is the matter with it, what it makes.

Every field is text while it is being written; a text that makes no value leaves the piece as it was and
says so in a sentence. No Kivy here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from logbook_app.analysis.kit_words import interval_words
from logbook_app.dive.kit import CareInterval, Check, Kind, KitItem
from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _, number

WORDS = ("name", "maker", "model", "serial", "currency", "notes")
NUMBERS = ("price", "dives_before", "hours_before")
FIELDS = (*WORDS, *NUMBERS, "bought_on")

# One touch of minus or plus, and where it begins.
_STEPS = {"months": (1, 12), "dives": (10, 100), "hours": (10.0, 100.0)}


def texts_of(item: KitItem) -> dict[str, str]:
    """Return what stands in the fields of a piece."""
    numbers = {name: _number_text(getattr(item, name)) for name in NUMBERS}
    words = {name: getattr(item, name) for name in WORDS}
    return words | numbers | {"bought_on": item.bought_on.isoformat() if item.bought_on else ""}


def with_text(item: KitItem, field: str, text: str, today: date) -> tuple[KitItem, str]:
    """Return the piece with what was written in one field, and one sentence where that makes no value.

    today   a piece bought later cannot be
    """
    try:
        value = _value(field, text.strip() if field != "notes" else text, today)
        return replace(item, **{field: value}), ""
    except ValueError as error:
        return item, str(error)
    except RefusedRecord as refusal:
        return item, str(refusal)


def checks_of(item: KitItem) -> list[Check]:
    """Return the checks that a piece may need: a cylinder is tested, everything may be serviced."""
    known = {interval.check for interval in item.intervals}
    tested = item.kind == Kind.CYLINDER
    return [check for check in Check if check is Check.SERVICE or tested or check in known]


def stepped_interval(item: KitItem, check: Check, amount: str, steps: int) -> KitItem:
    """Return the piece with an interval one step shorter or longer; below its first step it is none.

    amount   `months`, `dives` or `hours`
    """
    step, first = _STEPS[amount]
    interval = item.interval(check)
    was = getattr(interval, amount) if interval else None
    told = (was + steps * step) if was is not None else first if steps > 0 else None
    value = told if told is not None and told > 0 else None
    amounts: dict[str, Any] = {each: getattr(interval, each) if interval else None for each in _STEPS}
    amounts[amount] = value
    others = [each for each in item.intervals if each.check is not check]
    if any(each is not None for each in amounts.values()):
        others.append(CareInterval(check, **amounts))
    return replace(item, intervals=tuple(sorted(others, key=lambda each: list(Check).index(each.check))))


def amount_words(item: KitItem, check: Check, amount: str) -> str:
    """Return one amount of an interval: `12 months`, or that there is none."""
    interval = item.interval(check)
    value = getattr(interval, amount) if interval else None
    if value is None:
        return _("none")
    amounts: Mapping[str, Any] = {amount: value}
    return interval_words(CareInterval(check, **amounts)).removeprefix(
        _("every {amounts}").format(amounts="")
    )


def _value(field: str, text: str, today: date) -> Any:
    if field in WORDS:
        return text
    if field == "bought_on":
        return _day(text, today)
    if not text:
        return None if field == "price" else 0
    return _count(text) if field == "dives_before" else _amount(text)


def _day(text: str, today: date) -> date | None:
    if not text:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise ValueError(_("Write the day as year, month, day: 2024-03-01.")) from None
    if day > today:
        raise ValueError(_("That day has not come yet; check the year."))
    return day


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit()):
        raise ValueError(_("Write a whole number of dives."))
    return int(text)


def _amount(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueError(_("Write a number, such as 240 or 37.5."))
    return value


def _number_text(value: float | None) -> str:
    return "" if not value else f"{number(value, '.10g')}"
