"""What a logbook adds up to: dives and hours, depths, gas, water, places and personal marks.

Only the owner's dives count. Every part names the dives that it is made of, so that each can be looked
at. Months are those of the clock on the dock.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from logbook_app.analysis.book_columns import BookColumns, Floats

Mask = NDArray[np.bool_]
MOST_QUARTERS = 12  # of minute volume; a longer time is told by years


class Period(StrEnum):
    """What part of the logbook is looked at."""

    ALL = "all"
    THIS_YEAR = "this year"
    LAST_12_MONTHS = "last 12 months"


@dataclass(frozen=True, slots=True)
class Count:
    """Dives of one year, month or band of depth.

    first, last   the years, the months (1 to 12), or the bounds of the band [m]
    """

    first: float
    last: float
    dives: int
    hours: float
    dive_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Spread:
    """A measured quantity over some time: the middle half of its values about their median.

    year, month   of its first month; month 0 is a whole year, year 0 a month of any year
    months        how many it spans
    least, most   of all values
    """

    year: int
    month: int
    months: int
    least: float
    low: float
    median: float
    high: float
    most: float
    dive_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Place:
    """A site with its dives; None where nobody knows where it lies."""

    name: str
    latitude_deg: float | None
    longitude_deg: float | None
    dives: int
    dive_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """One personal mark: which, its value in the record's unit, when, and the dives it is about.

    kind   `longest`, `deepest`, `coldest`, `most in a day`, `first` or `last`
    """

    kind: str
    value: float
    on: date
    dive_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BookStatistics:
    """All figures of one period."""

    period: Period
    dives: int
    hours: float
    by_year: tuple[Count, ...]
    by_month: tuple[Count, ...]
    by_depth: tuple[Count, ...]
    minute_volume: tuple[Spread, ...]
    water: tuple[Spread, ...]
    places: tuple[Place, ...]
    marks: tuple[Mark, ...]


def book_statistics(book: BookColumns, period: Period, now: datetime, band_m: float = 10.0) -> BookStatistics:
    """Return the figures of a period that ends now.

    now      by the clock on the dock
    band_m   height of a band of depths [m]
    """
    part = book.part(_within(book, period, now)) if len(book) else book
    return BookStatistics(
        period=period,
        dives=len(part),
        hours=float(part.duration_min.sum()) / 60,
        by_year=tuple(_by_year(part)),
        by_month=tuple(_by_month(part)),
        by_depth=tuple(_by_depth(part, band_m)),
        minute_volume=tuple(_minute_volume(part)),
        water=tuple(_water(part)),
        places=_places(part),
        marks=tuple(_marks(part)),
    )


def _within(book: BookColumns, period: Period, now: datetime) -> Mask:
    if period is Period.ALL:
        return np.ones(len(book), bool)
    if period is Period.THIS_YEAR:
        return np.asarray(_years(book) == now.year)
    today = np.datetime64(now.date(), "D")
    month, day = today.astype("datetime64[M]"), now.day
    first_of_month = (month - 12).astype("datetime64[D]")
    last_day = int(((month - 11).astype("datetime64[D]") - first_of_month) / np.timedelta64(1, "D"))
    return np.asarray(book.local.astype("datetime64[D]") > first_of_month + min(day, last_day) - 1)


def _years(book: BookColumns) -> NDArray[np.int64]:
    return book.local.astype("datetime64[Y]").astype(np.int64) + 1970


def _months(book: BookColumns) -> NDArray[np.int64]:
    """Return the months since the year 0."""
    return book.local.astype("datetime64[M]").astype(np.int64) + 1970 * 12


def _ids(book: BookColumns, chosen: Mask) -> tuple[str, ...]:
    return tuple(book.ids[place] for place in np.flatnonzero(chosen).tolist())


def _count(book: BookColumns, chosen: Mask, first: float, last: float) -> Count:
    hours = float(book.duration_min[chosen].sum()) / 60
    return Count(first, last, int(chosen.sum()), hours, _ids(book, chosen))


def _by_year(book: BookColumns) -> Iterator[Count]:
    """Yield every year from the first dive's to the last one's, those without a dive among them."""
    years = _years(book)
    for year in range(int(years.min()), int(years.max()) + 1) if len(book) else ():
        yield _count(book, years == year, year, year)


def _by_month(book: BookColumns) -> Iterator[Count]:
    months = _months(book) % 12 + 1
    for month in range(1, 13) if len(book) else ():
        yield _count(book, months == month, month, month)


def _by_depth(book: BookColumns, band_m: float) -> Iterator[Count]:
    """Yield every band down to the deepest; a depth on a bound belongs to the band above it."""
    bands = np.maximum(np.ceil(book.depth_m / band_m - 1e-9), 1).astype(int) - 1
    for band in range(int(bands.max()) + 1) if len(book) else ():
        yield _count(book, bands == band, band * band_m, (band + 1) * band_m)


def _minute_volume(book: BookColumns) -> Iterator[Spread]:
    """Yield the minute volume by quarters of a year, by years where there are many quarters."""
    known = np.isfinite(book.minute_volume)
    if not known.any():
        return
    months, values = _months(book), book.minute_volume
    quarters = np.unique(months[known] // 3)
    step = 3 if quarters[-1] - quarters[0] < MOST_QUARTERS else 12
    for at in np.unique(months[known] // step):
        year, month = divmod(int(at) * step, 12)
        chosen = known & (months // step == at)
        yield _spread(book, values, chosen, year, month + 1 if step == 3 else 0, step)


def _water(book: BookColumns) -> Iterator[Spread]:
    """Yield the coldest water of the dives of each month of the year."""
    known, months = np.isfinite(book.coldest_c), _months(book) % 12 + 1
    for month in range(1, 13):
        if (chosen := known & (months == month)).any():
            yield _spread(book, book.coldest_c, chosen, 0, month, 1)


def _spread(book: BookColumns, values: Floats, chosen: Mask, year: int, month: int, months: int) -> Spread:
    least, low, median, high, most = np.percentile(values[chosen], [0, 25, 50, 75, 100])
    return Spread(
        year,
        month,
        months,
        float(least),
        float(low),
        float(median),
        float(high),
        float(most),
        _ids(book, chosen),
    )


def _places(book: BookColumns) -> tuple[Place, ...]:
    """Return the sites, the most dived first; each lies where its latest dive with a position says."""
    dives: dict[str, list[int]] = {}
    for place, site in enumerate(book.site):
        if site:
            dives.setdefault(site, []).append(place)
    found = [_place(book, at) for at in dives.values()]
    return tuple(sorted(found, key=lambda place: (-place.dives, place.name.casefold())))


def _place(book: BookColumns, at: list[int]) -> Place:
    north, east = book.latitude_deg[at], book.longitude_deg[at]
    known = np.flatnonzero(np.isfinite(north) & np.isfinite(east))
    latest = int(known[-1]) if known.size else None
    return Place(
        name=book.site_name[at[-1]],
        latitude_deg=None if latest is None else float(north[latest]),
        longitude_deg=None if latest is None else float(east[latest]),
        dives=len(at),
        dive_ids=tuple(book.ids[place] for place in at),
    )


def _marks(book: BookColumns) -> Iterator[Mark]:
    if not len(book):
        return
    yield _mark(book, "longest", book.duration_min, int(np.argmax(book.duration_min)))
    yield _mark(book, "deepest", book.depth_m, int(np.argmax(book.depth_m)))
    if np.isfinite(book.coldest_c).any():
        yield _mark(book, "coldest", book.coldest_c, int(np.nanargmin(book.coldest_c)))
    yield _most_in_a_day(book)
    yield _mark(book, "first", book.depth_m, 0)
    yield _mark(book, "last", book.depth_m, len(book) - 1)


def _mark(book: BookColumns, kind: str, values: Floats, at: int) -> Mark:
    return Mark(kind, float(values[at]), _day(book, at), (book.ids[at],))


def _most_in_a_day(book: BookColumns) -> Mark:
    """Return the first of the days with the most dives."""
    days, counts = np.unique(book.local.astype("datetime64[D]"), return_counts=True)
    best = days[int(np.argmax(counts))]
    chosen = book.local.astype("datetime64[D]") == best
    return Mark("most in a day", float(counts.max()), best.astype(object), _ids(book, chosen))


def _day(book: BookColumns, at: int) -> date:
    day: date = book.local[at].astype("datetime64[D]").astype(object)
    return day
