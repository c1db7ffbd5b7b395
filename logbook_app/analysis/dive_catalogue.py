"""All dives at hand, to be filtered, sorted, parted and summed between two keystrokes.

Every value that is asked for stands in an array, one place a dive, and every name knows its dives;
so a question costs a few operations on arrays, however many dives there are. The words of the text
are looked for by the logbook file; it names dives by the places of their words.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any, Final, TypeAlias, overload

import numpy as np
from numpy.typing import NDArray

from logbook_app.analysis.dive_filter import DiveFilter, DiveOrder, Grouping, Named, Whose
from logbook_app.analysis.dive_row import DiveRow
from logbook_app.dive.record import Dive
from logbook_app.dive.search_words import kit_of, same_name, words_in

Numbers: TypeAlias = NDArray[np.int64]
Floats: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Sums:
    """What dives add up to: the owner's own; `others` counts the dives of other divers.

    minutes    under water [min]
    deepest_m  0 where there is no own dive [m]
    """

    dives: int
    minutes: float
    deepest_m: float
    others: int = 0


@dataclass(frozen=True, slots=True)
class DiveGroup:
    """A part of the list: `name` is the trip or the year, empty for dives without a trip.

    start  place of its first dive among the dives found
    count  how many they are
    """

    name: str
    start: int
    count: int
    sums: Sums


@dataclass(frozen=True, slots=True, eq=False)
class _SumsOfEach:
    """The sums of many groups as arrays."""

    dives: Numbers
    minutes: Floats
    deepest_m: Floats
    others: Numbers

    def of(self, number: int) -> Sums:
        return Sums(
            int(self.dives[number]),
            float(self.minutes[number]),
            float(self.deepest_m[number]),
            int(self.others[number]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class DiveGroups(Sequence[DiveGroup]):
    """The parts of a list, each made when it is looked at: a long list has hundreds, a screen shows two.

    names   of all groups there are; `which` of them each part is
    starts  place of the first dive of each part among the dives found
    """

    names: Sequence[str]
    which: Numbers
    starts: Numbers
    counts: Numbers
    sums: _SumsOfEach

    def __len__(self) -> int:
        return len(self.starts)

    @overload
    def __getitem__(self, number: int) -> DiveGroup: ...
    @overload
    def __getitem__(self, number: slice) -> Sequence[DiveGroup]: ...
    def __getitem__(self, number: int | slice) -> DiveGroup | Sequence[DiveGroup]:
        if isinstance(number, slice):
            return [self[at] for at in range(*number.indices(len(self)))]
        name, start, count = self.names[self.which[number]], self.starts[number], self.counts[number]
        return DiveGroup(name, int(start), int(count), self.sums.of(number))


_NONE: Final = np.empty(0, dtype=np.int64)
NO_GROUPS: Final = DiveGroups((), _NONE, _NONE, _NONE, _SumsOfEach(_NONE, np.empty(0), np.empty(0), _NONE))


@dataclass(frozen=True, slots=True)
class NameCount:
    """A name that dives can be filtered by, how many have it, and the day of the last of them."""

    name: str
    dives: int
    last_day: date


@dataclass(frozen=True, slots=True, eq=False)
class FoundDives:
    """The dives that were wanted, in their order.

    catalogue  where they were found
    places     of each, among the catalogue's rows
    groups     empty where the list is not parted
    """

    catalogue: DiveCatalogue
    places: Numbers
    groups: DiveGroups
    sums: Sums

    def __len__(self) -> int:
        return len(self.places)

    def row(self, number: int) -> DiveRow:
        """Return one of them, counted from 0."""
        return self.catalogue.rows[int(self.places[number])]

    def ids(self) -> list[str]:
        """Return the ids of all of them, in their order."""
        return [self.catalogue.rows[int(place)].id for place in self.places]


@dataclass(frozen=True, eq=False)
class DiveCatalogue:
    """The dives of a logbook as they were at one moment.

    dives        in order of their start
    rows         each of them as the list shows it
    word_places  by what number the logbook file knows the words of each: dive id -> place
    """

    dives: Sequence[Dive]
    rows: Sequence[DiveRow]
    word_places: Mapping[str, int] = field(default_factory=dict)

    def find(
        self,
        wanted: DiveFilter,
        order: DiveOrder = DiveOrder.NEWEST,
        grouping: Grouping = Grouping.NONE,
        with_words: Sequence[int] | None = None,
    ) -> FoundDives:
        """Return the dives that are wanted.

        with_words  places of the dives that have the words of the text; None where it has no word
        """
        holds = self._holding(wanted, with_words)
        ordered = self._ordered(order)
        places = ordered if holds is None else ordered[holds[ordered]]
        groups = NO_GROUPS
        if grouping is not Grouping.NONE and len(places):
            places, groups = self._parted(places, grouping, oldest_first=order is DiveOrder.OLDEST)
        whole = np.array([0]), np.array([len(places)])
        sums = self._sums(places, *whole).of(0) if len(places) else Sums(0, 0.0, 0.0)
        return FoundDives(self, places, groups, sums)

    def names(self, kind: Named) -> list[NameCount]:
        """Return every name of a kind, in the order of the alphabet."""
        counts = [
            NameCount(name, len(places), self.rows[int(places[-1])].began_local.date())
            for name, places in self._named[kind].values()
        ]
        return sorted(counts, key=lambda count: words_in(count.name))

    def names_like(self, kind: Named, text: str) -> tuple[str, ...]:
        """Return the names of a kind that have all words of a text, each from its beginning."""
        asked = words_in(text)
        return tuple(
            name
            for name, _ in self._named[kind].values()
            if asked and all(any(word.startswith(one) for word in words_in(name)) for one in asked)
        )

    def _holding(self, wanted: DiveFilter, with_words: Sequence[int] | None) -> Mask | None:
        """Return for which dives everything holds, None for all of them."""
        holds = [*self._in_bounds(wanted)]
        if with_words is not None:
            holds.append(self._with_words(with_words))
        holds += [self._with_a_name(kind, wanted.names(kind)) for kind in Named if wanted.names(kind)]
        return np.logical_and.reduce(holds) if holds else None

    def _in_bounds(self, wanted: DiveFilter) -> Iterator[Mask]:
        if wanted.first_day is not None:
            yield self._day >= wanted.first_day.toordinal()
        if wanted.last_day is not None:
            yield self._day <= wanted.last_day.toordinal()
        if wanted.least_m is not None:
            yield self._depth_m >= wanted.least_m
        if wanted.most_m is not None:
            yield self._depth_m <= wanted.most_m
        if wanted.whose is not Whose.ALL:
            yield self._own if wanted.whose is Whose.OWN else ~self._own

    def _with_words(self, word_places: Sequence[int]) -> Mask:
        """Turn the file's places into a mask; a place that is not here is in the bin, or new since."""
        there = np.zeros(len(self._dive_at_place), dtype=bool)
        found = np.fromiter(word_places, np.int64, len(word_places))
        there[found[found < len(there)]] = True
        holds = np.zeros(len(self.rows) + 1, dtype=bool)
        holds[self._dive_at_place[there]] = True
        return holds[:-1]

    def _with_a_name(self, kind: Named, names: Sequence[str]) -> Mask:
        holds = np.zeros(len(self.rows), dtype=bool)
        for key in map(same_name, names):
            if key in self._named[kind]:
                holds[self._named[kind][key][1]] = True
        return holds

    def _ordered(self, order: DiveOrder) -> Numbers:
        if order not in self._orders:
            newest = np.arange(len(self.rows))[::-1]
            self._orders[order] = newest[np.argsort(self._rank(order)[newest], kind="stable")]
        return self._orders[order]

    def _rank(self, order: DiveOrder) -> Any:
        """Return what the dives are sorted by, the least first."""
        if order is DiveOrder.NUMBER:
            return np.array([np.inf if row.number is None else row.number for row in self.rows], dtype=float)
        if order is DiveOrder.SITE:
            return _ranks([(not row.site, words_in(row.site)) for row in self.rows])
        began = np.arange(len(self.rows))
        return {
            DiveOrder.NEWEST: -began,
            DiveOrder.OLDEST: began,
            DiveOrder.DEEPEST: -self._depth_m,
            DiveOrder.LONGEST: -self._minutes,
        }[order]

    def _parted(
        self, places: Numbers, grouping: Grouping, *, oldest_first: bool
    ) -> tuple[Numbers, DiveGroups]:
        """Bring the dives of a group together, the newest group first, and sum up each."""
        names, group_of = self._groups[grouping]
        ranks = group_of[places] if oldest_first else -group_of[places]
        if grouping is Grouping.TRIP:  # what is of no trip comes last either way
            ranks = np.where(group_of[places] == 0, len(names), ranks)
        places = places[np.argsort(ranks, kind="stable")]
        of_each = group_of[places]
        starts = np.flatnonzero(np.concatenate(([True], of_each[1:] != of_each[:-1])))
        counts = np.diff(starts, append=len(places))
        sums = self._sums(places, starts, counts)
        return places, DiveGroups(names, of_each[starts], starts, counts, sums)

    def _sums(self, places: Numbers, starts: Numbers, counts: Numbers) -> _SumsOfEach:
        """Return what each part of the places adds up to; no part is empty."""
        own = self._own[places]
        dives = np.add.reduceat(own, starts, dtype=np.int64)
        minutes = np.add.reduceat(np.where(own, self._minutes[places], 0.0), starts)
        deepest_m = np.maximum.reduceat(np.where(own, self._depth_m[places], 0.0), starts)
        return _SumsOfEach(dives, minutes, deepest_m, counts - dives)

    # What is asked for, each gathered when it is first wanted

    @cached_property
    def _orders(self) -> dict[DiveOrder, Numbers]:
        return {}

    @cached_property
    def _day(self) -> Numbers:
        return np.array([row.began_local.toordinal() for row in self.rows], dtype=np.int64)

    @cached_property
    def _depth_m(self) -> Floats:
        return np.array([row.max_depth_m for row in self.rows], dtype=float)

    @cached_property
    def _minutes(self) -> Floats:
        return np.array([row.duration_min for row in self.rows], dtype=float)

    @cached_property
    def _own(self) -> Mask:
        return np.array([not row.diver for row in self.rows], dtype=bool)

    @cached_property
    def _dive_at_place(self) -> Numbers:
        """The number of the dive whose words are kept at each place of the file, else one past the last."""
        at_place = np.full(max(self.word_places.values(), default=0) + 1, len(self.rows), dtype=np.int64)
        for number, row in enumerate(self.rows):
            if row.id in self.word_places:
                at_place[self.word_places[row.id]] = number
        return at_place

    @cached_property
    def _named(self) -> dict[Named, dict[str, tuple[str, Numbers]]]:
        """By kind and folded name: the name as it was written last, and its dives."""
        return {kind: _by_name(self.dives, kind) for kind in Named}

    @cached_property
    def _groups(self) -> dict[Grouping, tuple[list[str], Numbers]]:
        """The names of the groups in order of their last dive, and the group of each dive."""
        years = sorted({row.began_local.year for row in self.rows})
        year_of = np.searchsorted(years, [row.began_local.year for row in self.rows])
        trips = sorted(self._named[Named.TRIP].values(), key=lambda trip: int(trip[1][-1]))
        trip_of = np.zeros(len(self.rows), dtype=np.int64)
        for number, (_, places) in enumerate(trips, start=1):
            trip_of[places] = number
        return {
            Grouping.YEAR: ([str(year) for year in years], year_of),
            Grouping.TRIP: (["", *(name for name, _ in trips)], trip_of),
        }


def _names_of(dive: Dive, kind: Named) -> Sequence[str]:
    if kind is Named.SITE:
        return (dive.site.name,) if dive.site else ()
    if kind is Named.GAS:
        return [cylinder.gas.name for cylinder in dive.cylinders if cylinder.gas]
    if kind is Named.TRIP:
        return (dive.trip,)
    return {Named.BUDDY: dive.buddies, Named.TAG: dive.tags, Named.KIT: kit_of(dive)}[kind]


def _by_name(dives: Sequence[Dive], kind: Named) -> dict[str, tuple[str, Numbers]]:
    names: dict[str, str] = {}
    places: dict[str, list[int]] = {}
    for number, dive in enumerate(dives):
        for name in dict.fromkeys(_names_of(dive, kind)):
            if key := same_name(name):
                names[key] = name
                places.setdefault(key, []).append(number)
    return {key: (names[key], np.unique(np.array(found))) for key, found in places.items()}


def _ranks(keys: Sequence[Any]) -> Numbers:
    """Return the rank of each key among all of them."""
    rank = {key: number for number, key in enumerate(sorted(set(map(_hashable, keys))))}
    return np.array([rank[_hashable(key)] for key in keys], dtype=np.int64)


def _hashable(key: tuple[bool, list[str]]) -> tuple[bool, tuple[str, ...]]:
    return key[0], tuple(key[1])
