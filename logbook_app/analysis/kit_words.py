"""What is said of kit, on the screen, in a reminder and on the command line."""

from __future__ import annotations

from collections.abc import Sequence

from logbook_app.analysis.kit_due import KitDue, KitLine, KitUse, Urgency
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.analysis.spoken_units import spoken_dives
from logbook_app.dive.kit import CareInterval, Check, Kind
from logbook_app.language import _, later, ngettext, number

_CHECKS = {
    Check.SERVICE: later("Service"),
    Check.VISUAL: later("Visual test"),
    Check.HYDROSTATIC: later("Hydrostatic test"),
}
_KINDS = {
    Kind.REGULATOR: later("Regulator"),
    Kind.CYLINDER: later("Cylinder"),
    Kind.JACKET: later("Jacket"),
    Kind.SUIT: later("Suit"),
    Kind.RECORDER: later("Recorder"),
    Kind.TORCH: later("Torch"),
    Kind.MASK: later("Mask"),
    Kind.FINS: later("Fins"),
    Kind.CAMERA: later("Camera"),
    Kind.REBREATHER: later("Rebreather"),
}
_URGENCIES = {
    Urgency.OVERDUE: later("Overdue"),
    Urgency.SOON: later("Due soon"),
    Urgency.NOT_KNOWN: later("Nothing noted"),
    Urgency.LATER: later("Later"),
}
CARE_CAUTION = later(
    "Intervals are yours to set. Those offered are common practice: what the maker asks and what local "
    "rules say, above all for cylinders, comes first."
)
_WEEKS_FROM, _MONTHS_FROM, _YEARS_FROM = 14, 61, 730  # days
_DAYS_A_MONTH = 30.436875


def check_words(check: Check) -> str:
    """Return what a check is called: `Service`."""
    return _(_CHECKS[check])


def kind_words(kind: str) -> str:
    """Return what a kind is called: one of our own in the language that is spoken, any other as written."""
    return next((_(words) for known, words in _KINDS.items() if known == kind), kind)


def urgency_words(urgency: Urgency) -> str:
    """Return how urgent something is, in a word or two."""
    return _(_URGENCIES[urgency])


def due_words(due: KitDue) -> str:
    """Return how one check stands: `due in 3 weeks · 14 dives left`; what is overdue comes first."""
    told = [
        (due.days_left is not None and due.days_left < 0, _by_date(due)),
        (due.dives_left is not None and due.dives_left <= 0, _by_dives(due.dives_left)),
        (due.hours_left is not None and due.hours_left <= 0, _by_hours(due.hours_left)),
    ]
    parts = [words for _over, words in sorted(told, key=lambda each: not each[0]) if words]
    return " · ".join(parts)


def check_due_words(due: KitDue) -> str:
    """Return a check with how it stands: `Service: due in 3 weeks`."""
    return _("{check}: {how}").format(check=check_words(due.check), how=due_words(due))


def last_words(due: KitDue) -> str:
    """Return when it was last done and how much was dived since."""
    if due.last_on is None:
        return _("Not noted so far.")
    return _("Last on {date}, {use} since.").format(date=date_alone(due.last_on), use=use_words(due.since))


def use_words(use: KitUse) -> str:
    """Return how much a piece was dived: `132 dives, 98.4 h`."""
    return f"{spoken_dives(use.dives)}, {hours_words(use.hours)}"


def hours_words(hours: float) -> str:
    """Return hours in water: `98.4 h`."""
    return f"{number(hours, '.1f')} h"


def interval_words(interval: CareInterval) -> str:
    """Return how often something is due: `every 12 months or 100 dives`."""
    parts = []
    if interval.months is not None:
        parts.append(ngettext("{count} month", "{count} months", interval.months))
    if interval.dives is not None:
        parts.append(ngettext("{count} dive", "{count} dives", interval.dives))
    if interval.hours is not None:
        parts.append(_("{count} h"))
    counts = [each for each in (interval.months, interval.dives, interval.hours) if each is not None]
    said = [part.format(count=f"{number(count, 'g')}") for part, count in zip(parts, counts, strict=True)]
    return _("every {amounts}").format(amounts=f" {_('or')} ".join(said))


def line_words(line: KitLine) -> str:
    """Return what a piece is and how much it was dived: `Regulator · 132 dives, 98.4 h`."""
    parts = (kind_words(line.item.kind), _("retired") if line.item.retired else "", use_words(line.use))
    return " · ".join(part for part in parts if part)


def all_due_words(line: KitLine) -> str:
    """Return all that is due of a piece, the most urgent first."""
    return "; ".join(map(check_due_words, line.due))


def reminder_words(lines: Sequence[KitLine]) -> str:
    """Return one sentence on what is due, the most urgent first; empty where nothing is."""
    told = [
        _("{piece}, {due}").format(piece=line.item.name, due=check_due_words(due))
        for line in lines[:_MOST_TOLD]
        for due in line.due[:1]
    ]
    more = len(lines) - _MOST_TOLD
    if more > 0:
        told.append(ngettext("{count} more piece", "{count} more pieces", more).format(count=more))
    return "; ".join(told)


_MOST_TOLD = 3  # in a reminder; the rest is in the room


def span_words(days: int) -> str:
    """Return a time of whole days as one speaks of it: `9 days`, `3 weeks`, `2 months`, `4 years`."""
    if days < _WEEKS_FROM:
        return ngettext("{count} day", "{count} days", days).format(count=days)
    if days < _MONTHS_FROM:
        weeks = round(days / 7)
        return ngettext("{count} week", "{count} weeks", weeks).format(count=weeks)
    months = round(days / _DAYS_A_MONTH)
    if days < _YEARS_FROM:
        return ngettext("{count} month", "{count} months", months).format(count=months)
    years = months // 12
    return ngettext("{count} year", "{count} years", years).format(count=years)


def _by_date(due: KitDue) -> str:
    if due.interval.months is None:
        return ""
    if due.days_left is None:
        return _("date not known: note when it was last done")
    if due.days_left == 0:
        return _("due today")
    span = span_words(abs(due.days_left))
    return (_("due in {span}") if due.days_left > 0 else _("overdue by {span}")).format(span=span)


def _by_dives(left: int | None) -> str:
    if left is None:
        return ""
    if left > 0:
        return ngettext("{count} dive left", "{count} dives left", left).format(count=left)
    return _("due now") if left == 0 else _("overdue by {dives}").format(dives=spoken_dives(-left))


def _by_hours(left: float | None) -> str:
    if left is None:
        return ""
    if left > 0:
        return _("{hours} left").format(hours=hours_words(left))
    return _("overdue by {hours}").format(hours=hours_words(-left))
