"""Which dives count for a requirement, and which nearly do: every condition looked at for all dives at once.

A dive nearly counts where one condition alone does not hold, and that by little, or only because
something was not written down. How little is little is our own choice, for the list alone: nothing is counted
by it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from math import isnan

import numpy as np

from logbook_app.analysis.experience_calendar import days_in, later_by
from logbook_app.analysis.experience_columns import BITS, ROLES, ExperienceColumns, Floats, Mask
from logbook_app.analysis.experience_rules import Counting, DepthUnit
from logbook_app.dive.credentials import DiverFacts
from logbook_app.dive.record import Environment

LITTLE_DEPTH, LITTLE_TIME, LITTLE_SPAN = 0.15, 0.25, 0.25  # share of what is asked
LITTLE_DEGREES = 3.0
_UNWRITTEN = 0.9  # how far what was not written down is from counting: behind what is told
_FAR = np.inf


class WhyNot(StrEnum):
    """The condition that a dive does not meet."""

    DEPTH = "depth"
    TIME = "time"
    SUPERVISED = "supervised"
    ROLE = "role"
    ENVIRONMENT = "environment"
    CONFINED = "confined water"
    VISIBILITY = "visibility"
    COLD = "cold"
    ALTITUDE = "altitude"
    VARIED = "varied"
    AFTER = "after"
    WITHIN = "within"
    AT_ONCE = "at once"


@dataclass(frozen=True, slots=True, eq=False)
class Condition:
    """One condition over all dives.

    short   how much a dive lacks, 0 to 1 where it is little, without end where it is far from it
    told    what the dive says of it, in the unit of the rule
    """

    why: WhyNot
    holds: Mask
    short: Floats
    told: Floats | None = None


def asked_of(counting: Counting, facts: DiverFacts, certified_to: dict[str, float]) -> Counting | None:
    """Return the conditions with the depth that this diver's certificates ask for.

    None where the depth rests on a certificate and none is written down.
    """
    if counting.near_certified is None:
        return counting
    held = [depth for grade, depth in certified_to.items() if facts.holds(grade)]
    if not held:
        return None
    near = max(held) * counting.near_certified
    most = counting.near_certified_at_most
    near = near if most is None else min(near, most)
    return replace(counting, from_depth=max(round(near, 6), counting.from_depth or 0.0), near_certified=None)


def conditions(
    dives: ExperienceColumns, counting: Counting, facts: DiverFacts, on_day: date
) -> Iterator[Condition]:
    """Yield every condition that is asked."""
    yield from _measured(dives, counting)
    yield from _written(dives, counting)
    yield from _surroundings(dives, counting)
    if counting.any_of:
        yield _one_of(dives, counting.any_of, facts, on_day)
    if counting.after:
        yield _after(dives, counting, facts)
    if counting.within is not None:
        first = np.datetime64(later_by(on_day, counting.within, -1), "D")
        days_short = (first - dives.day).astype(np.float64) + 1
        yield _told(WhyNot.WITHIN, dives.day > first, days_short / (LITTLE_SPAN * days_in(counting.within)))


def all_hold(
    dives: ExperienceColumns, counting: Counting, facts: DiverFacts, on_day: date
) -> tuple[Mask, list[Condition]]:
    """Return which dives count, and the conditions."""
    asked = list(conditions(dives, counting, facts, on_day))
    holds = np.ones(len(dives), dtype=bool)
    for condition in asked:
        holds &= condition.holds
    return holds, asked


def _measured(dives: ExperienceColumns, counting: Counting) -> Iterator[Condition]:
    least, most = counting.from_depth, counting.to_depth
    if least is not None or most is not None:
        depth = dives.depth_ft if counting.depth_unit is DepthUnit.FEET else dives.depth_m
        low, high = least or 0.0, 1e9 if most is None else most
        lacks = np.maximum((low - depth) / max(low, 1.0), (depth - high) / max(high, 1.0))
        yield _told(WhyNot.DEPTH, (depth >= low) & (depth <= high), lacks / LITTLE_DEPTH, depth)
    if counting.least_min is not None:
        lacks = (counting.least_min - dives.duration_min) / (LITTLE_TIME * counting.least_min)
        yield _told(WhyNot.TIME, dives.duration_min >= counting.least_min, lacks, dives.duration_min)


def _written(dives: ExperienceColumns, counting: Counting) -> Iterator[Condition]:
    if counting.supervised:
        yield Condition(WhyNot.SUPERVISED, dives.supervised, np.full(len(dives), 0.5))
    if counting.roles:
        holds = np.isin(dives.role, [ROLES[role] for role in counting.roles])
        yield _named(WhyNot.ROLE, holds, dives.role == 0)
    if counting.not_roles:
        holds = np.isin(dives.role, [ROLES[role] for role in counting.not_roles], invert=True)
        yield Condition(WhyNot.ROLE, holds, np.full(len(dives), 0.5), dives.role.astype(np.float64))
    if counting.environments:
        bits = sum({BITS[each] for each in counting.environments})
        yield _named(WhyNot.ENVIRONMENT, (dives.environments & bits) != 0, dives.environments == 0)
    if counting.open_water:
        confined = (dives.environments & BITS[Environment.CONFINED]) != 0
        yield Condition(WhyNot.CONFINED, ~confined, np.full(len(dives), _FAR))


def _surroundings(dives: ExperienceColumns, counting: Counting) -> Iterator[Condition]:
    if (most := counting.visibility_below_m) is not None:
        lacks = (dives.visibility_m - most) / most * 2
        yield _told(WhyNot.VISIBILITY, dives.visibility_m < most, lacks, dives.visibility_m)
    if (most := counting.water_below_c) is not None:
        lacks = (dives.coldest_c - most) / LITTLE_DEGREES
        yield _told(WhyNot.COLD, dives.coldest_c < most, lacks, dives.coldest_c)
    if (least := counting.altitude_from_m) is not None:
        lacks = np.nan_to_num(least - dives.elevation_m, nan=_FAR) / (LITTLE_DEPTH * max(least, 1.0))
        yield _told(WhyNot.ALTITUDE, dives.elevation_m >= least, lacks, dives.elevation_m)


def _one_of(
    dives: ExperienceColumns, several: tuple[Counting, ...], facts: DiverFacts, on_day: date
) -> Condition:
    holds, short = np.zeros(len(dives), dtype=bool), np.full(len(dives), _FAR)
    for one in several:
        one_holds, asked = all_hold(dives, one, facts, on_day)
        holds |= one_holds
        if len(asked) == 1:
            short = np.minimum(short, np.where(np.isnan(asked[0].short), _FAR, asked[0].short))
    return Condition(WhyNot.VARIED, holds, short)


def _after(dives: ExperienceColumns, counting: Counting, facts: DiverFacts) -> Condition:
    certificate = facts.holds(counting.after)
    if certificate is None or certificate.issued_on is None:
        return Condition(WhyNot.AFTER, np.zeros(len(dives), dtype=bool), np.full(len(dives), _FAR))
    issued = np.datetime64(certificate.issued_on, "D")
    return _told(WhyNot.AFTER, dives.day > issued, (issued - dives.day).astype(np.float64) / 31)


def _told(why: WhyNot, holds: Mask, lacks: Floats, told: Floats | None = None) -> Condition:
    """Return a condition on an amount; what nobody knows is told behind what lacks little."""
    short = np.where(np.isnan(lacks), _UNWRITTEN, np.where(lacks <= 1, lacks, _FAR))
    return Condition(why, holds, short, told)


def _named(why: WhyNot, holds: Mask, unwritten: Mask) -> Condition:
    return Condition(why, holds, np.where(unwritten, _UNWRITTEN, _FAR))


@dataclass(frozen=True, slots=True)
class Nearly:
    """A dive that nearly counts, and the one condition that it does not meet.

    told   what it says of it, in the unit of the rule; None where it says nothing
    """

    dive_id: str
    why: WhyNot
    told: float | None = None


def nearly_counting(dives: ExperienceColumns, asked: list[Condition], most: int) -> tuple[list[Nearly], int]:
    """Return the dives that lack one condition by little, the nearest first and of these the latest.

    most   how many are named

    Returns them with how many there are.
    """
    failed = np.zeros(len(dives), dtype=np.int8)
    for condition in asked:
        failed += ~condition.holds
    short, which = np.full(len(dives), _FAR), np.zeros(len(dives), dtype=np.int8)
    for place, condition in enumerate(asked):
        here = (failed == 1) & ~condition.holds
        short[here], which[here] = condition.short[here], place
    places = np.flatnonzero(np.isfinite(short))
    nearest = places[np.lexsort((-places, short[places]))][:most]
    return [_nearly(dives, asked[which[place]], place) for place in nearest.tolist()], len(places)


def _nearly(dives: ExperienceColumns, condition: Condition, place: int) -> Nearly:
    told = None if condition.told is None else float(condition.told[place])
    return Nearly(str(dives.ids[place]), condition.why, None if told is None or isnan(told) else told)
