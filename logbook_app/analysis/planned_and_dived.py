"""A plan laid over the dive that was then made: the line, and how far the dive went from it.

Both are laid so that they leave the surface together. What differs is said and not judged: a diver may have
every reason to leave a plan.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from logbook_app.analysis.dive_plan import DivePlan
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.other_recording import OtherRecording
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_duration, spoken_time
from logbook_app.dive.planned_line import PlannedLine
from logbook_app.language import _
from logbook_app.physics.dive_bounds import SURFACE_DEPTH_M
from logbook_app.physics.units import FloatArray

THE_PLAN: Final = "plan"
"""Stands for a plan where recordings are told apart by their fingerprint."""

DEEPER_M: Final = 1.0
"""A dive is deeper than planned from here on: nobody holds a straight line to the decimetre.
Common practice, no source."""


@dataclass(frozen=True, slots=True)
class PlannedAndDived:
    """How far a dive went from its plan.

    deeper_m           greatest depth, dived less planned [m]
    longer_min         dived less planned [min]
    minutes_deeper     deeper than the plan at the same time by more than `DEEPER_M`, while the plan lasts;
                       None without samples [min]
    most_deeper_m      the most that was, and when, on the clock of the dive; None where never [m], [s]
    gas_more_l         breathed less planned; None where one of the two is not known [L]
    """

    deeper_m: float
    longer_min: float
    minutes_deeper: float | None = None
    most_deeper_m: float | None = None
    most_deeper_at_s: float | None = None
    gas_more_l: float | None = None


def line_of(plan: DivePlan) -> PlannedLine:
    """Return the line of a plan, to be kept with the dive that follows."""
    ends = [(step.ended_min, step.to_m) for step in plan.steps if step.minutes > 0]
    times, depths = zip((0.0, 0.0), *ends, strict=True)
    gases = [step.gas_l for step in plan.steps]
    gas_l = None if any(gas is None for gas in gases) else sum(gas for gas in gases if gas is not None)
    return PlannedLine(plan.dive.began_at, times, depths, gas_l)


def planned_and_dived(line: PlannedLine, view: DiveView) -> PlannedAndDived:
    """Return how far a dive went from the line that was planned for it.

    Without samples only depth, time and gas can be told.
    """
    dive, gas_l = view.dive, view.gas.used_l
    more_l = None if gas_l is None or line.gas_l is None else gas_l - line.gas_l
    ends = PlannedAndDived(
        dive.max_depth_m - line.max_depth_m, dive.duration_min - line.run_time_min, gas_more_l=more_l
    )
    if view.profile is None:
        return ends
    time_s, depth_m = view.analysis.series.time_s, view.analysis.series.depth_m
    plan_s = time_s - _leaves_s(time_s, depth_m)
    over_m = np.where(plan_s <= line.run_time_min * 60, depth_m - np.interp(plan_s, *_points(line)), 0.0)
    both = (over_m[1:] > DEEPER_M) & (over_m[:-1] > DEEPER_M)
    minutes, at = float(np.diff(time_s)[both].sum()) / 60, int(over_m.argmax())
    if over_m[at] <= DEEPER_M:
        return replace(ends, minutes_deeper=0.0)
    return replace(
        ends,
        minutes_deeper=minutes,
        most_deeper_m=float(over_m[at]),
        most_deeper_at_s=float(time_s[at]),
    )


def planned_as_recording(line: PlannedLine, view: DiveView) -> OtherRecording:
    """Return a planned line to be laid over a dive's chart like another recording."""
    time_s, depth_m = _points(line)
    series = view.analysis.series
    return OtherRecording(
        fingerprint=THE_PLAN,
        words=_("The plan"),
        time_s=time_s + (_leaves_s(series.time_s, series.depth_m) if view.profile else 0.0),
        depth_m=depth_m,
        clock_words=_("Laid so that plan and dive leave the surface together."),
    )


def planned_words(line: PlannedLine, units: SpokenUnits) -> str:
    """Return a plan in a few words: depth, run time and gas."""
    said = _("{depth}, {time} from the surface and back").format(
        depth=units.depth(line.max_depth_m), time=spoken_duration(line.run_time_min)
    )
    if line.gas_l is None:
        return said
    return _("{plan}, {gas} of gas").format(plan=said, gas=units.gas_volume(line.gas_l))


def against_plan_words(told: PlannedAndDived, units: SpokenUnits) -> Iterator[str]:
    """Yield how the dive went against its plan, a sentence each."""
    yield _("Greatest depth: {apart}.").format(apart=_depth_apart(told.deeper_m, units))
    yield _("Time: {apart}.").format(apart=_time_apart(told.longer_min))
    if told.most_deeper_m is not None and told.most_deeper_at_s is not None:
        yield _(
            "More than {limit} deeper than the plan at the same time for {time}, at most {most}, at {at}."
        ).format(
            limit=units.depth(DEEPER_M),
            time=spoken_duration(told.minutes_deeper or 0.0),
            most=units.depth(told.most_deeper_m),
            at=spoken_time(told.most_deeper_at_s),
        )
    elif told.minutes_deeper is not None:
        yield _("Never more than {limit} deeper than the plan at the same time.").format(
            limit=units.depth(DEEPER_M)
        )
    if told.gas_more_l is not None:
        yield _("Gas: {apart}.").format(apart=_gas_apart(told.gas_more_l, units))


def _points(line: PlannedLine) -> tuple[FloatArray, FloatArray]:
    return np.array(line.time_min) * 60, np.array(line.depth_m)


def _leaves_s(time_s: FloatArray, depth_m: FloatArray) -> float:
    """Return when the diver leaves the surface: the last sample at it before one under water. [s]"""
    under = np.flatnonzero(depth_m > SURFACE_DEPTH_M)
    return float(time_s[max(0, under[0] - 1)]) if under.size else 0.0


def _depth_apart(deeper_m: float, units: SpokenUnits) -> str:
    apart = units.depth(abs(deeper_m))
    if apart == units.depth(0.0):
        return _("as planned")
    return (_("{apart} deeper than planned") if deeper_m > 0 else _("{apart} shallower than planned")).format(
        apart=apart
    )


def _time_apart(longer_min: float) -> str:
    if abs(longer_min) < 0.5:
        return _("as planned")
    words = _("{apart} longer than planned") if longer_min > 0 else _("{apart} shorter than planned")
    return words.format(apart=spoken_duration(round(abs(longer_min))))


def _gas_apart(more_l: float, units: SpokenUnits) -> str:
    words = _("{apart} more than planned") if more_l > 0 else _("{apart} less than planned")
    return words.format(apart=units.gas_volume(abs(more_l)))
