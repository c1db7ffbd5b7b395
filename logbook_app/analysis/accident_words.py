"""What a sheet for an accident says, in words that need no other page.

Nothing here is judged. A figure of the model is called one; what nobody recorded is said to be not
recorded. Depths are given in metres and in feet, clock times with their offset, because whoever
reads the sheet may be used to either.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from logbook_app.analysis.accident_record import AccidentRecord, RecentDive
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.dive_words import position_words
from logbook_app.analysis.spoken_times import clock_time, full_date, utc_offset
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration, spoken_time
from logbook_app.analysis.table_opinion import TABLE_NAME
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Dive
from logbook_app.physics.ascent_rate import FastStretch
from logbook_app.physics.breathing_gas import BreathingGas

NOT_RECORDED = "not recorded"
STRETCHES_TOLD = 2

_METRIC, _IMPERIAL = SpokenUnits("metric"), SpokenUnits("imperial")


def both_depths(depth_m: float) -> str:
    """Return a depth in both systems: `28.4 m (93 ft)`."""
    return f"{_METRIC.depth(depth_m)} ({_IMPERIAL.depth(depth_m)})"


def dive_heading(dive: Dive) -> str:
    """Return what the dive is called and when it was."""
    number = f"Dive {dive.number}" if dive.number is not None else "Dive without a number"
    return f"{number} · {_times(dive)}"


def dive_facts(recent: RecentDive) -> Iterator[tuple[str, str]]:
    """Yield what is known of a dive, as label and words."""
    dive, analysis = recent.view.dive, recent.view.analysis
    mean = f", mean {both_depths(analysis.mean_depth_m)}" if analysis.mean_depth_m is not None else ""
    yield "Depth", f"{both_depths(analysis.max_depth_m)}{mean}; {spoken_duration(dive.duration_min)}"
    yield "Surface interval before it", _interval(recent)
    yield "Gas", _gases(recent.view)
    yield "Ascent", _ascents(recent.view)
    yield "Stops", _stops(recent.view)
    yield "Place", _place(dive)
    yield "With", _company(dive)
    if recent.view.mended:
        yield "Recording", _mended(recent.view)
    if remarks := _remarks(recent.view):
        yield "Recorder marks", remarks


def dive_in_a_line(recent: RecentDive) -> str:
    """Return a dive as one line, for when there is room for no more."""
    dive, analysis = recent.view.dive, recent.view.analysis
    words = [
        f"{dive.number if dive.number is not None else '-'}",
        _times(dive),
        both_depths(analysis.max_depth_m),
        spoken_duration(dive.duration_min),
        dive.gas_words,
        "after " + _interval(recent) if recent.interval_before_min is not None else "",
        *_flags(recent.view),
    ]
    return " · ".join(word for word in words if word)


def state_facts(record: AccidentRecord, factors: str) -> Iterator[tuple[str, str]]:
    """Yield what the model and the tables say of the diver now, as label and words."""
    state = record.state
    if state.after is None or state.surface_interval_min is None:
        return
    half_time = f"{state.half_time_min[state.leading_compartment]:g} min"
    at_surfacing = percent(float(state.load_at_surfacing.max()))
    yield "Since surfacing", spoken_duration(state.surface_interval_min)
    yield (
        "Residual load",
        f"{percent(state.load_now)} of the surfacing limit in the compartment of {half_time}, "
        f"{at_surfacing} at surfacing (model ZH-L16C, {factors})",
    )
    yield "Oxygen", f"CNS {percent(state.cns_fraction)}, {state.otu_today:.0f} OTU on this day"
    yield f"Group ({TABLE_NAME})", state.table_outside or state.repetitive_group or "none left"


def _times(dive: Dive) -> str:
    began = dive.began_local
    ended = dive.ended_at.astimezone(began.tzinfo)
    return f"{full_date(began)}, in {clock_time(began)}, out {clock_time(ended)} ({utc_offset(began)})"


def _interval(recent: RecentDive) -> str:
    minutes = recent.interval_before_min
    return "no earlier dive recorded" if minutes is None else spoken_duration(minutes)


def _gases(view: DiveView) -> str:
    cylinders = "; ".join(_cylinder(cylinder) for cylinder in view.dive.cylinders) or NOT_RECORDED
    switches = "".join(f"; to {words}" for words in _switches(view))
    assumed = " (air assumed)" if view.analysis.gas_assumed else ""
    return f"{cylinders}{switches}; highest ppO₂ {view.analysis.ppo2_max_bar:.2f} bar{assumed}"


def _cylinder(cylinder: Cylinder) -> str:
    words = f"gas {NOT_RECORDED}" if cylinder.gas is None else _gas(cylinder.gas)
    if cylinder.volume_l is not None:
        words += f", {cylinder.volume_l:g} L"
    if cylinder.start_bar is not None and cylinder.end_bar is not None:
        words += f", {cylinder.start_bar:.0f} to {cylinder.end_bar:.0f} bar"
    return words


def _gas(gas: BreathingGas) -> str:
    helium = f", {percent(gas.helium)} He" if gas.helium > 0 else ""
    return gas.name if gas.name == "air" else f"{gas.name} ({percent(gas.oxygen)} O₂{helium})"


def _switches(view: DiveView) -> Iterator[str]:
    cylinders, series = view.dive.cylinders, view.analysis.series
    for switch in view.profile.switches if view.profile else ():
        if switch.time_s > 0 and switch.cylinder < len(cylinders):
            gas = cylinders[switch.cylinder].gas
            depth_m = float(np.interp(switch.time_s, series.time_s, series.depth_m))
            name = gas.name if gas else f"a gas {NOT_RECORDED}"
            yield f"{name} at {spoken_time(switch.time_s)} min, {both_depths(depth_m)}"


def _ascents(view: DiveView) -> str:
    limit = _both_rates(view.rules.ascent_limit_m_min)
    if view.analysis.estimate:
        return f"rate {NOT_RECORDED}: no samples"
    if not view.analysis.fast_ascents:
        return f"no stretch faster than {limit}"
    fastest_first = sorted(view.analysis.fast_ascents, key=lambda fast: -fast.rate_m_min)
    told = "; ".join(map(_fast, fastest_first[:STRETCHES_TOLD]))
    others = len(fastest_first) - STRETCHES_TOLD
    more = f"; and {others} more" if others > 0 else ""
    return f"FAST: {told}{more}; usual limit {limit}"


def _fast(fast: FastStretch) -> str:
    return (
        f"{_both_rates(fast.rate_m_min)} from {both_depths(fast.from_m)} to {both_depths(fast.to_m)} "
        f"at {spoken_time(fast.began_s)} min"
    )


def _both_rates(rate_m_min: float) -> str:
    return f"{_METRIC.rate(rate_m_min)} ({_IMPERIAL.rate(rate_m_min)})"


def _stops(view: DiveView) -> str:
    if view.analysis.estimate:
        return f"{NOT_RECORDED}: no samples, square profile taken; {_required(view)}"
    stop = view.analysis.safety_stop
    zone = "between 3 m (10 ft) and 6 m (20 ft)"
    held = f"{spoken_time(stop.minutes * 60)} min {zone}" if stop else f"none {zone}"
    return f"{held}; {_required(view)}"


def _required(view: DiveView) -> str:
    if not view.analysis.required_stops:
        return "the model asked for none"
    asked = f"the model's ceiling came to {both_depths(view.analysis.ceiling_max_m)}"
    if view.analysis.estimate:
        return f"{asked}, whether it was kept is {NOT_RECORDED}"
    missed = view.analysis.missed
    each = [
        f"{stop.minutes:.1f} min above the ceiling with the stop at {both_depths(stop.stop_depth_m)} due"
        for stop in missed.stops
    ]
    if missed.ceiling_left_m > 0:
        each.append(f"surfaced under a ceiling of {both_depths(missed.ceiling_left_m)}")
    return f"{asked}; MISSED: {'; '.join(each)}" if each else f"{asked}, none missed"


def _place(dive: Dive) -> str:
    height_m = dive.surface_elevation_m
    above = (
        f"{_METRIC.elevation(height_m)} ({_IMPERIAL.elevation(height_m)}) above sea level" if height_m else ""
    )
    words = [dive.site.name if dive.site else "", position_words(dive), above]
    return ", ".join(word for word in words if word) or NOT_RECORDED


def _company(dive: Dive) -> str:
    recorders = ", ".join(dict.fromkeys(r.recorder for r in dive.recordings if r.recorder))
    recorded = f"; recorded by {recorders}" if recorders else ""
    return f"{', '.join(dive.buddies) or f'buddy {NOT_RECORDED}'}{recorded}"


def _mended(view: DiveView) -> str:
    what = "; ".join(dict.fromkeys(mended.words.rstrip(".") for mended in view.mended))
    return f"the profile is as recorded; the figures rest on a mended copy: {what}"


def _remarks(view: DiveView) -> str:
    remarks = view.profile.remarks if view.profile else ()
    return "; ".join(f"{spoken_time(remark.time_s)} {remark.text}" for remark in remarks if remark.text)


def _flags(view: DiveView) -> Iterator[str]:
    analysis = view.analysis
    if analysis.estimate:
        yield "no samples"
    if analysis.fast_ascents:
        fastest = max(fast.rate_m_min for fast in analysis.fast_ascents)
        yield f"FAST ascent {_METRIC.rate(fastest)}"
    if analysis.required_stops:
        yield "stops required" + (", MISSED" if analysis.missed.any else "")
