"""`leadline statistics`: what the logbook adds up to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict
from typing import Any

import click

from logbook_app.analysis.book_statistics import BookStatistics, Period
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.analysis.statistics_words import (
    Bar,
    depth_bars,
    mark_label,
    mark_words,
    minute_volume_bars,
    month_bars,
    period_words,
    place_words,
    sum_words,
    water_bars,
    year_bars,
)
from logbook_app.commands.opened import as_json, opened, print_json, print_lines
from logbook_app.language import _

_PERIODS = {"all": Period.ALL, "this-year": Period.THIS_YEAR, "last-12-months": Period.LAST_12_MONTHS}


@click.command()
@click.option(
    "--period", type=click.Choice(list(_PERIODS)), default="all", show_default=True, help="Which dives."
)
@as_json
@click.pass_context
def show_statistics(context: click.Context, period: str, as_json: bool) -> None:
    """Show what your dives add up to: by year, month and depth, gas, water, places, personal marks."""
    logbook = opened(context)
    units = SpokenUnits(logbook.settings().units)
    found = logbook.book.statistics(_PERIODS[period], feet=not units.metric and not as_json)
    if as_json:
        print_json(statistics_to_json(found))
    else:
        print_lines(statistics_report(found, units))


def statistics_to_json(statistics: BookStatistics) -> dict[str, Any]:
    """Return every figure; a key with a unit in its name is in that unit."""
    return {
        "period": statistics.period.value,
        "dives": statistics.dives,
        "hours": statistics.hours,
        "by_year": [_count(each, {"year": int(each.first)}) for each in statistics.by_year],
        "by_month": [_count(each, {"month": int(each.first)}) for each in statistics.by_month],
        "by_depth": [_count(each, {"from_m": each.first, "to_m": each.last}) for each in statistics.by_depth],
        "minute_volume_l_min": [_plain(each) for each in statistics.minute_volume],
        "coldest_water_c": [_plain(each) for each in statistics.water],
        "sites": [_plain(each) for each in statistics.places],
        "marks": [_plain(each) | {"on": each.on.isoformat()} for each in statistics.marks],
    }


def _count(each: Any, named: dict[str, Any]) -> dict[str, Any]:
    return named | {"dives": each.dives, "hours": each.hours, "dive_ids": list(each.dive_ids)}


def _plain(each: Any) -> dict[str, Any]:
    return asdict(each) | {"dive_ids": list(each.dive_ids)}


def statistics_report(statistics: BookStatistics, units: SpokenUnits) -> Iterator[str]:
    """Yield what the dives add up to, a heading over each part."""
    yield f"{period_words(statistics.period)}: {sum_words(statistics)}"
    for mark in statistics.marks:
        yield f"  {mark_label(mark):<22}{mark_words(mark, units)}"
    yield from _part(_("By year"), year_bars(statistics))
    yield from _part(_("By month"), month_bars(statistics))
    yield from _part(_("By greatest depth"), depth_bars(statistics, units))
    yield from _part(_("Minute volume, median"), minute_volume_bars(statistics, units))
    yield from _part(_("Coldest water, median"), water_bars(statistics, units))
    if statistics.places:
        yield _("Sites")
        yield from (f"  {place_words(place)}" for place in statistics.places)


def _part(heading: str, bars: Iterable[Bar]) -> Iterator[str]:
    lines = [f"  {bar.label:<22}{bar.words}" for bar in bars]
    if lines:
        yield heading
        yield from lines
