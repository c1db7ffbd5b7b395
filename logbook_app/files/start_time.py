"""When a dive began, from what a file says and what it leaves out.

A recorder often writes the clock on the dock without its offset. The offset then comes from the
diver, else from the site, else it is taken as zero; whichever it was travels with the instant, so
that the reader can say so.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from enum import StrEnum

_STAMP = re.compile(
    r"(?P<year>\d{4})-(?P<month>\d{1,2})(?:-(?P<day>\d{1,2})"
    r"(?:(?:T|\s+)(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,](?P<part>\d+))?)?)?)?"
    r"\s*(?P<zone>Z|z|[+-]\d{2}(?::?\d{2})?)?",
    re.ASCII,
)
_FIRST_YEAR, _LAST_YEAR = 1900, 2200
_WIDEST_OFFSET_MIN = 14 * 60  # the widest civil offset, UTC+14


class Zone(StrEnum):
    """Where the offset of a start time came from."""

    STATED = "stated"
    DIVER = "diver"
    SITE = "site"
    NONE = "none"


class Precision(StrEnum):
    """How much of the start a file gave."""

    TIME = "time"
    DAY = "day"
    MONTH = "month"


@dataclass(frozen=True, slots=True)
class StartTime:
    """An aware start, with how sure its zone and its hour are."""

    at: datetime
    zone: Zone
    precision: Precision

    @property
    def sure(self) -> bool:
        """True where the file itself gave both the hour and the offset."""
        return self.zone is Zone.STATED and self.precision is Precision.TIME

    @property
    def utc_offset_min(self) -> int:
        """What the clock on the dock showed ahead of UTC [min]."""
        offset = self.at.utcoffset() or timedelta()
        return round(offset.total_seconds() / 60)


def parse_start(text: str, diver_offset_min: int | None, site_offset_min: int | None = None) -> StartTime:
    """Return the start that an ISO 8601 text names; a date alone counts as noon of that day.

    diver_offset_min  offset for a time without a zone, as the diver gave it [min]
    site_offset_min   the same from the site, used where the diver gave none [min]

    Raises ValueError with a sentence where the text is no date.

    >>> parse_start("2026-06-14T10:05+02:00", None).at.isoformat()
    '2026-06-14T10:05:00+02:00'
    """
    match = _STAMP.fullmatch(text.strip())
    if match is None:
        raise ValueError(f'"{text.strip()[:40]}" is not a date and time as in 2026-06-14T10:05+02:00')
    offset_min, zone = _offset(match["zone"], diver_offset_min, site_offset_min)
    return StartTime(_instant(match, offset_min), zone, _precision(match))


def _offset(stated: str | None, diver_min: int | None, site_min: int | None) -> tuple[int, Zone]:
    if stated is not None:
        return _stated_offset_min(stated), Zone.STATED
    if diver_min is not None:
        return diver_min, Zone.DIVER
    if site_min is not None:
        return site_min, Zone.SITE
    return 0, Zone.NONE


def _stated_offset_min(zone: str) -> int:
    if zone in "Zz":
        return 0
    digits = zone[1:].replace(":", "")
    offset_min = int(digits[:2]) * 60 + int(digits[2:] or 0)
    if offset_min > _WIDEST_OFFSET_MIN:
        raise ValueError(f'"{zone}" is not an offset from UTC')
    return -offset_min if zone[0] == "-" else offset_min


def _precision(match: re.Match[str]) -> Precision:
    if match["hour"]:
        return Precision.TIME
    return Precision.DAY if match["day"] else Precision.MONTH


def _instant(match: re.Match[str], offset_min: int) -> datetime:
    year = int(match["year"])
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        raise ValueError(f"the year {year} is outside {_FIRST_YEAR} to {_LAST_YEAR}")
    try:
        return datetime(
            year,
            int(match["month"]),
            int(match["day"] or 1),
            int(match["hour"] or 12),
            int(match["minute"] or 0),
            int(match["second"] or 0),
            int((match["part"] or "0").ljust(6, "0")[:6]),
            tzinfo=timezone(timedelta(minutes=offset_min)),
        )
    except ValueError as error:
        raise ValueError(f'"{match[0]}" is not a date and time ({error})') from error
