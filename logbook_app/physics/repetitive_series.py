"""Dives in a row, worked through the US Navy's air tables one after the other.

A dive inside a surface interval of table 9-8 is a repetitive one: the residual nitrogen time of the diver's
group is added to its bottom time, and the sum, the equivalent single dive time, gives its limit and its
group. Two rules go around that:

10 minutes.  A shorter interval is none. The two dives count as one, of the deeper depth and both bottom
             times. Source: slides of the NOAA Diving Center on the Navy's tables of that time.
exception.   On a dive to the depth of the dives before it or deeper, residual nitrogen time can come out
             longer than those dives were. Their bottom times are then added instead. Revision 4 was read,
             in one sentence for one dive before; that Revision 7 adds up the whole series is recalled from
             memory.

A dive that the tables do not hold leaves the diver in no known group. For how long the manual does not say
here; this logbook takes 24 hours, as far as table 9-6 looks back, which is past the longest row of table
9-8, 15:50.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from logbook_app.physics.ascent_to_altitude import (
    LOOK_BACK_MIN,
    Surfacing,
    wait_after_dives_min,
)
from logbook_app.physics.navy_tables import COMMERCIAL_FLIGHT_FT, LEAST_INTERVAL_MIN
from logbook_app.physics.repetitive_group import (
    ROUNDING_SLACK,
    OutsideTables,
    group_after_dive,
    group_after_interval,
    residual_nitrogen,
)

AFTER_UNKNOWN: Final = OutsideTables("Less than 24 h before it there was a dive outside the tables.")


@dataclass(frozen=True, slots=True)
class AirDive:
    """A dive on air at sea level, as the tables know it.

    depth_fsw        deepest depth, above 0 [fsw]
    bottom_time_min  from leaving the surface to leaving the bottom, above 0 [min]
    """

    depth_fsw: float
    bottom_time_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TabledDive:
    """A dive as it was worked through the tables.

    entered                what the tables were entered with, after the 10-minute rule; None for no air dive
    group_before           group at the end of the surface interval, None where the dive is not repetitive
    residual_nitrogen_min  as printed; None where the dive is outside [min]
    equivalent_min         equivalent single dive time, by the exception where it applies; None where the
                           dive is outside before it came to that [min]
    schedule_fsw           depth of the row that was read; None where there was none [fsw]
    group_after            group at surfacing, or why there is none
    earlier                the dives of the series before, as one: deepest depth, sum of bottom times
    """

    entered: AirDive | None = None
    group_before: str | None = None
    residual_nitrogen_min: int | None = None
    equivalent_min: int | None = None
    schedule_fsw: int | None = None
    group_after: str | OutsideTables
    earlier: AirDive | None = None


@dataclass(frozen=True, slots=True)
class WorkedSeries:
    """Dives in a row and the wait after the last of them.

    wait_before_flight_min  from the last surfacing to a cabin at 8,000 ft, or why it is not known [min]
    """

    dives: tuple[TabledDive, ...]
    wait_before_flight_min: int | OutsideTables


def work_dive(
    dive: AirDive | OutsideTables, interval_min: float = math.inf, before: TabledDive | None = None
) -> TabledDive:
    """Return one dive worked through the tables, after the one before it.

    dive          what the recording says, or why it is nothing for the tables
    interval_min  surface interval before it; below 0 where two dives overlap [min]
    before        the dive before, worked; None for the first

    Source: at the head of this module.

    >>> first = work_dive(AirDive(80.0, 35.0))
    >>> second = work_dive(AirDive(60.0, 15.0), 90.0, first)
    >>> first.group_after, second.group_before, second.equivalent_min, second.group_after
    ('I', 'H', 61, 'K')
    """
    if isinstance(dive, OutsideTables):
        return TabledDive(group_after=dive)
    if before is None:
        return _entered(dive, None, None)
    if isinstance(before.group_after, OutsideTables):
        if interval_min < LOOK_BACK_MIN:
            return TabledDive(entered=dive, group_after=AFTER_UNKNOWN)
        return _entered(dive, None, None)
    if interval_min < LEAST_INTERVAL_MIN:
        return _entered(_together(before.entered, dive), before.group_before, before.earlier)
    group = group_after_interval(before.group_after, interval_min)
    return _entered(dive, group, None if group is None else _series(before))


def work_series(dives: Sequence[tuple[float, float, float]]) -> WorkedSeries:
    """Return air dives at sea level worked through the tables, and the wait before flying after them.

    dives  deepest depth, bottom time and surface interval before, one triple a dive, oldest first; the first
           interval is not looked at [fsw, min, min]

    The wait is that of the highest group of the last 24 hours; ascents are left out of those hours, which can
    only bring an older dive into them. Source: at the head of this module; table 9-6.

    >>> series = work_series([(60.0, 10.0, 0.0), (60.0, 20.0, 30.0)])
    >>> [dive.group_after for dive in series.dives], series.wait_before_flight_min
    (['B', 'F'], 426)
    """
    worked: list[TabledDive] = []
    surfaced_min: list[float] = []
    clock_min = 0.0
    for index, (depth_fsw, bottom_time_min, interval_min) in enumerate(dives):
        before = worked[-1] if index else None
        worked.append(work_dive(AirDive(depth_fsw, bottom_time_min), interval_min, before))
        clock_min += bottom_time_min + (interval_min if index else 0.0)
        surfaced_min.append(clock_min)
    surfacings = [
        Surfacing(dive.group_after, clock_min - minutes)
        for dive, minutes in zip(worked, surfaced_min, strict=True)
    ]
    return WorkedSeries(tuple(worked), wait_after_dives_min(surfacings, COMMERCIAL_FLIGHT_FT))


def _entered(dive: AirDive, group: str | None, earlier: AirDive | None) -> TabledDive:
    residual = residual_nitrogen(group, dive.depth_fsw)
    if isinstance(residual, OutsideTables):
        return TabledDive(entered=dive, group_before=group, group_after=residual, earlier=earlier)
    equivalent_min = residual.minutes + _whole_minutes(dive.bottom_time_min)
    if earlier is not None and residual.schedule_fsw >= earlier.depth_fsw:
        together_min = _whole_minutes(earlier.bottom_time_min) + _whole_minutes(dive.bottom_time_min)
        equivalent_min = min(equivalent_min, together_min)
    return TabledDive(
        entered=dive,
        group_before=group,
        residual_nitrogen_min=residual.minutes,
        equivalent_min=equivalent_min,
        schedule_fsw=residual.schedule_fsw,
        group_after=group_after_dive(residual.schedule_fsw, equivalent_min),
        earlier=earlier,
    )


def _series(before: TabledDive) -> AirDive | None:
    if before.earlier is None or before.entered is None:
        return before.entered
    return _together(before.earlier, before.entered)


def _together(one: AirDive | None, other: AirDive) -> AirDive:
    """Return two dives as one: the deeper depth, both bottom times, each in whole minutes."""
    if one is None:
        return other
    minutes = _whole_minutes(one.bottom_time_min) + _whole_minutes(other.bottom_time_min)
    return AirDive(max(one.depth_fsw, other.depth_fsw), minutes)


def _whole_minutes(minutes: float) -> int:
    return math.ceil(minutes - ROUNDING_SLACK)
