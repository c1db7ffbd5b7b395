"""The US Navy's air tables applied to recorded dives: a second opinion, never mixed with the compartments.

Each dive is read as the tables know one, deepest depth and bottom time, and worked with the group that
the dive before it left. Only dives on air from about sea level can be read so. Any other dive is outside
the tables, with its reason in words; for a while after it nothing is known by the tables either.

A gas that nobody wrote down is taken as air, as it is for the load, and the dive says so beside its
figures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from logbook_app.analysis.physics_sentences import said
from logbook_app.dive.record import Dive
from logbook_app.language import _, later
from logbook_app.physics.ambient_pressure import elevation_m as elevation_of_pressure_m
from logbook_app.physics.ascent_to_altitude import (
    LOOK_BACK_MIN,
    Surfacing,
    is_altitude_dive,
    wait_after_dives_min,
)
from logbook_app.physics.bottom_time import bottom_time_min, fsw_from_gauge_bar
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.repetitive_group import OutsideTables, group_after_interval
from logbook_app.physics.repetitive_series import AirDive, TabledDive
from logbook_app.physics.units import FloatArray, feet_from_metres

TABLE_NAME = later("US Navy Revision 7 table")
NOT_AIR = OutsideTables("The dive was not made on air alone.")
AT_ALTITUDE = OutsideTables(
    "The dive was made at altitude, or in air as thin; the tables for sea level do not hold there."
)

# The standard atmosphere is known from 0.2264 to 1.0748 bar; beyond, the end of it says enough.
_THINNEST_BAR, _DENSEST_BAR = 0.23, 1.07

# A recording that never went deeper still has a row, the first, 10 fsw.
_SHALLOWEST_FSW = 1.0


@dataclass(frozen=True, slots=True)
class TableCarried:
    """What the tables know of a diver when a dive begins: the dive before and the interval since [min]."""

    before: TabledDive
    interval_min: float


def as_the_tables_know_it(
    dive: Dive, time_s: FloatArray, gauge_bar: FloatArray, gases: set[BreathingGas], *, on_loop: bool = False
) -> AirDive | OutsideTables:
    """Return a recorded dive by its deepest depth and bottom time, or why the tables do not hold it.

    time_s, gauge_bar  samples from leaving the surface to surfacing, and the water's pressure there
    gases              what was breathed between them
    on_loop            a closed circuit, which is no air whatever its diluent
    """
    if on_loop or any(gas.name != AIR.name for gas in gases):
        return NOT_AIR
    depth_fsw = fsw_from_gauge_bar(gauge_bar)
    deepest_fsw = max(_SHALLOWEST_FSW, float(depth_fsw.max()))
    if is_altitude_dive(feet_from_metres(_highest_elevation_m(dive)), deepest_fsw):
        return AT_ALTITUDE
    return AirDive(deepest_fsw, bottom_time_min(time_s, depth_fsw))


def group_now(last: TabledDive, interval_min: float) -> str | OutsideTables | None:
    """Return the group at the surface; None once the next dive would be no repetitive one.

    last  the last dive, `interval_min` minutes before
    """
    if isinstance(last.group_after, OutsideTables):
        return last.group_after if interval_min < LOOK_BACK_MIN else None
    return group_after_interval(last.group_after, interval_min)


def wait_before_going_up(
    surfaced: Sequence[tuple[datetime, TabledDive]], elevation_m: float
) -> timedelta | OutsideTables:
    """Return how long after the last surfacing the tables allow an elevation, or why they cannot say.

    surfaced     instants of surfacing with the dives as worked, oldest first, at least one
    elevation_m  of a pass, or a cabin's altitude; the climb is counted from sea level, which is the longer
    """
    last_at = surfaced[-1][0]
    surfacings = [Surfacing(dive.group_after, (last_at - at).total_seconds() / 60) for at, dive in surfaced]
    wait_min = wait_after_dives_min(surfacings, feet_from_metres(elevation_m))
    return wait_min if isinstance(wait_min, OutsideTables) else timedelta(minutes=wait_min)


def table_name() -> str:
    """Return what the other model is called."""
    return _(TABLE_NAME)


def table_words(view: TabledDive) -> str:
    """Return what the tables say of a dive, in a sentence or two."""
    if isinstance(view.group_after, OutsideTables):
        return _("No group. {reason}").format(reason=said(view.group_after.reason))
    if view.group_before is None:
        return _("Group {group_after}, read at {schedule_fsw} fsw for {equivalent_min} min.").format(
            group_after=view.group_after, schedule_fsw=view.schedule_fsw, equivalent_min=view.equivalent_min
        )
    return _(
        "Group {group_after}, read at {schedule_fsw} fsw for {equivalent_min} min; a "
        "repetitive dive, begun in group {group_before}."
    ).format(
        group_after=view.group_after,
        schedule_fsw=view.schedule_fsw,
        equivalent_min=view.equivalent_min,
        group_before=view.group_before,
    )


def tabled_from_plain(plain: Mapping[str, Any]) -> TabledDive:
    """Return the worked dive whose plain values `dataclasses.asdict` gave."""
    kept = dict(plain)
    for name in ("entered", "earlier"):
        kept[name] = None if kept[name] is None else AirDive(**kept[name])
    if isinstance(kept["group_after"], Mapping):
        kept["group_after"] = OutsideTables(**kept["group_after"])
    return TabledDive(**kept)


def _highest_elevation_m(dive: Dive) -> float:
    """Return the elevation written down or the one the recorded pressure stands for, the higher of them."""
    written_m = dive.surface_elevation_m or 0.0
    if dive.surface_bar is None:
        return written_m
    return max(written_m, elevation_of_pressure_m(min(max(dive.surface_bar, _THINNEST_BAR), _DENSEST_BAR)))
