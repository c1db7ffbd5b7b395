"""Days and times of day, as the screens, the command line and the printed pages say them.

All functions take local times: the caller has put an instant into the zone of the clock on the
dock. Names of days and months are English and do not follow the system's language, because the
rest of the words do not.
"""

from __future__ import annotations

from datetime import datetime, timedelta

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def clock_time(local: datetime) -> str:
    """Return the time of day: `23:52`."""
    return f"{local:%H:%M}"


def day(local: datetime) -> str:
    """Return the day without its year: `Sun 15 Nov`."""
    return f"{DAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]}"


def full_date(local: datetime) -> str:
    """Return the day with its year: `Sun 15 Nov 2026`."""
    return f"{day(local)} {local.year}"


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
