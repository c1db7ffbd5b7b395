"""One dive through the physics: what it did to the diver, sample by sample and in sum."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from logbook_app.analysis.breathed_samples import (
    Breathed,
    breathed_samples,
    fractions_breathed,
    recorded_channel,
    surface_pressure_of,
)
from logbook_app.analysis.oxygen_doses import OxygenDoses, oxygen_doses
from logbook_app.analysis.table_opinion import TableCarried, as_the_tables_know_it
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.physics.ascent_rate import USUAL_LIMIT_M_MIN, FastStretch, fast_stretches
from logbook_app.physics.ascent_review import Rise, large_rises
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.ceiling import ceiling_m
from logbook_app.physics.dive_bounds import dive_bounds
from logbook_app.physics.equivalent_depths import WORKING_PPO2_LIMIT_BAR
from logbook_app.physics.gas_density import gas_density_along_g_l
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.mean_depth import mean_depth_m
from logbook_app.physics.missed_stops import NONE_MISSED, MissedStops, missed_stops
from logbook_app.physics.no_stop_limit import no_stop_min
from logbook_app.physics.repetitive_series import TabledDive, work_dive
from logbook_app.physics.residual_load import load_by_compartment
from logbook_app.physics.safety_stop import SafetyStop, safety_stop
from logbook_app.physics.set_point import load_along_on_loop
from logbook_app.physics.tissue_loading import Tensions, load_along, saturated_on_air
from logbook_app.physics.units import FloatArray

MODEL_VERSION = "ZH-L16C 1b, conventions 2"


@dataclass(frozen=True, slots=True)
class Rules:
    """The diver's own choices that a figure rests on.

    factors             gradient factors, low at the deepest ceiling and high at the surface
    ascent_limit_m_min  the rate above which an ascent is called fast [m/min]
    ppo2_limit_bar      the oxygen pressure that a greatest depth is worked out for [bar]
    """

    factors: GradientFactors = field(default_factory=GradientFactors)
    ascent_limit_m_min: float = USUAL_LIMIT_M_MIN
    ppo2_limit_bar: float = WORKING_PPO2_LIMIT_BAR


@dataclass(frozen=True, slots=True)
class Carried:
    """What a diver still carries when a dive begins; table is None after no dive, or none that counts."""

    tensions: Tensions
    cns_fraction: float = 0.0
    table: TableCarried | None = None


@dataclass(frozen=True, eq=False)
class DiveSeries:
    """Figures at each sample, each array (n,); optional ones None where nothing was recorded.

    n2_bar, he_bar   tension of each compartment, (n, 16)
    loads            share of the surfacing limit of each compartment, (n, 16); `load` is the largest
    no_stop_min      NaN where there is no limit within 24 h
    """

    time_s: FloatArray
    depth_m: FloatArray
    n2_bar: FloatArray
    he_bar: FloatArray
    ceiling_m: FloatArray
    no_stop_min: FloatArray
    loads: FloatArray
    load: FloatArray
    ppo2_bar: FloatArray
    cns_fraction: FloatArray
    density_g_l: FloatArray
    temperature_c: FloatArray | None
    pressure_bar: FloatArray | None


@dataclass(frozen=True, eq=False, kw_only=True)
class DiveAnalysis:
    """What one dive did to the diver.

    ended_at         surfacing, by the dive bounds [UTC]
    state_at         instant of the last sample, which `tensions_end` belongs to [UTC]
    load_end         share of the surfacing limit in the leading compartment [fraction]
    ceiling_max_m    deepest ceiling; above 0 means that stops were required [m]
    no_stop_least_*  the least no-stop time, when and how deep; None where there was no limit
    missed           time above the ceiling, by the stop that was due; none without samples, of which nobody
                     knows
    cns_fraction     oxygen clock at the end, with what was carried into the dive [fraction]
    day_oxygen_fraction   share of NOAA's 24-hour limit that this dive took [fraction]
    repeated_ascents large rises after which the diver went down again
    loop_unknown     True where the recorder says loop and wrote no oxygen pressure
    table            the US Navy tables' view of the dive, another model than all the rest
    """

    began_at: datetime
    ended_at: datetime
    state_at: datetime
    duration_min: float
    max_depth_m: float
    mean_depth_m: float | None
    surface_bar: float
    tensions_end: Tensions
    load_end: float
    leading_compartment: int
    ceiling_max_m: float
    missed: MissedStops
    no_stop_least_min: float | None
    no_stop_least_at_s: float | None
    no_stop_least_depth_m: float | None
    cns_fraction: float
    cns_carried: float
    day_oxygen_fraction: float
    otu: float
    ppo2_max_bar: float
    density_max_g_l: float
    fast_ascents: tuple[FastStretch, ...]
    repeated_ascents: tuple[Rise, ...]
    safety_stop: SafetyStop | None
    lowest_temperature_c: float | None
    estimate: bool
    gas_assumed: bool
    loop_unknown: bool
    table: TabledDive
    series: DiveSeries

    @property
    def above_ceiling_min(self) -> float:
        """Time above the ceiling [min]."""
        return self.missed.minutes

    @property
    def required_stops(self) -> bool:
        """True where the model asked for a stop before surfacing."""
        return self.ceiling_max_m > 0

    @property
    def safety_stop_min(self) -> float:
        """Time between 3 and 6 m on the way up [min]; 0 where there was none."""
        return self.safety_stop.minutes if self.safety_stop else 0.0

    @property
    def repetitive_group(self) -> str | None:
        """Group at surfacing by the US Navy tables; None where they do not hold the dive."""
        return self.table.group_after if isinstance(self.table.group_after, str) else None


def nothing_carried(dive: Dive) -> Carried:
    """Return the state of a diver who has long been at the dive's surface, breathing air."""
    return Carried(saturated_on_air(surface_pressure_of(dive)))


def analyse(dive: Dive, profile: Profile | None, carried: Carried, rules: Rules) -> DiveAnalysis:
    """Return the analysis of one dive.

    dive, profile  the record and its samples; None takes a square profile
    carried        what the diver brought into it, from `repetitive_dives`
    rules          the diver's gradient factors and limits
    """
    breathed = breathed_samples(dive, profile)
    n2_bar, he_bar = _loading(breathed, carried.tensions)
    doses = oxygen_doses(breathed, carried.cns_fraction)
    series = _series(dive, profile, breathed, (n2_bar, he_bar), doses, rules)
    begin, end = dive_proper(breathed)
    load_end = load_by_compartment(n2_bar[-1], he_bar[-1], breathed.surface_bar, rules.factors.high)
    least = _least_no_stop(series)
    return DiveAnalysis(
        began_at=instant_of(dive, breathed, begin),
        ended_at=instant_of(dive, breathed, end),
        state_at=instant_of(dive, breathed, -1),
        duration_min=float(breathed.time_s[end] - breathed.time_s[begin]) / 60,
        max_depth_m=float(breathed.depth_m.max()),
        mean_depth_m=_mean_depth_m(dive, profile, breathed, begin, end),
        surface_bar=breathed.surface_bar,
        tensions_end=Tensions(n2_bar[-1], he_bar[-1]),
        load_end=float(load_end.max()),
        leading_compartment=int(load_end.argmax()),
        ceiling_max_m=float(series.ceiling_m.max()),
        missed=NONE_MISSED if profile is None else _missed_stops(series),
        no_stop_least_min=None if least is None else float(series.no_stop_min[least]),
        no_stop_least_at_s=None if least is None else float(series.time_s[least]),
        no_stop_least_depth_m=None if least is None else float(series.depth_m[least]),
        cns_fraction=float(series.cns_fraction[-1]),
        cns_carried=carried.cns_fraction,
        day_oxygen_fraction=doses.day_fraction,
        otu=doses.otu,
        ppo2_max_bar=float(series.ppo2_bar.max()),
        density_max_g_l=float(series.density_g_l.max()),
        fast_ascents=() if profile is None else _fast_ascents(breathed, rules),
        repeated_ascents=() if profile is None else _repeated_ascents(breathed),
        safety_stop=None if profile is None else safety_stop(breathed.time_s, breathed.depth_m),
        lowest_temperature_c=_lowest_temperature_c(dive, series),
        estimate=profile is None,
        gas_assumed=breathed.gas_assumed,
        loop_unknown=breathed.loop_unknown,
        table=table_view(dive, breathed, begin, end, carried.table),
        series=series,
    )


def _loading(breathed: Breathed, start: Tensions) -> tuple[FloatArray, FloatArray]:
    open_circuit = (breathed.time_s / 60, breathed.ambient_bar, breathed.nitrogen, breathed.helium)
    if breathed.loop is None:
        return load_along(start, *open_circuit)
    return load_along_on_loop(start, *open_circuit, breathed.loop.start_bar, breathed.loop.end_bar)


def _series(
    dive: Dive,
    profile: Profile | None,
    breathed: Breathed,
    tensions: tuple[FloatArray, FloatArray],
    doses: OxygenDoses,
    rules: Rules,
) -> DiveSeries:
    n2_bar, he_bar = tensions
    surface_bar, factors = breathed.surface_bar, rules.factors
    loads = load_by_compartment(n2_bar, he_bar, surface_bar, factors.high)
    shares = fractions_breathed(breathed)
    return DiveSeries(
        time_s=breathed.time_s,
        depth_m=breathed.depth_m,
        n2_bar=n2_bar,
        he_bar=he_bar,
        ceiling_m=ceiling_m(n2_bar, he_bar, surface_bar, dive.water.density_kg_m3, factors),
        no_stop_min=no_stop_min(n2_bar, he_bar, breathed.ambient_bar, surface_bar, *shares, factors.high),
        loads=loads,
        load=loads.max(axis=-1),
        ppo2_bar=doses.at_bar,
        cns_fraction=doses.cns_fraction,
        density_g_l=gas_density_along_g_l(breathed.ambient_bar, *shares),
        temperature_c=recorded_channel(profile, breathed, "temperature_c"),
        pressure_bar=recorded_channel(profile, breathed, "pressure_bar_0"),
    )


def instant_of(dive: Dive, breathed: Breathed, sample: int) -> datetime:
    """Return when a sample was taken. [UTC]"""
    return dive.began_at + timedelta(seconds=float(breathed.time_s[sample]))


def dive_proper(breathed: Breathed) -> tuple[int, int]:
    """Return the first and last sample of the dive proper; all of it where it stayed above 1 m."""
    stretches = dive_bounds(breathed.time_s, breathed.depth_m)
    if not stretches:
        return 0, len(breathed.time_s) - 1
    return stretches[0][0], stretches[-1][1]


def table_view(
    dive: Dive, breathed: Breathed, begin: int, end: int, carried: TableCarried | None
) -> TabledDive:
    """Return the dive as the US Navy tables see it, after what they know of the diver before it."""
    window, segments = slice(begin, end + 1), slice(begin, max(end, begin + 1))
    shares = set(zip(breathed.oxygen[segments].tolist(), breathed.helium[segments].tolist(), strict=True))
    known = as_the_tables_know_it(
        dive,
        breathed.time_s[window],
        breathed.ambient_bar[window] - breathed.surface_bar,
        {BreathingGas(oxygen, helium) for oxygen, helium in shares},
        on_loop=breathed.loop is not None or breathed.loop_unknown,
    )
    return work_dive(known) if carried is None else work_dive(known, carried.interval_min, carried.before)


def _mean_depth_m(
    dive: Dive, profile: Profile | None, breathed: Breathed, begin: int, end: int
) -> float | None:
    if profile is None or end == begin:
        return dive.mean_depth_m
    window = slice(begin, end + 1)
    return mean_depth_m(breathed.time_s[window], breathed.depth_m[window])


def _least_no_stop(series: DiveSeries) -> int | None:
    if np.isnan(series.no_stop_min).all():
        return None
    return int(np.nanargmin(series.no_stop_min))


def _missed_stops(series: DiveSeries) -> MissedStops:
    return missed_stops(series.time_s, series.depth_m, series.ceiling_m)


def _repeated_ascents(breathed: Breathed) -> tuple[Rise, ...]:
    rises = large_rises(breathed.time_s, breathed.depth_m)
    return tuple(rise for rise in rises if rise.down_again)


def _fast_ascents(breathed: Breathed, rules: Rules) -> tuple[FastStretch, ...]:
    return tuple(fast_stretches(breathed.time_s, breathed.depth_m, rules.ascent_limit_m_min))


def _lowest_temperature_c(dive: Dive, series: DiveSeries) -> float | None:
    if series.temperature_c is not None and not np.isnan(series.temperature_c).all():
        return float(np.nanmin(series.temperature_c))
    return dive.lowest_temperature_c
