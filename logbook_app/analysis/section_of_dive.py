"""What one dive puts on its chart: the line, the ceiling, the stop, the marks, and every value.

Plain functions turn the analysis of a dive into a `Section`; the widget draws it, and `readout` has
what to say under the finger. No window needed.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from logbook_app.analysis.chart_lines import turning_points
from logbook_app.analysis.physics_sentences import gas_words
from logbook_app.analysis.sampled import Sampled, sampled, sampled_tanks
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.language import _
from logbook_app.physics.units import FloatArray

if TYPE_CHECKING:
    from logbook_app.analysis.dive_analysis import DiveAnalysis, DiveSeries
    from logbook_app.analysis.other_recording import OtherRecording
    from logbook_app.dive.profile import Profile
    from logbook_app.dive.record import Dive
    from logbook_app.physics.ascent_rate import FastStretch

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
    temperature, tanks, heading   what was sampled besides; pressures by cylinder
    other             another recording laid over this one, None for none
    divers            lines of others who were there, laid on this clock; none on the page of a dive
    diver             whose line this is, where there are others
    estimate          True for a square profile: nobody measured this line
    """

    time_s: FloatArray
    depth_m: FloatArray
    series: DiveSeries
    units: SpokenUnits
    remarks: tuple[Mark, ...] = ()
    gases: tuple[Mark, ...] = ()
    stop: Mark | None = None
    temperature: Sampled | None = None
    tanks: tuple[Sampled, ...] = ()
    heading: Sampled | None = None
    other: OtherRecording | None = None
    divers: tuple[OtherRecording, ...] = ()
    diver: str = ""
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
    def drawn_depth_m(self) -> float:
        """The deepest that is drawn, whichever recording has it [m]."""
        return max([self.max_depth_m, *(line.max_depth_m for line in self.laid_over)])

    @property
    def drawn_end_s(self) -> float:
        """The last instant that is drawn, whichever recording has it [s]."""
        return max([self.end_s, *(line.end_s for line in self.laid_over)])

    @property
    def laid_over(self) -> tuple[OtherRecording, ...]:
        """Every other line that is drawn: one that only began long after this dive is not."""
        divers = tuple(line for line in self.divers if line.begins_s < self.end_s and line.end_s > 0)
        return divers if self.other is None else (self.other, *divers)

    @property
    def imperial(self) -> bool:
        """True where depths are numbered in feet."""
        return not self.units.metric

    @cached_property
    def turns(self) -> NDArray[np.intp]:
        """Samples where the diver turned, the ones worth a sounding first; see `turning_points`."""
        swing_m = max(LEAST_SWING_M, SWING_SHARE * self.max_depth_m)
        return np.array(turning_points(self.depth_m.tolist(), swing_m), dtype=np.intp)

    @cached_property
    def sample_times_s(self) -> list[float]:
        """When the samples of `series` were taken, to look up the nearest [s]."""
        return list(self.series.time_s.tolist())

    @cached_property
    def _line_times_s(self) -> list[float]:
        return list(self.time_s.tolist())

    def depth_at(self, time_s: float) -> float:
        """Return the depth of the line at an instant [m]."""
        times_s = self._line_times_s
        if not times_s[0] < time_s < times_s[-1]:
            return float(self.depth_m[0 if time_s <= times_s[0] else -1])
        after = bisect_right(times_s, time_s)
        share = (time_s - times_s[after - 1]) / (times_s[after] - times_s[after - 1])
        before_m, after_m = float(self.depth_m[after - 1]), float(self.depth_m[after])
        return before_m + share * (after_m - before_m)


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
        temperature=sampled(series.time_s, series.temperature_c),
        tanks=sampled_tanks(dive, profile),
        heading=None if profile is None else sampled(profile.time_s, profile.channel("heading_deg")),
        estimate=profile is None,
    )


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
    seconds = f"{stretch.ended_s - stretch.began_s:.0f}"
    return _("ascent {rate} for {seconds} s").format(rate=units.rate(stretch.rate_m_min), seconds=seconds)


def _gases(dive: Dive, profile: Profile | None) -> tuple[Mark, ...]:
    """Return the first gas and every change of gas after it; a cylinder without a gas is left out."""
    switches = profile.switches if profile else ()
    marks: list[Mark] = []
    for time_s, cylinder in [(0.0, 0), *((switch.time_s, switch.cylinder) for switch in switches)]:
        gas = dive.cylinders[cylinder].gas if cylinder < len(dive.cylinders) else None
        if gas is not None and not (marks and marks[-1].words == gas_words(gas)):
            marks.append(Mark(time_s, time_s, gas_words(gas)))
    return tuple(marks)


def _stop(analysis: DiveAnalysis) -> Mark | None:
    stop = analysis.safety_stop
    if stop is None:
        return None
    words = _("stop {time}") if analysis.required_stops else _("safety stop {time}")
    return Mark(stop.began_s, stop.ended_s, words.format(time=_minutes_and_seconds(stop.minutes)))


def _minutes_and_seconds(minutes: float) -> str:
    whole_s = round(minutes * 60)
    return f"{whole_s // 60} min {whole_s % 60:02d} s" if whole_s % 60 else f"{whole_s // 60} min"
