"""The page between dives as words and lines, without a window: a plain function of the logbook's state.

`surface_sheet` runs in the worker. What changes from second to second comes from
`SurfaceSheet.figures_at`, which only reads the clock, so that the drawing thread works nothing out.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Any

from logbook_app.analysis.chart_series import tide_curve
from logbook_app.analysis.next_dive import NextDive
from logbook_app.analysis.spoken_times import clock_time
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration
from logbook_app.analysis.surface_state import FlyTime, SurfaceState
from logbook_app.logbook import SurfaceView
from logbook_app.physics.flying_after_diving import FlyingRule
from logbook_app.physics.residual_load import CLEAR_LOAD
from logbook_app.screens import wording
from logbook_app.screens.tide_lines import Mark, TideLines, load_scale

# The curve stays on the page this long after its last mark; then a sentence says enough.
CURVE_KEPT = timedelta(hours=24)

RULE_WORDS = {
    FlyingRule.SINGLE_DIVE: "12 h after one dive",
    FlyingRule.SEVERAL_DIVES: "18 h after several dives",
    FlyingRule.REQUIRED_STOPS: "24 h after required stops",
}


@dataclass(frozen=True, slots=True)
class Figure:
    """One large figure: its label, itself, a smaller one beside it, and what it rests on."""

    label: str
    value: str
    beside: str
    detail: str


@dataclass(frozen=True, slots=True)
class Rung:
    """One compartment: its half-time as printed, its load now and at surfacing [fraction]."""

    half_time: str
    load: float
    at_surfacing: float


@dataclass(frozen=True, slots=True)
class LimitsTable:
    """No-stop times by depth, now and an hour later."""

    heading: str
    rows: tuple[tuple[str, str, str], ...]
    note: str


@dataclass(frozen=True, slots=True)
class SurfaceSheet:
    """Everything the Surface room shows.

    tide   None where there is no dive, or the last one is long past
    """

    dived: bool
    last_line: str
    state_line: str
    look_here: str
    tide: TideLines | None
    rungs: tuple[Rung, ...]
    ladder_line: str
    limits: LimitsTable
    state: SurfaceState
    units: SpokenUnits

    def figures_at(self, now: datetime) -> tuple[Figure, ...]:
        """Return the four figures at an instant; the clock decides the interval and the wait."""
        state = self.state
        if state.last_ended_at is None:
            return ()
        return (
            _interval(state.last_ended_at, now),
            _load(state, now),
            _fly(state.fly, now, self.units),
            _oxygen(state),
        )


def surface_sheet(logbook: Any, now: datetime) -> SurfaceSheet:
    """Return the page for the clock on the dock; `now` is aware and in its zone."""
    view: SurfaceView = logbook.surface_view(now)
    units = SpokenUnits(logbook.settings().units)
    state = view.state
    return SurfaceSheet(
        dived=state.last_dive_id is not None,
        last_line=_last_line(view, now, units),
        state_line=_state_line(state, now),
        look_here=_look_here(state),
        tide=_tide(view, now),
        rungs=tuple(
            Rung(wording.half_time(float(half)), float(load), float(before))
            for half, load, before in zip(
                state.half_time_min, state.load, state.load_at_surfacing, strict=True
            )
        ),
        ladder_line=_ladder_line(state),
        limits=limits_table(view.limits_now, view.limits_later, units, view.rules.factors.name),
        state=state,
        units=units,
    )


def limits_table(now: NextDive, later: NextDive, units: SpokenUnits, factors: str) -> LimitsTable:
    """Return the table of no-stop times; a depth beyond the gas says so instead of a time."""
    rows = tuple(
        (
            units.round_depth(row.depth_m),
            "beyond the gas" if row.beyond_gas else wording.no_stop(row.no_stop_min),
            "" if row.beyond_gas else wording.no_stop(after.no_stop_min),
        )
        for row, after in zip(now.rows, later.rows, strict=True)
    )
    return LimitsTable(
        heading=f"No-stop time on the next dive · {now.gas.name} · {factors}",
        rows=rows,
        note=f"ZH-L16C with gradient factors {factors}, at once to depth, no reserve for error.",
    )


def _last_line(view: SurfaceView, now: datetime, units: SpokenUnits) -> str:
    dive = view.last
    if dive is None:
        return ""
    count = view.state.dives_today
    which = f"Last dive, {count} today" if count > 1 else "Last dive"
    gas = dive.cylinders[0].gas if dive.cylinders else None
    parts = [
        which,
        dive.site.name if dive.site else "",
        wording.unbroken(f"{units.depth(dive.max_depth_m)}, {dive.duration_min:.0f} min"),
        gas.name if gas else "gas not recorded, air assumed",
        f"surfaced {wording.surfaced(dive, now)}",
    ]
    return " · ".join(part for part in parts if part)


def _state_line(state: SurfaceState, now: datetime) -> str:
    if state.clear_at is None:
        return ""
    when = wording.day_and_time(_local(state.clear_at, now), now)
    limit = f"every compartment at or under {percent(CLEAR_LOAD)} of its surfacing limit"
    return f"Clear since {when}: {limit}." if state.clear else f"Clear from {when}: {limit}."


def _look_here(state: SurfaceState) -> str:
    if state.rests_on_estimate:
        return "Estimate: a recent dive has no samples and was taken as square at its greatest depth."
    return ""


def _interval(ended_at: datetime, now: datetime) -> Figure:
    minutes = (now - ended_at).total_seconds() / 60
    since = wording.day_and_time(_local(ended_at, now), now)
    return Figure("Surface interval", spoken_duration(minutes), "", f"since {since}")


def _load(state: SurfaceState, now: datetime) -> Figure:
    half = wording.unbroken(f"{state.half_time_min[state.leading_compartment]:g} min")
    second_line = f"{percent(float(state.load_at_surfacing.max()))} at surfacing"
    if state.clear_at is not None and state.clear_at <= now:
        second_line = f"clear since {wording.day_and_time(_local(state.clear_at, now), now)}"
    return Figure(
        "Residual load",
        percent(state.load_now),
        "",
        f"leading: half-time {half}\n{second_line}",
    )


def _fly(fly: FlyTime | None, now: datetime, units: SpokenUnits) -> Figure:
    if fly is None:
        return Figure("Time to fly", "none", "", "no dive to wait for")
    cabin = f"cabin {units.elevation(fly.elevation_m)}"
    if fly.at is None:
        return Figure("Time to fly", "none", "", f"{cabin}\nnever tolerated by the model")
    when = wording.day_and_time(_local(fly.at, now), now)
    over = "wait over since" if fly.at <= now else "from"
    detail = f"{over} {when}, {cabin}\n{_governing(fly)}"
    return Figure("Time to fly", wording.remaining(fly.at, now), "", detail)


def _governing(fly: FlyTime) -> str:
    if fly.governed_by == "guideline":
        return f"{RULE_WORDS[fly.guideline_rule]} (guideline)"
    return {"model": "every compartment tolerates the cabin (model)", "table": "US Navy table"}[
        fly.governed_by
    ]


def _oxygen(state: SurfaceState) -> Figure:
    return Figure(
        "Oxygen (CNS) · OTU",
        percent(state.cns_fraction),
        f"· {state.otu_today:.0f}",
        "OTU of today\nCNS halves every 90 min at the surface",
    )


def _ladder_line(state: SurfaceState) -> str:
    if state.last_dive_id is None:
        return ""
    leading = state.leading_compartment
    half = wording.half_time(float(state.half_time_min[leading]))
    return f"Compartment {leading + 1} leads: half-time {half} min, {percent(state.load_now)} of the limit."


def _tide(view: SurfaceView, now: datetime) -> TideLines | None:
    state, curve = view.state, tide_curve(view.state, view.rules)
    if curve is None or state.last_ended_at is None or state.clear_at is None or state.fly is None:
        return None
    if now > max(state.clear_at, state.fly.at or state.clear_at) + CURVE_KEPT:
        return None
    top, grid = load_scale(float(curve.load.max()))
    return TideLines(
        minutes=tuple(curve.minutes.tolist()),
        load=tuple(curve.load.tolist()),
        began_local=_local(state.last_ended_at, now),
        top=top,
        grid=grid,
        marks=_marks(state, state.last_ended_at, state.clear_at, state.fly, now),
    )


def _marks(
    state: SurfaceState, ended_at: datetime, clear_at: datetime, fly: FlyTime, now: datetime
) -> tuple[Mark, ...]:
    def minutes(instant: datetime) -> float:
        return (instant - ended_at).total_seconds() / 60

    def when(instant: datetime) -> str:
        return wording.day_and_time(_local(instant, now), now)

    marks = [
        Mark(minutes(now), f"now {clock_time(now)}", f"{percent(state.load_now)} of the limit", True),
        Mark(minutes(clear_at), f"clear {when(clear_at)}", f"all at or under {percent(CLEAR_LOAD)}"),
    ]
    if fly.at is not None:
        marks.insert(1, Mark(minutes(fly.at), f"fly from {when(fly.at)}", _governing(fly)))
    return tuple(marks)


def _local(instant: datetime, now: datetime) -> datetime:
    zone: tzinfo | None = now.tzinfo
    return instant.astimezone(zone)
