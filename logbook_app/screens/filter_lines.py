"""What the filters of the Logbook room say: chips, names with their counts, spans of days. No Kivy.

What a filter is in itself, and the sentence for all of them, is in `analysis.dive_filter`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from logbook_app.analysis.dive_filter import (
    DiveFilter,
    DiveOrder,
    Grouping,
    Named,
    Whose,
    day_words,
    depth_words,
    either,
)
from logbook_app.analysis.spoken_times import date_alone
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_dives
from logbook_app.language import _, later
from logbook_app.physics.units import feet_from_metres, metres_from_feet
from logbook_app.screens.logbook_lines import OFF, ON, PART, RowWords

if TYPE_CHECKING:
    from logbook_app.analysis.dive_catalogue import NameCount

# Sheets beside those of `Named`.
FILTER, DAYS, DEPTH, WHOSE, ORDER, GROUPING = "filter", "days", "depth", "whose", "order", "grouping"

KINDS: Final = {
    DAYS: later("Date"),
    DEPTH: later("Depth"),
    Named.SITE.value: later("Site"),
    Named.BUDDY.value: later("Buddy"),
    Named.GAS.value: later("Gas"),
    Named.KIT.value: later("Kit"),
    Named.TAG.value: later("Tags"),
    Named.TRIP.value: later("Trip"),
    WHOSE: later("Whose dives"),
}
ORDERS: Final = {
    DiveOrder.NEWEST: later("Newest first"),
    DiveOrder.OLDEST: later("Oldest first"),
    DiveOrder.DEEPEST: later("Deepest first"),
    DiveOrder.LONGEST: later("Longest first"),
    DiveOrder.NUMBER: later("By number"),
    DiveOrder.SITE: later("By site"),
}
GROUPINGS: Final = {
    Grouping.NONE: later("No groups"),
    Grouping.TRIP: later("By trip"),
    Grouping.YEAR: later("By year"),
}
WHOSES: Final = {
    Whose.ALL: later("All dives"),
    Whose.OWN: later("Your dives"),
    Whose.OTHERS: later("Other divers’ dives"),
}
TITLES: Final = KINDS | {
    FILTER: later("Show only"),
    ORDER: later("In this order"),
    GROUPING: later("In groups"),
}
_NO_NAMES: Final = {
    Named.SITE: later("No dive has a site yet."),
    Named.BUDDY: later("No dive has a buddy yet."),
    Named.GAS: later("No dive has a gas yet."),
    Named.KIT: later("No dive has kit yet."),
    Named.TAG: later("No dive has a tag yet. Choose some dives and give them one."),
    Named.TRIP: later("No dive has a trip yet. A dive’s own page takes one."),
}

FIRST_DEPTH_M, FIRST_DEPTH_FT = {"least_m": 18, "most_m": 18}, {"least_m": 60, "most_m": 60}
MOST_DEPTH = 350
DEEPER_M, DEEPER_FT = (10, 18, 30, 40), (30, 60, 100, 130)


@dataclass(frozen=True, slots=True)
class ChipWords:
    """One chip: the sheet it opens, what it says, and whether it leaves dives out."""

    sheet: str
    words: str
    holds: bool


def chips(
    wanted: DiveFilter, order: DiveOrder, grouping: Grouping, units: SpokenUnits, compact: bool
) -> list[ChipWords]:
    """Return the chips under the search field; compact, one of them opens all that filters."""
    filters = kind_chips(wanted, units)
    if compact:
        holding = sum(chip.holds for chip in filters)
        words = _("Filter ({count})").format(count=holding) if holding else _("Filter")
        filters = [ChipWords(FILTER, words, bool(holding))]
    return [
        *filters,
        ChipWords(ORDER, _(ORDERS[order]), order is not DiveOrder.NEWEST),
        ChipWords(GROUPING, _(GROUPINGS[grouping]), grouping is not Grouping.NONE),
    ]


def kind_chips(wanted: DiveFilter, units: SpokenUnits) -> list[ChipWords]:
    """Return a chip for each thing that dives can be filtered by."""
    held = {
        DAYS: day_words(wanted.first_day, wanted.last_day),
        DEPTH: depth_words(wanted.least_m, wanted.most_m, units),
        WHOSE: "" if wanted.whose is Whose.ALL else _(WHOSES[wanted.whose]),
    }
    held |= {kind.value: either(wanted.names(kind)) for kind in Named if wanted.names(kind)}
    return [
        ChipWords(kind, _shortened(held.get(kind, "")) or _(words), bool(held.get(kind)))
        for kind, words in KINDS.items()
    ]


def name_lines(names: Sequence[NameCount], wanted: Collection[str]) -> list[RowWords]:
    """Return a line for each name to choose from, those that are chosen first."""
    lines = [
        RowWords(
            chosen=each.name,
            site=each.name,
            line=_("last on {day}").format(day=date_alone(each.last_day)),
            depth="",
            time=spoken_dives(each.dives),
            mark=ON if each.name in wanted else OFF,
        )
        for each in names
    ]
    return sorted(lines, key=lambda line: line.mark != ON)


def tag_lines(tags: Sequence[str], of_chosen: Mapping[str, int], chosen: int) -> list[RowWords]:
    """Return a line for each tag, with how many of the chosen dives have it."""
    return [
        RowWords(
            chosen=tag,
            site=tag,
            line="",
            depth="",
            time=_("on {some} of {all}").format(some=of_chosen.get(tag, 0), all=chosen),
            mark=OFF if not of_chosen.get(tag) else ON if of_chosen[tag] == chosen else PART,
        )
        for tag in tags
    ]


def no_names(kind: Named) -> str:
    """Return why there is no name to choose from."""
    return _(_NO_NAMES[kind])


def spans(today: date) -> dict[str, tuple[str, date, date]]:
    """Return spans of days that are often wanted: name -> words, first and last day."""
    year = today.year
    return {
        "30": (_("Last 30 days"), today - timedelta(days=29), today),
        "365": (_("Last 12 months"), today - timedelta(days=364), today),
        "this": (str(year), date(year, 1, 1), date(year, 12, 31)),
        "last": (str(year - 1), date(year - 1, 1, 1), date(year - 1, 12, 31)),
    }


def span_held(wanted: DiveFilter, today: date) -> list[str]:
    """Return which of the spans holds."""
    held = (wanted.first_day, wanted.last_day)
    return [name for name, (_words, *span) in spans(today).items() if tuple(span) == held]


def stepped_m(depth_m: float | None, bound: str, steps: int, units: SpokenUnits) -> float | None:
    """Return a bound of the depth some steps on, a metre or five feet each; None once it bounds nothing.

    bound   `least_m` or `most_m`
    """
    if depth_m is None:
        first = FIRST_DEPTH_M if units.metric else FIRST_DEPTH_FT
        return depth_in_metres(first[bound], units)
    shown = round(depth_m if units.metric else float(feet_from_metres(depth_m)))
    shown += steps if units.metric else 5 * steps
    return depth_in_metres(shown, units) if 0 < shown <= MOST_DEPTH else None


def depth_in_metres(shown: float, units: SpokenUnits) -> float:
    """Return a depth in the diver's unit in metres."""
    return float(shown) if units.metric else float(metres_from_feet(shown))


def deeper_answers(units: SpokenUnits) -> list[tuple[str, str]]:
    """Return the depths that are often asked for, as chips."""
    shown = DEEPER_M if units.metric else DEEPER_FT
    return [(str(each), depth_words(depth_in_metres(each, units), None, units)) for each in shown]


def deeper_held(wanted: DiveFilter, units: SpokenUnits) -> list[str]:
    """Return which of those chips holds."""
    shown = DEEPER_M if units.metric else DEEPER_FT
    if wanted.most_m is not None or wanted.least_m is None:
        return []
    return [str(each) for each in shown if abs(depth_in_metres(each, units) - wanted.least_m) < 0.01]


def _shortened(words: str) -> str:
    return words if len(words) <= 28 else words[:27].rstrip(" ,") + "…"
