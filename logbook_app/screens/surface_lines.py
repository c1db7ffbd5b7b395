"""The page between dives as words and lines, without a window: a plain function of the logbook's state.

`surface_sheet` runs in the worker. What changes from second to second comes from
`SurfaceSheet.figures_at`, which only reads the clock, so that the drawing thread works nothing out.
A sheet may show a later instant than now, as long as nothing is dived before: then all of it does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo
from typing import Any

from logbook_app.analysis.chart_series import TideCurve, tide_curve
from logbook_app.analysis.compartment_state import compartment_states
from logbook_app.analysis.next_dive import NextDive
from logbook_app.analysis.physics_sentences import gas_words, gases_of
from logbook_app.analysis.spoken_times import clock_time
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration
from logbook_app.analysis.surface_state import FlyTime, SurfaceState
from logbook_app.analysis.surface_view import left_out_words
from logbook_app.dive.record import Dive
from logbook_app.language import _
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
from logbook_app.screens.looking_ahead import handle_words
from logbook_app.screens.rung_lines import rung_words
from logbook_app.screens.tide_lines import Mark, TideLines, load_scale

# Who is clear, may fly and has not dived for so long is told so, and offered the last dives.
RESTED_AFTER = timedelta(hours=48)
LAST_DIVES = 3

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
    """One compartment: half-time as printed, load now and at surfacing [fraction], all of it in words."""

    half_time: str
    load: float
    at_surfacing: float
    words: str = ""


@dataclass(frozen=True, slots=True)
class LastDive:
    """One of the last dives, to be opened: where and when, and what it was."""

    dive_id: str
    heading: str
    detail: str


@dataclass(frozen=True, slots=True)
class LimitsTable:
    """No-stop times by depth, now or at the instant looked ahead to, and an hour later."""

    heading: str
    when: str
    rows: tuple[tuple[str, str, str], ...]
    note: str

    @property
    def fewer_rows(self) -> tuple[tuple[str, str, str], ...]:
        """The rows of a low window: below the first few, every second depth."""
        return self.rows[:FEWER_ROWS_BEYOND] + self.rows[FEWER_ROWS_BEYOND + 1 :: 2]


@dataclass(frozen=True, slots=True)
class SurfaceSheet:
    """Everything the Surface room shows.

    at          the later instant that is looked ahead to; None is now
    tide        None where there is no dive, or the last one is long past
    going_up    None where there is no dive
    last_dives  only where the diver has rested: two days up, clear, and free to fly
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
    at: datetime | None = None
    last_dives: tuple[LastDive, ...] = ()

    @property
    def pass_words(self) -> str:
        """Elevation of the pass in the diver's units."""
        return self.units.elevation(self.pass_m)

    def figures_at(self, now: datetime) -> tuple[Figure, ...]:
        """Return the four figures by the clock, or at the instant looked ahead to."""
        state, at = self.state, self.at or now
        if state.last_ended_at is None:
            return ()
        figures = (
            _interval(state, state.last_ended_at, at, now),
            _load(state, at, now),
            _fly(state.fly, at, now, self.units),
            _oxygen(state),
        )
        if self.at is None:
            return figures
        when = wording.unbroken(wording.soon(at, now))
        return tuple(
            replace(figure, label=_("{label} · at {when}").format(label=figure.label, when=when))
            for figure in figures
        )

    def handle_at(self, minutes: float, now: datetime) -> str:
        """Return what stands beside the line on the curve, so many minutes after surfacing."""
        tide, began = self.tide, self.state.last_ended_at
        if tide is None or began is None:
            return ""
        at = _local(began + timedelta(minutes=minutes), now)
        return handle_words(at, now, percent(tide.load_at(minutes)))


def surface_sheet(
    logbook: Any, now: datetime, pass_m: float | None = None, at: datetime | None = None
) -> SurfaceSheet:
    """Return the page for the clock on the dock.

    now      aware and in the zone of that clock
    pass_m   elevation of a pass that the diver may drive over, None for a usual one [m]
    at       a later instant in the same zone that the page is to show; None shows now
    """
    shown = at or now
    view: SurfaceView = logbook.surface_view(shown)
    units = SpokenUnits(logbook.settings().units)
    pass_m = stepped_pass_m(USUAL_PASS_M, 0, units) if pass_m is None else pass_m
    crossing: FlyTime | None = logbook.time_to_go_up(pass_m, shown)
    state = view.state
    rested = _rested(state, shown)
    return SurfaceSheet(
        dived=state.last_dive_id is not None,
        last_line=_last_line(view, now, units),
        state_line=_state_line(state, now),
        look_here=_look_here(state, logbook.dives_to_come(shown), now),
        tide=None if rested else _tide(view, now, at),
        rungs=_rungs(view, now),
        ladder_line=_ladder_line(state),
        limits=limits_table(
            view.limits_now,
            view.limits_later,
            units,
            view.rules.factors.name,
            _("at {when}").format(when=wording.soon(at, now)) if at else _("now"),
        ),
        going_up=going_up(state, crossing, now, units) if state.fly and crossing else None,
        pass_m=pass_m,
        state=state,
        units=units,
        at=at,
        last_dives=_last_dives(logbook.last_dives(LAST_DIVES), now, units) if rested else (),
    )


def limits_table(
    now: NextDive, later: NextDive, units: SpokenUnits, factors: str, when: str = "now"
) -> LimitsTable:
    """Return the table of no-stop times; a depth beyond the gas says so instead of a time.

    when   what `now` is called
    """
    rows = tuple(
        (
            units.round_depth(row.depth_m),
            _("beyond the gas") if row.beyond_gas else wording.no_stop(row.no_stop_min),
            "" if row.beyond_gas else wording.no_stop(after.no_stop_min),
        )
        for row, after in zip(now.rows, later.rows, strict=True)
    )
    return LimitsTable(
        heading=_("No-stop time on the next dive · {name} · {factors}").format(
            name=gas_words(now.gas), factors=factors
        ),
        when=when,
        rows=rows,
        note=_("ZH-L16C with gradient factors {factors}, at once to depth, no reserve for error.").format(
            factors=factors
        ),
    )


def _last_line(view: SurfaceView, now: datetime, units: SpokenUnits) -> str:
    dive = view.last
    if dive is None:
        return ""
    count = view.state.dives_today
    which = _("Last dive, {count} today").format(count=count) if count > 1 else _("Last dive")
    gas = dive.cylinders[0].gas if dive.cylinders else None
    parts = [
        which,
        dive.site.name if dive.site else "",
        wording.unbroken(f"{units.depth(dive.max_depth_m)}, {spoken_duration(dive.duration_min)}"),
        gas_words(gas) if gas else _("gas not recorded, air assumed"),
        _("surfaced {surfaced}").format(surfaced=wording.surfaced(dive, now)),
    ]
    return " · ".join(part for part in parts if part)


def _state_line(state: SurfaceState, now: datetime) -> str:
    if state.clear_at is None:
        return ""
    when = wording.day_and_time(_local(state.clear_at, now), now)
    limit = _("every compartment at or under {percent} of its surfacing limit").format(
        percent=percent(CLEAR_LOAD)
    )
    return (
        _("Clear since {when}: {limit}.").format(when=when, limit=limit)
        if state.clear
        else _("Clear from {when}: {limit}.").format(when=when, limit=limit)
    )


def _look_here(state: SurfaceState, to_come: int, now: datetime) -> str:
    """Return what the figures rest on that a diver must know."""
    estimate = _("Estimate: a recent dive has no samples and was taken as square at its greatest depth.")
    said = (left_out_words(to_come, now), estimate if state.rests_on_estimate else "")
    return " ".join(filter(None, said))


def _interval(state: SurfaceState, ended_at: datetime, at: datetime, now: datetime) -> Figure:
    minutes = (at - ended_at).total_seconds() / 60
    since = _("since {day_and_time}").format(day_and_time=wording.day_and_time(_local(ended_at, now), now))
    group = (
        " · " + _("US Navy group {group}").format(group=state.repetitive_group)
        if state.repetitive_group
        else ""
    )
    return Figure(_("Surface interval"), spoken_duration(minutes), "", f"{since}{group}")


def _load(state: SurfaceState, at: datetime, now: datetime) -> Figure:
    half = wording.unbroken(f"{wording.half_time(float(state.half_time_min[state.leading_compartment]))} min")
    then = _("{percent} at surfacing").format(percent=percent(float(state.load_at_surfacing.max())))
    if state.clear_at is not None and state.clear_at <= at:
        then = _("clear since {soon}").format(soon=wording.soon(_local(state.clear_at, now), now))
    return Figure(
        _("Residual load"),
        percent(state.load_at(at)),
        "",
        _("half-time {half} · {then}").format(half=half, then=then),
    )


def _fly(fly: FlyTime | None, at: datetime, now: datetime, units: SpokenUnits) -> Figure:
    if fly is None:
        return Figure(_("Time to fly"), _("none"), "", _("no dive to wait for"))
    label = _("Time to fly · cabin {elevation}").format(elevation=units.elevation(fly.elevation_m))
    if fly.at is None:
        return Figure(label, _("never"), "", _("the model does not tolerate this cabin"))
    over = _("wait over since") if fly.at <= at else _("from")
    detail = _("{over} {soon} · by the {governed_by}").format(
        over=over, soon=wording.soon(_local(fly.at, now), now), governed_by=_(fly.governed_by)
    )
    return Figure(label, wording.remaining(fly.at, at), "", detail)


def _oxygen(state: SurfaceState) -> Figure:
    detail = _("CNS {percent} of 24 h limit").format(percent=percent(state.day_oxygen_fraction))
    if state.pulmonary is not None:
        days = " " + _("in {days} days").format(days=state.pulmonary.days) if state.pulmonary.days > 1 else ""
        dose = _("OTU {total_otu} of {allowed_otu}{days}").format(
            total_otu=f"{state.pulmonary.total_otu:.0f}", allowed_otu=state.pulmonary.allowed_otu, days=days
        )
        detail = f"{detail} · {wording.unbroken(dose)}"
    return Figure(
        _("Oxygen · CNS · OTU today"), percent(state.cns_fraction), f"· {state.otu_today:.0f}", detail
    )


def _ladder_line(state: SurfaceState) -> str:
    if state.last_dive_id is None:
        return ""
    leading = state.leading_compartment
    half = wording.half_time(float(state.half_time_min[leading]))
    return _("Compartment {leading} leads: half-time {half} min, {percent} of the limit.").format(
        leading=leading + 1, half=half, percent=percent(state.load_now)
    )


def _rungs(view: SurfaceView, now: datetime) -> tuple[Rung, ...]:
    compartments = compartment_states(view.state, view.rules)
    return tuple(
        Rung(
            wording.half_time(each.n2_half_time_min),
            each.load,
            each.load_at_surfacing,
            rung_words(number, each, view.rules, view.state.at, now),
        )
        for number, each in enumerate(compartments, start=1)
    )


def _rested(state: SurfaceState, at: datetime) -> bool:
    """True after two days up where nothing is left to wait for."""
    if state.last_ended_at is None or state.fly is None or state.fly.at is None:
        return False
    return state.clear and state.fly.at <= at and at - state.last_ended_at >= RESTED_AFTER


def _last_dives(dives: list[Dive], now: datetime, units: SpokenUnits) -> tuple[LastDive, ...]:
    return tuple(
        LastDive(
            dive.id,
            " · ".join(
                (wording.day_and_time(dive.began_local, now), dive.site.name if dive.site else _("no place"))
            ),
            f"{units.depth(dive.max_depth_m)}, {spoken_duration(dive.duration_min)} · {gases_of(dive)}",
        )
        for dive in dives
    )


def _tide(view: SurfaceView, now: datetime, at: datetime | None) -> TideLines | None:
    """Return the curve; it does not move while the diver looks ahead, unless beyond its end."""
    state = view.state
    curve = _curve_as_far_as(view, now, at)
    if curve is None or state.last_ended_at is None or state.clear_at is None or state.fly is None:
        return None
    top, grid = load_scale(float(curve.load.max()))
    lines = TideLines(
        minutes=tuple(curve.minutes.tolist()),
        load=tuple(curve.load.tolist()),
        began_local=_local(state.last_ended_at, now),
        top=top,
        grid=grid,
        marks=(),
    )
    # To the minute: while the diver looks ahead the lines stay equal, and the curve is not drawn anew.
    up_min = (now.replace(second=0, microsecond=0) - state.last_ended_at).total_seconds() / 60
    load = state.load_now if at is None else lines.load_at(up_min)
    words = _("now {when}").format(when=clock_time(now))
    here = Mark(up_min, words, _("{load} of the limit").format(load=percent(load)), at is None)
    return replace(lines, marks=(here, *_marks(state.last_ended_at, state.clear_at, state.fly, now)))


def _curve_as_far_as(view: SurfaceView, now: datetime, at: datetime | None) -> TideCurve | None:
    curve = tide_curve(replace(view.state, at=now), view.rules)
    if curve is None or at is None or view.state.surface_interval_min is None:
        return curve
    ends = view.state.surface_interval_min > curve.minutes[-1]
    return tide_curve(view.state, view.rules) if ends else curve


def _marks(ended_at: datetime, clear_at: datetime, fly: FlyTime, now: datetime) -> tuple[Mark, ...]:
    def mark(instant: datetime, words: str, detail: str) -> Mark:
        when = wording.soon(_local(instant, now), now)
        return Mark((instant - ended_at).total_seconds() / 60, words.format(when=when), detail)

    low = _("all at or under {load}").format(load=percent(CLEAR_LOAD))
    clear = mark(clear_at, _("clear {when}"), low)
    return (clear,) if fly.at is None else (mark(fly.at, _("fly from {when}"), deciding_words(fly)), clear)


def _local(instant: datetime, now: datetime) -> datetime:
    zone: tzinfo | None = now.tzinfo
    return instant.astimezone(zone)
