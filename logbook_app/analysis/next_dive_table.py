"""The next dive by depth: what the model allows there, and what else speaks for or against that depth.

Beside the model's no-stop time stands the limit of the US Navy's air tables: another model, never mixed with
the first. The tables are asked as they are for a dive that was made: the longest bottom time that still
leaves the diver in a group is the limit. So the rules for residual nitrogen, for intervals under
ten minutes and for dives outside the tables are those of `repetitive_series`, and no other.

The oxygen clock of a depth is what a stay to the end of its no-stop time would add, on top of what the
diver brings.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final

import numpy as np

from logbook_app.analysis.dive_analysis import Carried, Rules
from logbook_app.analysis.next_dive import NextDive, NextDiveRow, next_dive
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.analysis.table_opinion import TableCarried
from logbook_app.language import later
from logbook_app.physics.ambient_pressure import ambient_bar
from logbook_app.physics.ambient_pressure import elevation_m as elevation_of_pressure_m
from logbook_app.physics.ascent_to_altitude import is_altitude_dive
from logbook_app.physics.bottom_time import fsw_from_gauge_bar
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.constants import STANDARD_PRESSURE_BAR
from logbook_app.physics.equivalent_depths import best_oxygen_fraction, equivalent_air_depth_m
from logbook_app.physics.gas_density import HIGHEST_DENSITY_G_L, RECOMMENDED_DENSITY_G_L, gas_density_g_l
from logbook_app.physics.oxygen_exposure import cns_rate_per_min, outside_table
from logbook_app.physics.repetitive_group import OutsideTables, no_stop_limit_min
from logbook_app.physics.repetitive_series import AirDive, TabledDive, work_dive
from logbook_app.physics.units import feet_from_metres, metres_from_feet

FOR_AIR_ALONE = OutsideTables(later("They hold for air alone."))
FOR_SEA_LEVEL = OutsideTables(later("They hold about sea level; the air where you are is thinner."))
_THINNEST_BAR: Final = 0.23  # as far as the standard atmosphere is known


class Heaviness(StrEnum):
    """Where the density of the gas stands against the published guidance."""

    WITHIN = "within"
    ABOVE_RECOMMENDED = "recommended"
    ABOVE_HIGHEST = "highest"


@dataclass(frozen=True, slots=True)
class DepthRow:
    """One depth.

    limit             no-stop time and oxygen pressure, and whether the gas may be breathed there
    clock_fraction    what the no-stop time would add to the oxygen clock; None where there is no limit to
                      stay to, or the oxygen pressure is beyond the clock's last row [fraction]
    equivalent_air_m  depth on air with as much nitrogen; None for a gas that is no nitrox [m]
    table_min         the US Navy limit, inf where unlimited, or why the tables have no answer [min]
    """

    limit: NextDiveRow
    clock_fraction: float | None
    density_g_l: float
    heaviness: Heaviness
    equivalent_air_m: float | None
    table_min: float | OutsideTables


@dataclass(frozen=True, slots=True)
class BestMix:
    """The richest nitrox for a depth, and that depth on it.

    gas   None where even air has too much oxygen there
    row   None with it
    """

    depth_m: float
    gas: BreathingGas | None
    row: DepthRow | None


@dataclass(frozen=True, eq=False)
class NextDiveTable:
    """The next dive at one instant on one gas, by depth.

    limits          of the model
    carried         what the diver brings into the dive
    load            of the compartment that leads then, at the surface [fraction]
    interval_min    since the last dive, None before any [min]
    """

    limits: NextDive
    carried: Carried
    load: float
    interval_min: float | None
    rows: tuple[DepthRow, ...]
    best: BestMix

    @property
    def at(self) -> datetime:
        """When the dive would begin."""
        return self.limits.at

    @property
    def gas(self) -> BreathingGas:
        """What would be breathed."""
        return self.limits.gas


def depth_rows(limits: NextDive, before: TableCarried | None) -> tuple[DepthRow, ...]:
    """Return the depths of a next dive with all that is known of each.

    before   what the US Navy tables know of the dive before; None for none
    """
    return tuple(_row(row, limits, before) for row in limits.rows)


def best_mix(depth_m: float, at: datetime, carried: Carried, surface_bar: float, rules: Rules) -> BestMix:
    """Return the richest nitrox for a depth, in whole percent, and what that depth allows on it."""
    share = best_oxygen_fraction(depth_m, rules.ppo2_limit_bar, surface_bar)
    if share < AIR.oxygen:
        return BestMix(depth_m, None, None)
    gas = BreathingGas(share)
    found = next_dive(at, carried, surface_bar, gas, rules, (depth_m,))
    return BestMix(depth_m, gas, depth_rows(found, carried.table)[0])


def stepped_depth_m(depth_m: float, steps: int, units: str) -> float:
    """Return a depth some steps of three metres, or of ten feet, on. [m]

    >>> stepped_depth_m(30.0, 1, "metric")
    33.0
    """
    if SpokenUnits(units).metric:
        return 3.0 * (round(depth_m / 3.0) + steps)
    return metres_from_feet(10.0 * (round(feet_from_metres(depth_m) / 10.0) + steps))


def heaviness(density_g_l: float) -> Heaviness:
    """Return where a density stands against the published guidance."""
    if density_g_l > HIGHEST_DENSITY_G_L:
        return Heaviness.ABOVE_HIGHEST
    return Heaviness.ABOVE_RECOMMENDED if density_g_l > RECOMMENDED_DENSITY_G_L else Heaviness.WITHIN


def table_limit_min(
    depth_m: float, gas: BreathingGas, surface_bar: float, before: TableCarried | None
) -> float | OutsideTables:
    """Return the longest bottom time that the US Navy's air tables allow without a stop. [min]

    depth_m       of the dive, as a recorder shows it [m]
    surface_bar   where it begins [bar]
    before        the dive before, worked through the tables, with the interval since
    """
    if gas.name != AIR.name:
        return FOR_AIR_ALONE
    gauge_bar = float(ambient_bar(depth_m, surface_bar)) - surface_bar
    depth_fsw = float(fsw_from_gauge_bar(np.array([gauge_bar]))[0])
    elevation_m = elevation_of_pressure_m(min(max(surface_bar, _THINNEST_BAR), STANDARD_PRESSURE_BAR))
    if is_altitude_dive(float(feet_from_metres(elevation_m)), depth_fsw):
        return FOR_SEA_LEVEL
    alone_min = no_stop_limit_min(depth_fsw)
    if isinstance(alone_min, OutsideTables):
        return alone_min
    if math.isinf(alone_min):
        reached = _worked(depth_fsw, 1, before).group_after
        return reached if isinstance(reached, OutsideTables) else alone_min
    return _longest_min(depth_fsw, int(alone_min), before)


def _longest_min(depth_fsw: float, alone_min: int, before: TableCarried | None) -> float | OutsideTables:
    """Return the longest whole minutes that leave a group, found by halving; 0 where not one does."""
    least, most = 0, alone_min
    while least < most:
        middle = (least + most + 1) // 2
        if isinstance(_worked(depth_fsw, middle, before).group_after, OutsideTables):
            most = middle - 1
        else:
            least = middle
    if least:
        return float(least)
    worked = _worked(depth_fsw, 1, before)
    known = worked.equivalent_min is not None
    return 0.0 if known or not isinstance(worked.group_after, OutsideTables) else worked.group_after


def _worked(depth_fsw: float, minutes: int, before: TableCarried | None) -> TabledDive:
    dive = AirDive(depth_fsw, float(minutes))
    return work_dive(dive) if before is None else work_dive(dive, before.interval_min, before.before)


def _row(limit: NextDiveRow, limits: NextDive, before: TableCarried | None) -> DepthRow:
    pressure_bar = float(ambient_bar(limit.depth_m, limits.surface_bar))
    gas, density = limits.gas, float(gas_density_g_l(pressure_bar, limits.gas))
    nitrox = not gas.helium and gas.oxygen > AIR.oxygen
    return DepthRow(
        limit=limit,
        clock_fraction=_clock(limit),
        density_g_l=density,
        heaviness=heaviness(density),
        equivalent_air_m=equivalent_air_depth_m(gas, limit.depth_m, limits.surface_bar) if nitrox else None,
        table_min=table_limit_min(limit.depth_m, gas, limits.surface_bar, before),
    )


def _clock(limit: NextDiveRow) -> float | None:
    if limit.no_stop_min is None or bool(outside_table(limit.ppo2_bar)):
        return None
    return float(cns_rate_per_min(limit.ppo2_bar)) * limit.no_stop_min


def why_no_table(rows: Sequence[DepthRow]) -> str:
    """Return why the tables have no answer at any depth; empty where they have one at some."""
    reasons = [row.table_min.reason for row in rows if isinstance(row.table_min, OutsideTables)]
    return reasons[0] if reasons and len(reasons) == len(rows) else ""
