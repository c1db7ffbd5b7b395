"""Which dives are wanted, in what order and parted how; and the same in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Any, Final

from logbook_app.analysis.spoken_times import date_alone
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.language import _, later


class Named(StrEnum):
    """What a dive is filtered by that has a name."""

    SITE = "sites"
    BUDDY = "buddies"
    GAS = "gases"
    KIT = "kit"
    TAG = "tags"
    TRIP = "trips"


class Whose(StrEnum):
    """Whose dives are wanted."""

    ALL = "all"
    OWN = "own"
    OTHERS = "others"


class DiveOrder(StrEnum):
    """In what order dives stand; where two stand equal, the newer is first."""

    NEWEST = "newest"
    OLDEST = "oldest"
    DEEPEST = "deepest"
    LONGEST = "longest"
    NUMBER = "number"
    SITE = "site"


class Grouping(StrEnum):
    """By what the list is parted."""

    NONE = "none"
    TRIP = "trip"
    YEAR = "year"


@dataclass(frozen=True, slots=True)
class DiveFilter:
    """Which dives are wanted: those for which everything here holds.

    text                 every word of it is written about the dive
    first_day, last_day  of the start by the clock on the dock, both counted
    least_m, most_m      of the greatest depth, both counted [m]
    sites ... trips      one of the names holds; empty for any
    """

    text: str = ""
    first_day: date | None = None
    last_day: date | None = None
    least_m: float | None = None
    most_m: float | None = None
    sites: tuple[str, ...] = ()
    buddies: tuple[str, ...] = ()
    gases: tuple[str, ...] = ()
    kit: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()
    trips: tuple[str, ...] = ()
    whose: Whose = Whose.ALL

    def names(self, kind: Named) -> tuple[str, ...]:
        """Return the names wanted of one kind."""
        return getattr(self, kind.value)  # type: ignore[no-any-return]

    def with_names(self, kind: Named, names: tuple[str, ...]) -> DiveFilter:
        """Return the filter with other names of one kind."""
        wanted: dict[str, Any] = {kind.value: names}
        return replace(self, **wanted)

    @property
    def wants_all(self) -> bool:
        """True where no dive is left out."""
        return not self.text.strip() and replace(self, text="") == EVERY_DIVE


EVERY_DIVE: Final = DiveFilter()

_JOINED: Final = {
    Named.SITE: later("at {names}"),
    Named.BUDDY: later("with {names}"),
    Named.GAS: later("on {names}"),
    Named.KIT: later("dived with {names}"),
    Named.TAG: later("tagged {names}"),
    Named.TRIP: later("of the trip {names}"),
}
_WHOSE: Final = {Whose.ALL: "", Whose.OWN: later("your own"), Whose.OTHERS: later("those of other divers")}


def filter_words(wanted: DiveFilter, units: SpokenUnits) -> str:
    """Return what is filtered, empty where nothing is.

    >>> filter_words(DiveFilter(text="ray", least_m=20, buddies=("Imke", "Tom")), SpokenUnits())
    'with “ray” in them, 20 m or deeper, with Imke or Tom'
    """
    parts = [
        _("with “{text}” in them").format(text=" ".join(wanted.text.split())) if wanted.text.strip() else "",
        day_words(wanted.first_day, wanted.last_day),
        depth_words(wanted.least_m, wanted.most_m, units),
        *(_(_JOINED[kind]).format(names=either(wanted.names(kind))) for kind in Named if wanted.names(kind)),
        _(_WHOSE[wanted.whose]),
    ]
    return ", ".join(part for part in parts if part)


def day_words(first: date | None, last: date | None) -> str:
    """Return a span of days: `from 3 May 2026`, `on 3 May 2026`, `in 2026`; empty for any day."""
    if first is None or last is None:
        if last:
            return _("until {day}").format(day=date_alone(last))
        return _("from {day}").format(day=date_alone(first)) if first else ""
    if first == last:
        return _("on {day}").format(day=date_alone(first))
    if (first, last) == (date(first.year, 1, 1), date(first.year, 12, 31)):
        return _("in {year}").format(year=first.year)
    return _("from {first} to {last}").format(first=date_alone(first), last=date_alone(last))


def depth_words(least_m: float | None, most_m: float | None, units: SpokenUnits) -> str:
    """Return a span of depths: `20 m or deeper`, `12 to 20 m`; empty for any depth."""
    if least_m is not None and most_m is not None:
        return _("{least} to {most} deep").format(least=_depth(least_m, units), most=_depth(most_m, units))
    if least_m is not None:
        return _("{depth} or deeper").format(depth=_depth(least_m, units))
    return _("{depth} or shallower").format(depth=_depth(most_m, units)) if most_m is not None else ""


def either(names: tuple[str, ...]) -> str:
    """Return names of which one holds: `Imke`, `Imke or Tom`, `Imke, Tom or 3 more`."""
    if len(names) > 3:
        names = (*names[:2], _("{count} more").format(count=len(names) - 2))
    *others, last = names
    return _("{names} or {last}").format(names=", ".join(others), last=last) if others else last


def _depth(depth_m: float, units: SpokenUnits) -> str:
    whole = units.round_depth(depth_m)
    return whole if not units.metric or depth_m == round(depth_m) else units.depth(depth_m)
