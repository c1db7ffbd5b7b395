"""How much each piece of kit was dived, and what of it is due: by date, by dives or by hours.

What is due counts from the day on which it was last done. A dive of that very day counts as after it:
nobody knows which came first, and this way the piece is seen to sooner. Where nothing was noted yet,
months count from the day it was bought, and dives and hours from the first, those before the logbook
among them; where not even that day is known, nothing can be said of its date.
"""

from __future__ import annotations

import calendar
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import IntEnum

from logbook_app.dive.kit import CareInterval, CareRecord, Check, KitItem, KitSet

SOON_DAYS = 30
SOON_SHARE = 0.9  # of an interval of dives or hours

Dives = Sequence[tuple[date, float]]
"""Day and minutes of each dive that used a piece, in their order."""


class Urgency(IntEnum):
    """How a check stands; what comes first is told first."""

    OVERDUE = 0
    SOON = 1
    NOT_KNOWN = 2
    LATER = 3


@dataclass(frozen=True, slots=True)
class KitUse:
    """How much a piece was dived."""

    dives: int = 0
    hours: float = 0.0


@dataclass(frozen=True, slots=True)
class KitDue:
    """One check of one piece, and how it stands on a day.

    last_on      when it was last done, None where that was not noted
    due_on, days_left    by date; None where the interval has no months or nothing to count from
    dives_left, hours_left   below zero where it is overdue; None where the interval has none
    share        of the interval that is used up, 1 when it is due
    since        how much it was dived since it was last done
    """

    item_id: str
    check: Check
    interval: CareInterval
    last_on: date | None
    due_on: date | None
    days_left: int | None
    dives_left: int | None
    hours_left: float | None
    share: float
    since: KitUse
    urgency: Urgency


@dataclass(frozen=True, slots=True)
class KitLine:
    """One piece with how much it was dived, what is due of it, the most urgent first, and what was done."""

    item: KitItem
    use: KitUse
    due: tuple[KitDue, ...]
    care: tuple[CareRecord, ...]

    @property
    def urgency(self) -> Urgency:
        """The most urgent of what is due."""
        return self.due[0].urgency if self.due else Urgency.LATER

    @property
    def since(self) -> KitUse | None:
        """How much it was dived since its last service, None where none was noted."""
        serviced = next((care.done_on for care in self.care if care.check is Check.SERVICE), None)
        if serviced is None:
            return None
        return next((due.since for due in self.due if due.check is Check.SERVICE), None)


@dataclass(frozen=True, slots=True)
class KitView:
    """All of a diver's kit, the most urgent first, those retired last; and the sets."""

    lines: tuple[KitLine, ...]
    sets: tuple[KitSet, ...]
    on: date

    @property
    def due(self) -> list[tuple[KitLine, KitDue]]:
        """Every check of every piece, the most urgent first."""
        found = [(line, due) for line in self.lines for due in line.due]
        return sorted(found, key=lambda each: _rank(each[1]))

    def line(self, item_id: str) -> KitLine | None:
        """Return one piece, None where there is none of this id."""
        return next((line for line in self.lines if line.item.id == item_id), None)


def kit_view(
    items: Iterable[KitItem],
    care: Iterable[CareRecord],
    uses: Mapping[str, Dives],
    sets: Iterable[KitSet],
    on: date,
) -> KitView:
    """Return how a diver's kit stands on a day.

    care   what stands of what was done, the latest first
    uses   id of a piece -> the dives that used it
    """
    of_item: dict[str, list[CareRecord]] = {}
    for record in care:
        of_item.setdefault(record.item_id, []).append(record)
    lines = [kit_line(item, of_item.get(item.id, ()), uses.get(item.id, ()), on) for item in items]
    return KitView(tuple(sorted(lines, key=_line_rank)), tuple(sets), on)


def kit_line(item: KitItem, care: Sequence[CareRecord], dives: Dives, on: date) -> KitLine:
    """Return how one piece stands on a day; nothing is due of one that is retired."""
    before = KitUse(item.dives_before, item.hours_before)
    due = [] if item.retired else [_due(item, each, care, dives, on) for each in item.intervals]
    return KitLine(item, _use(dives, before), tuple(sorted(due, key=_rank)), tuple(care))


def months_on(day: date, months: int) -> date:
    """Return the same day some months later, the last of a month that is shorter.

    >>> months_on(date(2026, 1, 31), 1)
    datetime.date(2026, 2, 28)
    """
    years, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = calendar.monthrange(years, month + 1)[1]
    return date(years, month + 1, min(day.day, last))


def _due(item: KitItem, interval: CareInterval, care: Sequence[CareRecord], dives: Dives, on: date) -> KitDue:
    last_on = next((each.done_on for each in care if each.check is interval.check), None)
    since = _since(item, last_on, dives)
    from_day = last_on or item.bought_on
    due_on = months_on(from_day, interval.months) if from_day and interval.months else None
    dives_left = None if interval.dives is None else interval.dives - since.dives
    hours_left = None if interval.hours is None else interval.hours - since.hours
    shares = [
        (on - from_day).days / max(1, (due_on - from_day).days) if from_day and due_on else None,
        since.dives / interval.dives if interval.dives else None,
        since.hours / interval.hours if interval.hours else None,
    ]
    share = max((each for each in shares if each is not None), default=0.0)
    days_left = (due_on - on).days if due_on else None
    return KitDue(
        item_id=item.id,
        check=interval.check,
        interval=interval,
        last_on=last_on,
        due_on=due_on,
        days_left=days_left,
        dives_left=dives_left,
        hours_left=hours_left,
        share=share,
        since=since,
        urgency=_urgency(days_left, shares[1:], not_known=interval.months is not None and due_on is None),
    )


def _since(item: KitItem, last_on: date | None, dives: Dives) -> KitUse:
    if last_on is None:
        return _use(dives, KitUse(item.dives_before, item.hours_before))
    return _use([dive for dive in dives if dive[0] >= last_on], KitUse())


def _use(dives: Dives, before: KitUse) -> KitUse:
    hours = sum(minutes for _, minutes in dives) / 60
    return KitUse(before.dives + len(dives), before.hours + hours)


def _urgency(days_left: int | None, by_use: Iterable[float | None], *, not_known: bool) -> Urgency:
    used = max((share for share in by_use if share is not None), default=0.0)
    if (days_left is not None and days_left < 0) or used >= 1.0:
        return Urgency.OVERDUE
    if (days_left is not None and days_left <= SOON_DAYS) or used >= SOON_SHARE:
        return Urgency.SOON
    return Urgency.NOT_KNOWN if not_known else Urgency.LATER


def _rank(due: KitDue) -> tuple[int, float]:
    return (due.urgency, -due.share)


def _line_rank(line: KitLine) -> tuple[bool, int, float, str]:
    urgency, less = _rank(line.due[0]) if line.due else (Urgency.LATER, 1.0)
    return (line.item.retired, urgency, less, line.item.name.casefold())
