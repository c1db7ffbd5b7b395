"""How long an examination holds: the age on the day decides, not that when it was made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from logbook_app.analysis.experience_calendar import birthday, later_by
from logbook_app.analysis.experience_rules import Lasts


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether an examination holds.

    until   the last day on which it holds, past or to come
    """

    holds: bool
    until: date


def standing_of(
    examined_on: date, lasts: Sequence[Lasts], born_on: date | None, on_day: date
) -> Standing | None:
    """Return whether an examination still holds, None where that rests on an age that nobody wrote down.

    lasts   by the ages they begin at, upward
    """
    if born_on is None:
        ends = [later_by(examined_on, each.span) for each in lasts]
        if on_day >= max(ends):
            return Standing(False, max(ends) - timedelta(days=1))
        return Standing(True, min(ends) - timedelta(days=1)) if on_day < min(ends) else None
    end = min(_ends(examined_on, lasts, born_on))
    return Standing(on_day < end, end - timedelta(days=1))


def _ends(examined_on: date, lasts: Sequence[Lasts], born_on: date) -> list[date]:
    """Return the days on which it may stop to hold: when a span is over, or a birthday makes it shorter."""
    ends = []
    for place, each in enumerate(lasts):
        over = later_by(examined_on, each.span)
        begins = birthday(born_on, each.from_age) if each.from_age else date.min
        until = birthday(born_on, lasts[place + 1].from_age) if place + 1 < len(lasts) else date.max
        if (stops := max(over, begins)) < until:
            ends.append(stops)
    return ends
