"""What is said of a logbook's statistics, on the screen and on the command line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from logbook_app.analysis.book_statistics import BookStatistics, Count, Mark, Period, Place, Spread
from logbook_app.analysis.spoken_times import full_date, month_name
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives, spoken_duration
from logbook_app.language import _, later, number

PERIODS = {
    Period.ALL: later("All dives"),
    Period.THIS_YEAR: later("This year"),
    Period.LAST_12_MONTHS: later("Last 12 months"),
}
_MARKS = {
    "longest": later("Longest dive"),
    "deepest": later("Deepest dive"),
    "coldest": later("Coldest water"),
    "most in a day": later("Most dives in a day"),
    "first": later("First dive"),
    "last": later("Last dive"),
}
MINUTE_VOLUME_NOTE = later(
    "Breathed a minute, as if at the surface: the middle half of the dives as a bar, their median as a line. "
    "Cold, work and current are in it."
)
WATER_NOTE = later(
    "Coldest water of the dives of each month: the middle half as a bar, the median as a line."
)


@dataclass(frozen=True, slots=True)
class Bar:
    """One line of a chart: what it is, from where to where its bar reaches, what stands at its end.

    start, end   share of the width, 0 to 1
    tick         share of the width where a line crosses the bar, None for no line
    """

    label: str
    start: float
    end: float
    tick: float | None
    words: str
    dive_ids: tuple[str, ...]


def period_words(period: Period) -> str:
    """Return what a period is called."""
    return _(PERIODS[period])


def sum_words(statistics: BookStatistics) -> str:
    """Return how many dives and hours there are."""
    return _dives_and_hours(statistics.dives, statistics.hours)


def year_bars(statistics: BookStatistics) -> tuple[Bar, ...]:
    """Return a bar for each year."""
    return _count_bars(statistics.by_year, [str(int(each.first)) for each in statistics.by_year])


def month_bars(statistics: BookStatistics) -> tuple[Bar, ...]:
    """Return a bar for each month of the year."""
    return _count_bars(statistics.by_month, [_month(int(each.first)) for each in statistics.by_month])


def depth_bars(statistics: BookStatistics, units: SpokenUnits) -> tuple[Bar, ...]:
    """Return a bar for each band of depths."""
    labels = [_("to {depth}").format(depth=units.round_depth(each.last)) for each in statistics.by_depth]
    return _count_bars(statistics.by_depth, labels)


def minute_volume_bars(statistics: BookStatistics, units: SpokenUnits) -> tuple[Bar, ...]:
    """Return a bar for each quarter or year, from nothing to the greatest value."""
    greatest = max((each.high for each in statistics.minute_volume), default=1.0)
    return tuple(
        _spread_bar(each, _time(each), 0.0, greatest, units.minute_volume(each.median))
        for each in statistics.minute_volume
    )


def water_bars(statistics: BookStatistics, units: SpokenUnits) -> tuple[Bar, ...]:
    """Return a bar for each month of which the water is known."""
    least = min((each.low for each in statistics.water), default=0.0)
    least = min(least, 0.0)
    greatest = max((each.high for each in statistics.water), default=1.0)
    return tuple(
        _spread_bar(each, _month(each.month), least, greatest, units.temperature(each.median))
        for each in statistics.water
    )


def mark_label(mark: Mark) -> str:
    """Return what a mark is called."""
    return _(_MARKS[mark.kind])


def mark_words(mark: Mark, units: SpokenUnits) -> str:
    """Return a mark with its day: `71 min · Sat 3 Oct 2026`."""
    value = _mark_value(mark, units)
    return " · ".join(part for part in (value, full_date(mark.on)) if part)


def place_words(place: Place) -> str:
    """Return a site with its dives: `Heron Ledge · 12 dives`."""
    return f"{place.name} · {spoken_dives(place.dives)}"


def _mark_value(mark: Mark, units: SpokenUnits) -> str:
    if mark.kind == "longest":
        return spoken_duration(mark.value)
    if mark.kind == "coldest":
        return units.temperature(mark.value)
    return spoken_dives(int(mark.value)) if mark.kind == "most in a day" else units.depth(mark.value)


def _count_bars(counts: tuple[Count, ...], labels: list[str]) -> tuple[Bar, ...]:
    most = max((each.dives for each in counts), default=1) or 1
    return tuple(
        Bar(label, 0.0, each.dives / most, None, _dives_and_hours(each.dives, each.hours), each.dive_ids)
        for label, each in zip(labels, counts, strict=True)
    )


def _spread_bar(spread: Spread, label: str, least: float, greatest: float, words: str) -> Bar:
    span = (greatest - least) or 1.0
    start, tick, end = ((value - least) / span for value in (spread.low, spread.median, spread.high))
    return Bar(label, start, end, tick, words, spread.dive_ids)


def _dives_and_hours(dives: int, hours: float) -> str:
    if not dives:
        return _("none")
    return _("{dives}, {hours} h").format(dives=spoken_dives(dives), hours=number(hours, ".1f"))


def _month(month: int) -> str:
    return month_name(date(2000, month, 1))


def _time(spread: Spread) -> str:
    if not spread.month:
        return str(spread.year)
    last = spread.month + spread.months - 1
    return _("{first} to {last} {year}").format(
        first=_month(spread.month), last=_month(last), year=spread.year
    )
