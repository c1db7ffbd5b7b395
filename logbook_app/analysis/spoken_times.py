"""Days and times of day, as the screens, the command line and the printed pages say them.

All functions take local times: the caller has put an instant into the zone of the clock on the
dock. Names of days and months, and their order, are those of the language that is spoken.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from logbook_app.language import _, later, pgettext

_DAYS = (later("Mon"), later("Tue"), later("Wed"), later("Thu"), later("Fri"), later("Sat"), later("Sun"))
_MONTHS = (
    *(later("Jan"), later("Feb"), later("Mar"), later("Apr"), later("May"), later("Jun")),
    *(later("Jul"), later("Aug"), later("Sep"), later("Oct"), later("Nov"), later("Dec")),
)


def clock_time(local: datetime) -> str:
    """Return the time of day: `23:52`."""
    return f"{local:%H:%M}"


def weekday_name(local: date) -> str:
    """Return the name of the day of the week: `Sun`."""
    return _(_DAYS[local.weekday()])


def month_name(local: date) -> str:
    """Return the name of the month: `Nov`."""
    return _(_MONTHS[local.month - 1])


def day(local: date) -> str:
    """Return the day without its year: `Sun 15 Nov`, `So 15.11.`."""
    return _dated(pgettext("date", "{weekday} {day} {month}"), local)


def full_date(local: date) -> str:
    """Return the day with its year: `Sun 15 Nov 2026`, `So 15.11.2026`."""
    return _dated(pgettext("date", "{weekday} {day} {month} {year}"), local)


def date_alone(local: date) -> str:
    """Return the date without its weekday: `15 Nov 2026`, `15.11.2026`."""
    return _dated(pgettext("date", "{day} {month} {year}"), local)


def date_this_year(local: date) -> str:
    """Return the date without weekday and year: `15 Nov`, `15.11.`."""
    return _dated(pgettext("date", "{day} {month}"), local)


def _dated(form: str, local: date) -> str:
    """A language takes what it needs of the day: the name of the month, or its number."""
    return form.format(
        weekday=weekday_name(local),
        day=local.day,
        month=month_name(local),
        month_number=local.month,
        year=local.year,
    )


def utc_offset(local: datetime) -> str:
    """Return the offset of a local time: `UTC`, `UTC+1`, `UTC-3:30`."""
    minutes = round((local.utcoffset() or timedelta()).total_seconds() / 60)
    if minutes == 0:
        return "UTC"
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{'+' if minutes > 0 else '-'}{hours}" + (f":{rest:02d}" if rest else "")


def moment(local: datetime) -> str:
    """Return an instant so that nobody has to ask: `Sat 14 Nov 2026, 14:07 (UTC+1)`."""
    return f"{full_date(local)}, {clock_time(local)} ({utc_offset(local)})"
