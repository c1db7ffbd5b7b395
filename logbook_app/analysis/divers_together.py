"""Several divers on one chart: the leader's section with the lines of the others on the leader's clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from logbook_app.analysis.comparison_words import laying_words, named
from logbook_app.analysis.other_recording import ALIKE_M, OtherRecording
from logbook_app.analysis.sampled import sampled
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_time
from logbook_app.language import _

if TYPE_CHECKING:
    from logbook_app.analysis.compared_dives import Comparison
    from logbook_app.analysis.dive_view import DiveView
    from logbook_app.analysis.section_of_dive import Section

SECONDS_ALIKE = 0.5


def lines_of_divers(views: Sequence[DiveView], comparison: Comparison) -> tuple[OtherRecording, ...]:
    """Return the lines of those beside the leader, each on the leader's clock.

    views   of the dives compared, the leader's first
    """
    return tuple(
        _line(view, named(beside.side), beside.lag_s, laying_words(beside))
        for view, beside in zip(views[1:], comparison.others, strict=True)
    )


def moved(line: OtherRecording, by_s: float) -> OtherRecording:
    """Return a line further to the right by so much, or to the left [s]."""
    temperature = line.temperature
    if temperature is not None:
        temperature = replace(temperature, time_s=temperature.time_s + by_s)
    return replace(line, time_s=line.time_s + by_s, temperature=temperature)


def divers_readout(section: Section, time_s: float) -> list[str]:
    """Return what the scrub card says of several divers: the instant, then each with a depth.

    How far each is from the leader stands beside the depth, of a single other under it.
    """
    leader_m = section.depth_at(time_s)
    said = [section.diver, section.units.depth(leader_m)]
    if section.temperature is not None:
        said.append(section.units.temperature(section.temperature.nearest(time_s)))
    alone = len(section.divers) == 1
    others = [_said_of(line, time_s, leader_m, section.units, alone) for line in section.divers]
    return [spoken_time(time_s), " · ".join(said), *(words for lines in others for words in lines)]


def lag_words(lag_s: float, by_clock_s: float) -> str:
    """Say where a line lies, counted from where the two clocks would put it.

    >>> lag_words(12.0, 0.0)
    '12 s later than its clock'
    """
    apart = round(lag_s - by_clock_s)
    if abs(lag_s - by_clock_s) < SECONDS_ALIKE:
        return _("where its clock puts it")
    length = _("{seconds} s").format(seconds=abs(apart)) if abs(apart) < 120 else _long(abs(apart))
    form = _("{length} later than its clock") if apart > 0 else _("{length} earlier than its clock")
    return form.format(length=length)


def _long(seconds: int) -> str:
    if seconds < 3600:
        return _("{minutes} min {seconds} s").format(minutes=seconds // 60, seconds=f"{seconds % 60:02d}")
    if seconds < 48 * 3600:
        return _("{hours} h {minutes} min").format(
            hours=seconds // 3600, minutes=f"{seconds % 3600 // 60:02d}"
        )
    return _("{days} d {hours} h").format(days=seconds // 86400, hours=seconds % 86400 // 3600)


def _line(view: DiveView, name: str, lag_s: float, words: str) -> OtherRecording:
    series = view.analysis.series
    time_s = series.time_s + lag_s
    temperature = sampled(time_s, series.temperature_c)
    return OtherRecording(view.dive.id, name, time_s, series.depth_m, words, temperature)


def _said_of(
    line: OtherRecording, time_s: float, leader_m: float, units: SpokenUnits, alone: bool
) -> list[str]:
    """Return what is said of one of the others: in a group one line, short enough for a phone."""
    depth_m = line.depth_at(time_s)
    if depth_m is None:
        return [_("{name}: nothing recorded").format(name=line.short)]
    said, apart = [line.short, units.depth(depth_m)], _apart(depth_m - leader_m, units)
    if not alone:
        return [" · ".join([*said, apart])]
    if line.temperature is not None:
        said.append(units.temperature(line.temperature.nearest(time_s)))
    return [" · ".join(said), apart]


def _apart(apart_m: float, units: SpokenUnits) -> str:
    if abs(apart_m) < ALIKE_M:
        return _("as deep")
    form = _("{apart} deeper") if apart_m > 0 else _("{apart} shallower")
    return form.format(apart=units.depth(abs(apart_m)))
