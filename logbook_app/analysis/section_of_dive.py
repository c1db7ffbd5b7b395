"""What one dive puts on its chart: the line, the ceiling, the stop, the marks, and every value.

Plain functions turn the analysis of a dive into a `Section`; the widget draws it and asks it what to
say under the finger. No window needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from logbook_app.analysis.chart_lines import turning_points
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_time
from logbook_app.physics.units import FloatArray

if TYPE_CHECKING:
    from logbook_app.analysis.dive_analysis import DiveAnalysis, DiveSeries
    from logbook_app.dive.profile import Profile
    from logbook_app.dive.record import Dive
    from logbook_app.physics.ascent_rate import FastStretch

NEAR_A_MARK_S = 12.0  # about the width of a fingertip on the chart of an hour's dive
SWING_SHARE = 0.012  # of the greatest depth: a smaller turn is not worth a sounding
LEAST_SWING_M = 0.35  # above the flicker of a recorder that shows decimetres
INSTANT_S = 0.01  # a square profile goes down and comes up in no time; a line needs some


@dataclass(frozen=True, slots=True)
class Mark:
    """Words that belong to one stretch of the dive; `from_s` and `to_s` are equal for an instant."""

    from_s: float
    to_s: float
    words: str

    @property
    def middle_s(self) -> float:
        """Where its leader stands [s]."""
        return (self.from_s + self.to_s) / 2


@dataclass(frozen=True, eq=False, repr=False)  # Kivy takes the repr of whatever passes through kv
class Section:
    """One dive as a chart section.

    time_s, depth_m   the line, (n,) each
    series            every value along the dive
    remarks           fast ascents first, then what the recorder or the diver marked
    gases             what was breathed from each instant on, in order
    stop              the time between 3 and 6 m on the way up, None where there was none
    estimate          True for a square profile: nobody measured this line
    """

    time_s: FloatArray
    depth_m: FloatArray
    series: DiveSeries
    units: SpokenUnits
    remarks: tuple[Mark, ...] = ()
    gases: tuple[Mark, ...] = ()
    stop: Mark | None = None
    estimate: bool = False

    @property
    def end_s(self) -> float:
        """The last instant of the line [s]."""
        return float(self.time_s[-1])

    @property
    def max_depth_m(self) -> float:
        """The deepest sample [m]."""
        return float(self.depth_m.max())

    @property
    def imperial(self) -> bool:
        """True where depths are numbered in feet."""
        return not self.units.metric

    @cached_property
    def turns(self) -> NDArray[np.intp]:
        """Samples where the diver turned, the ones worth a sounding first; see `turning_points`."""
        swing_m = max(LEAST_SWING_M, SWING_SHARE * self.max_depth_m)
        return np.array(turning_points(self.depth_m.tolist(), swing_m), dtype=np.intp)

    def depth_at(self, time_s: float) -> float:
        """Return the depth of the line at an instant [m]."""
        return float(np.interp(time_s, self.time_s, self.depth_m))


def section_of_dive(
    dive: Dive, profile: Profile | None, analysis: DiveAnalysis, units: SpokenUnits
) -> Section:
    """Return what a dive puts on its chart.

    dive, profile  the record and its samples; without samples the line is the square that the
                   analysis took
    analysis       of that dive
    units          the diver's
    """
    series = analysis.series
    time_s, depth_m = _square(series) if profile is None else (series.time_s, series.depth_m)
    return Section(
        time_s=time_s,
        depth_m=depth_m,
        series=series,
        units=units,
        remarks=_remarks(profile, analysis, units),
        gases=_gases(dive, profile),
        stop=_stop(analysis),
        estimate=profile is None,
    )


def readout(section: Section, time_s: float) -> list[str]:
    """Return what the scrub card says about one instant; the first line leads.

    Depth is read off the line; everything else is the value of the nearest sample that has one.
    """
    series, units = section.series, section.units
    at = _nearest_sample(series.time_s, time_s)
    leading = [spoken_time(time_s), units.depth(section.depth_at(time_s))]
    if (temperature_c := _nearest(series.temperature_c, at)) is not None:
        leading.append(units.temperature(temperature_c))
    lines = [leading, _limits(section, at), _oxygen(section, at), _gas(section, time_s, at)]
    lines += [[mark.words] for mark in section.remarks if _covers(mark, time_s)]
    return [" · ".join(parts) for parts in lines if parts]


def _limits(section: Section, at: int) -> list[str]:
    no_stop_min, ceiling_m = section.series.no_stop_min[at], section.series.ceiling_m[at]
    no_stop = "over 24 h" if np.isnan(no_stop_min) else f"{int(no_stop_min)} min"
    ceiling = section.units.depth(ceiling_m) if ceiling_m > 0 else "none"
    return [f"no-stop {no_stop}", f"ceiling {ceiling}"]


def _oxygen(section: Section, at: int) -> list[str]:
    series = section.series
    return [f"ppO₂ {series.ppo2_bar[at]:.2f} bar", f"CNS {percent(float(series.cns_fraction[at]))}"]


def _gas(section: Section, time_s: float, at: int) -> list[str]:
    said = [mark.words for mark in section.gases if mark.from_s <= time_s][-1:]
    said.append(f"{section.series.density_g_l[at]:.1f} g/L")
    if (pressure_bar := _nearest(section.series.pressure_bar, at)) is not None:
        said.append(section.units.pressure(pressure_bar))
    return [*said, f"load {percent(float(section.series.load[at]))}"]


def _nearest_sample(times_s: FloatArray, time_s: float) -> int:
    after = min(max(1, int(np.searchsorted(times_s, time_s))), len(times_s) - 1)
    return after - 1 if time_s - times_s[after - 1] <= times_s[after] - time_s else after


def _nearest(values: FloatArray | None, at: int) -> float | None:
    """Return the value at a sample, or at the nearest one that has any."""
    if values is None:
        return None
    if not np.isnan(values[at]):
        return float(values[at])
    known = np.flatnonzero(~np.isnan(values))
    return float(values[known[np.argmin(np.abs(known - at))]]) if known.size else None


def _covers(mark: Mark, time_s: float) -> bool:
    return mark.from_s - NEAR_A_MARK_S <= time_s <= mark.to_s + NEAR_A_MARK_S


def _square(series: DiveSeries) -> tuple[FloatArray, FloatArray]:
    first, last = float(series.time_s[0]), float(series.time_s[-1])
    depth_m = float(series.depth_m.max())
    return np.array([first, first + INSTANT_S, last - INSTANT_S, last]), np.array(
        [0.0, depth_m, depth_m, 0.0]
    )


def _remarks(profile: Profile | None, analysis: DiveAnalysis, units: SpokenUnits) -> tuple[Mark, ...]:
    fast = [
        Mark(stretch.began_s, stretch.ended_s, _fast_words(stretch, units))
        for stretch in analysis.fast_ascents
    ]
    written = [
        Mark(remark.time_s, remark.time_s, remark.text)
        for remark in (profile.remarks if profile else ())
        if remark.text
    ]
    return tuple(fast + written)


def _fast_words(stretch: FastStretch, units: SpokenUnits) -> str:
    return f"ascent {units.rate(stretch.rate_m_min)} for {stretch.ended_s - stretch.began_s:.0f} s"


def _gases(dive: Dive, profile: Profile | None) -> tuple[Mark, ...]:
    """Return the first gas and every change of gas after it; a cylinder without a gas is left out."""
    switches = profile.switches if profile else ()
    marks: list[Mark] = []
    for time_s, cylinder in [(0.0, 0), *((switch.time_s, switch.cylinder) for switch in switches)]:
        gas = dive.cylinders[cylinder].gas if cylinder < len(dive.cylinders) else None
        if gas is not None and not (marks and marks[-1].words == gas.name):
            marks.append(Mark(time_s, time_s, gas.name))
    return tuple(marks)


def _stop(analysis: DiveAnalysis) -> Mark | None:
    stop = analysis.safety_stop
    if stop is None:
        return None
    kind = "stop" if analysis.required_stops else "safety stop"
    return Mark(stop.began_s, stop.ended_s, f"{kind} {_minutes_and_seconds(stop.minutes)}")


def _minutes_and_seconds(minutes: float) -> str:
    whole_s = round(minutes * 60)
    return f"{whole_s // 60} min {whole_s % 60:02d} s" if whole_s % 60 else f"{whole_s // 60} min"
