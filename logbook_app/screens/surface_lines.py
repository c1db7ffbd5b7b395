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
from logbook_app.physics.residual_load import CLEAR_LOAD
from logbook_app.screens import wording
from logbook_app.screens.going_up_lines import (
    USUAL_PASS_M,
    GoingUp,
    deciding_words,
    going_up,
    stepped_pass_m,
)
from logbook_app.screens.tide_lines import Mark, TideLines, load_scale

# The curve stays on the page this long after its last mark; then a sentence says enough.
CURVE_KEPT = timedelta(hours=24)

# A low window shows every depth to 24 m and every second one below: nothing else fits beside the ladder.
FEWER_ROWS_BEYOND = 5


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

    @property
    def fewer_rows(self) -> tuple[tuple[str, str, str], ...]:
        """The rows of a low window: below the first few, every second depth."""
        return self.rows[:FEWER_ROWS_BEYOND] + self.rows[FEWER_ROWS_BEYOND + 1 :: 2]


@dataclass(frozen=True, slots=True)
class SurfaceSheet:
    """Everything the Surface room shows.

    tide        None where there is no dive, or the last one is long past
    going_up    None where there is no dive
    """

    dived: bool
    last_line: str
    state_line: str
    look_here: str
    tide: TideLines | None
    rungs: tuple[Rung, ...]
    ladder_line: str
    limits: LimitsTable
    going_up: GoingUp | None
    pass_m: float
    state: SurfaceState
    units: SpokenUnits

    @property
    def pass_words(self) -> str:
        """Elevation of the pass in the diver's units."""
        return self.units.elevation(self.pass_m)

    def figures_at(self, now: datetime) -> tuple[Figure, ...]:
        """Return the four figures at an instant; the clock decides the interval and the wait."""
        state = self.state
        if state.last_ended_at is None:
            return ()
        return (
            _interval(state, state.last_ended_at, now),
            _load(state, now),
            _fly(state.fly, now, self.units),
            _oxygen(state),
        )


def surface_sheet(logbook: Any, now: datetime, pass_m: float | None = None) -> SurfaceSheet:
    """Return the page for the clock on the dock.

    now      aware and in the zone of that clock
    pass_m   elevation of a pass that the diver may drive over, None for a usual one [m]
    """
    view: SurfaceView = logbook.surface_view(now)
    units = SpokenUnits(logbook.settings().units)
    pass_m = stepped_pass_m(USUAL_PASS_M, 0, units) if pass_m is None else pass_m
    crossing: FlyTime | None = logbook.time_to_go_up(pass_m, now)
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
        going_up=going_up(state, crossing, now, units) if state.fly and crossing else None,
        pass_m=pass_m,
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
        wording.unbroken(f"{units.depth(dive.max_depth_m)}, {spoken_duration(dive.duration_min)}"),
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


def _interval(state: SurfaceState, ended_at: datetime, now: datetime) -> Figure:
    minutes = (now - ended_at).total_seconds() / 60
    since = f"since {wording.day_and_time(_local(ended_at, now), now)}"
    group = f" · US Navy group {state.repetitive_group}" if state.repetitive_group else ""
    return Figure("Surface interval", spoken_duration(minutes), "", f"{since}{group}")


def _load(state: SurfaceState, now: datetime) -> Figure:
    half = wording.unbroken(f"{wording.half_time(float(state.half_time_min[state.leading_compartment]))} min")
    then = f"{percent(float(state.load_at_surfacing.max()))} at surfacing"
    if state.clear_at is not None and state.clear_at <= now:
        then = f"clear since {wording.soon(_local(state.clear_at, now), now)}"
    return Figure("Residual load", percent(state.load_at(now)), "", f"half-time {half} · {then}")


def _fly(fly: FlyTime | None, now: datetime, units: SpokenUnits) -> Figure:
    if fly is None:
        return Figure("Time to fly", "none", "", "no dive to wait for")
    label = f"Time to fly · cabin {units.elevation(fly.elevation_m)}"
    if fly.at is None:
        return Figure(label, "never", "", "the model does not tolerate this cabin")
    over = "wait over since" if fly.at <= now else "from"
    detail = f"{over} {wording.soon(_local(fly.at, now), now)} · by the {fly.governed_by}"
    return Figure(label, wording.remaining(fly.at, now), "", detail)


def _oxygen(state: SurfaceState) -> Figure:
    detail = f"CNS {percent(state.day_oxygen_fraction)} of 24 h limit"
    if state.pulmonary is not None:
        days = f" in {state.pulmonary.days} days" if state.pulmonary.days > 1 else ""
        dose = f"OTU {state.pulmonary.total_otu:.0f} of {state.pulmonary.allowed_otu}{days}"
        detail = f"{detail} · {wording.unbroken(dose)}"
    return Figure("Oxygen · CNS · OTU today", percent(state.cns_fraction), f"· {state.otu_today:.0f}", detail)


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
        return wording.soon(_local(instant, now), now)

    marks = [
        Mark(minutes(now), f"now {clock_time(now)}", f"{percent(state.load_now)} of the limit", True),
        Mark(minutes(clear_at), f"clear {when(clear_at)}", f"all at or under {percent(CLEAR_LOAD)}"),
    ]
    if fly.at is not None:
        marks.insert(1, Mark(minutes(fly.at), f"fly from {when(fly.at)}", deciding_words(fly)))
    return tuple(marks)


def _local(instant: datetime, now: datetime) -> datetime:
    zone: tzinfo | None = now.tzinfo
    return instant.astimezone(zone)
