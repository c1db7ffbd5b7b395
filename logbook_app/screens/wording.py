"""Times and waits as the screens say them, beside what the clock shows now.

Days and times of day are in `analysis.spoken_times`, quantities with units in `analysis.spoken_units`.
All functions take local times: the caller has put an instant into the zone of the clock on the dock.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from logbook_app.analysis.spoken_times import clock_time, day, full_date, utc_offset, weekday_name
from logbook_app.analysis.spoken_units import spoken_duration
from logbook_app.dive.record import Dive
from logbook_app.language import number


def day_and_time(local: datetime, today: datetime) -> str:
    """Return a time as short as it is clear beside `today`: `23:52`, `Sun 15 Nov 23:52`, with a year."""
    if local.date() == today.date():
        return clock_time(local)
    if abs(local - today) > timedelta(days=180):
        return f"{full_date(local)} {clock_time(local)}"
    return f"{day(local)} {clock_time(local)}"


def soon(local: datetime, today: datetime) -> str:
    """Return a time of this week by its weekday alone: `23:52`, `Sun 05:52`; any other as `day_and_time`."""
    if local.date() != today.date() and abs((local.date() - today.date()).days) < 6:
        return f"{weekday_name(local)} {clock_time(local)}"
    return day_and_time(local, today)


def surfaced(dive: Dive, today: datetime) -> str:
    """Return when a dive ended: by the clock on the dock now, with its own offset where that differs."""
    ended = dive.ended_at.astimezone(dive.began_local.tzinfo)
    words = day_and_time(ended, today.astimezone(ended.tzinfo))
    return words if ended.utcoffset() == today.utcoffset() else f"{words} ({utc_offset(ended)})"


def no_stop(minutes: float | None) -> str:
    """Return a no-stop time in whole minutes, never rounded up."""
    if minutes is None:
        return "over 24 h"
    return f"{int(minutes)} min"


def unbroken(words: str) -> str:
    """Return the words with spaces that no line is broken at."""
    return words.replace(" ", "\u00a0")


def half_time(minutes: float) -> str:
    """Return a compartment's half-time as it is printed: `5`, `12.5`, `635`."""
    return f"{number(minutes, 'g')}"


def remaining(until: datetime, now: datetime) -> str:
    """Return the wait from now until an instant, rounded up, so that it never ends too soon."""
    minutes = -(-(until - now).total_seconds() // 60)
    return spoken_duration(max(0.0, minutes))
