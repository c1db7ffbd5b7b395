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
from logbook_app.analysis.physics_sentences import gas_words, gases_of, said
from logbook_app.analysis.spoken_times import clock_time, full_date, utc_offset
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration, spoken_time
from logbook_app.analysis.table_opinion import table_name
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Dive
from logbook_app.language import _, number
from logbook_app.physics.ascent_rate import FastStretch
from logbook_app.physics.breathing_gas import BreathingGas

STRETCHES_TOLD = 2

_METRIC, _IMPERIAL = SpokenUnits("metric"), SpokenUnits("imperial")


def both_depths(depth_m: float) -> str:
    """Return a depth in both systems: `28.4 m (93 ft)`."""
    return f"{_METRIC.depth(depth_m)} ({_IMPERIAL.depth(depth_m)})"


def dive_heading(dive: Dive) -> str:
    """Return what the dive is called and when it was."""
    number = (
        _("Dive {number}").format(number=dive.number)
        if dive.number is not None
        else _("Dive without a number")
    )
    return f"{number} · {_times(dive)}"


def dive_facts(recent: RecentDive) -> Iterator[tuple[str, str]]:
    """Yield what is known of a dive, as label and words."""
    dive, analysis = recent.view.dive, recent.view.analysis
    mean = (
        _(", mean {depth}").format(depth=both_depths(analysis.mean_depth_m))
        if analysis.mean_depth_m is not None
        else ""
    )
    yield _("Depth"), f"{both_depths(analysis.max_depth_m)}{mean}; {spoken_duration(dive.duration_min)}"
    yield _("Surface interval before it"), _interval(recent)
    yield _("Gas"), _gases(recent.view)
    yield _("Ascent"), _ascents(recent.view)
    yield _("Stops"), _stops(recent.view)
    yield _("Place"), _place(dive)
    yield _("With"), _company(dive)
    if recent.view.mended:
        yield _("Recording"), _mended(recent.view)
    if remarks := _remarks(recent.view):
        yield _("Recorder marks"), remarks


def dive_in_a_line(recent: RecentDive) -> str:
    """Return a dive as one line, for when there is room for no more."""
    dive, analysis = recent.view.dive, recent.view.analysis
    words = [
        f"{dive.number if dive.number is not None else '-'}",
        _times(dive),
        both_depths(analysis.max_depth_m),
        spoken_duration(dive.duration_min),
        gases_of(dive),
        "after " + _interval(recent) if recent.interval_before_min is not None else "",
        *_flags(recent.view),
    ]
    return " · ".join(word for word in words if word)


def state_facts(record: AccidentRecord, factors: str) -> Iterator[tuple[str, str]]:
    """Yield what the model and the tables say of the diver now, as label and words."""
    state = record.state
    if state.after is None or state.surface_interval_min is None:
        return
    half_time = f"{number(state.half_time_min[state.leading_compartment], 'g')} min"
    at_surfacing = percent(float(state.load_at_surfacing.max()))
    yield _("Since surfacing"), spoken_duration(state.surface_interval_min)
    yield (
        _("Residual load"),
        _(
            "{percent} of the surfacing limit in the compartment of {half_time}, {at_surfacing} at "
            "surfacing (model ZH-L16C, {factors})"
        ).format(
            percent=percent(state.load_now), half_time=half_time, at_surfacing=at_surfacing, factors=factors
        ),
    )
    yield (
        _("Oxygen"),
        _("CNS {percent}, {otu_today} OTU on this day").format(
            percent=percent(state.cns_fraction), otu_today=f"{state.otu_today:.0f}"
        ),
    )
    yield (
        _("Group ({table})").format(table=table_name()),
        said(state.table_outside) or state.repetitive_group or _("none left"),
    )


def _times(dive: Dive) -> str:
    began = dive.began_local
    ended = dive.ended_at.astimezone(began.tzinfo)
    return _("{date}, in {began}, out {ended} ({utc_offset})").format(
        date=full_date(began),
        began=clock_time(began),
        ended=clock_time(ended),
        utc_offset=utc_offset(began),
    )


def _interval(recent: RecentDive) -> str:
    minutes = recent.interval_before_min
    return _("no earlier dive recorded") if minutes is None else spoken_duration(minutes)


def _gases(view: DiveView) -> str:
    cylinders = "; ".join(_cylinder(cylinder) for cylinder in view.dive.cylinders) or _("not recorded")
    switches = "".join(_("; to {words}").format(words=words) for words in _switches(view))
    assumed = " " + _("(air assumed)") if view.analysis.gas_assumed else ""
    return _("{cylinders}{switches}; highest ppO₂ {ppo2_max_bar} bar{assumed}").format(
        cylinders=cylinders,
        switches=switches,
        ppo2_max_bar=number(view.analysis.ppo2_max_bar, ".2f"),
        assumed=assumed,
    )


def _cylinder(cylinder: Cylinder) -> str:
    words = _("gas not recorded") if cylinder.gas is None else _gas(cylinder.gas)
    if cylinder.volume_l is not None:
        words += f", {number(cylinder.volume_l, 'g')} L"
    if cylinder.start_bar is not None and cylinder.end_bar is not None:
        words += _(", {start_bar} to {end_bar} bar").format(
            start_bar=f"{cylinder.start_bar:.0f}", end_bar=f"{cylinder.end_bar:.0f}"
        )
    return words


def _gas(gas: BreathingGas) -> str:
    helium = f", {percent(gas.helium)} He" if gas.helium > 0 else ""
    name = gas_words(gas)
    return name if gas.name == "air" else f"{name} ({percent(gas.oxygen)} O₂{helium})"


def _switches(view: DiveView) -> Iterator[str]:
    cylinders, series = view.dive.cylinders, view.analysis.series
    for switch in view.profile.switches if view.profile else ():
        if switch.time_s > 0 and switch.cylinder < len(cylinders):
            gas = cylinders[switch.cylinder].gas
            depth_m = float(np.interp(switch.time_s, series.time_s, series.depth_m))
            name = gas_words(gas) if gas else _("a gas not recorded")
            yield _("{name} at {time} min, {depth}").format(
                name=name, time=spoken_time(switch.time_s), depth=both_depths(depth_m)
            )


def _ascents(view: DiveView) -> str:
    limit = _both_rates(view.rules.ascent_limit_m_min)
    if view.analysis.estimate:
        return _("rate not recorded: no samples")
    if not view.analysis.fast_ascents:
        return _("no stretch faster than {limit}").format(limit=limit)
    fastest_first = sorted(view.analysis.fast_ascents, key=lambda fast: -fast.rate_m_min)
    told = "; ".join(map(_fast, fastest_first[:STRETCHES_TOLD]))
    others = len(fastest_first) - STRETCHES_TOLD
    more = _("; and {others} more").format(others=others) if others > 0 else ""
    return _("FAST: {told}{more}; usual limit {limit}").format(told=told, more=more, limit=limit)


def _fast(fast: FastStretch) -> str:
    return _("{both_rates} from {from_depth} to {to_depth} at {time} min").format(
        both_rates=_both_rates(fast.rate_m_min),
        from_depth=both_depths(fast.from_m),
        to_depth=both_depths(fast.to_m),
        time=spoken_time(fast.began_s),
    )


def _both_rates(rate_m_min: float) -> str:
    return f"{_METRIC.rate(rate_m_min)} ({_IMPERIAL.rate(rate_m_min)})"


def _stops(view: DiveView) -> str:
    if view.analysis.estimate:
        return _("not recorded: no samples, square profile taken; {required}").format(
            required=_required(view)
        )
    stop = view.analysis.safety_stop
    zone = "between 3 m (10 ft) and 6 m (20 ft)"
    held = f"{spoken_time(stop.minutes * 60)} min {zone}" if stop else _("none {zone}").format(zone=zone)
    return f"{held}; {_required(view)}"


def _required(view: DiveView) -> str:
    if not view.analysis.required_stops:
        return _("the model asked for none")
    asked = _("the model's ceiling came to {depth}").format(depth=both_depths(view.analysis.ceiling_max_m))
    if view.analysis.estimate:
        return _("{asked}, whether it was kept is not recorded").format(asked=asked)
    missed = view.analysis.missed
    each = [
        _("{minutes} min above the ceiling with the stop at {depth} due").format(
            minutes=number(stop.minutes, ".1f"), depth=both_depths(stop.stop_depth_m)
        )
        for stop in missed.stops
    ]
    if missed.ceiling_left_m > 0:
        each.append(_("surfaced under a ceiling of {depth}").format(depth=both_depths(missed.ceiling_left_m)))
    return f"{asked}; MISSED: {'; '.join(each)}" if each else _("{asked}, none missed").format(asked=asked)


def _place(dive: Dive) -> str:
    height_m = dive.surface_elevation_m
    above = (
        _("{elevation} ({in_feet}) above sea level").format(
            elevation=_METRIC.elevation(height_m), in_feet=_IMPERIAL.elevation(height_m)
        )
        if height_m
        else ""
    )
    words = [dive.site.name if dive.site else "", position_words(dive), above]
    return ", ".join(word for word in words if word) or _("not recorded")


def _company(dive: Dive) -> str:
    recorders = ", ".join(dict.fromkeys(r.recorder for r in dive.recordings if r.recorder))
    recorded = _("; recorded by {recorders}").format(recorders=recorders) if recorders else ""
    return f"{', '.join(dive.buddies) or _('buddy not recorded')}{recorded}"


def _mended(view: DiveView) -> str:
    what = "; ".join(dict.fromkeys(mended.words.rstrip(".") for mended in view.mended))
    return _("the profile is as recorded; the figures rest on a mended copy: {what}").format(what=what)


def _remarks(view: DiveView) -> str:
    remarks = view.profile.remarks if view.profile else ()
    return "; ".join(f"{spoken_time(remark.time_s)} {remark.text}" for remark in remarks if remark.text)


def _flags(view: DiveView) -> Iterator[str]:
    analysis = view.analysis
    if analysis.estimate:
        yield _("no samples")
    if analysis.fast_ascents:
        fastest = max(fast.rate_m_min for fast in analysis.fast_ascents)
        yield _("FAST ascent {rate}").format(rate=_METRIC.rate(fastest))
    if analysis.required_stops:
        yield _("stops required") + (", MISSED" if analysis.missed.any else "")
