"""A dive against its plan: the line that is kept, where it is laid, and what is said of the difference.

The profiles are drawn by hand, so that every figure can be read off them.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.dive_plan import Leg, PlanConditions, planned
from logbook_app.analysis.dive_view import DiveView
from logbook_app.analysis.gas_use import gas_use
from logbook_app.analysis.planned_and_dived import (
    against_plan_words,
    line_of,
    planned_and_dived,
    planned_as_recording,
    planned_words,
)
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.planned_line import PlannedLine
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.gradient_factors import GradientFactors

AT = datetime(2026, 6, 14, 9, tzinfo=UTC)
METRIC = SpokenUnits("metric")
RULES = Rules(GradientFactors(0.4, 0.85))
LINE = PlannedLine(AT, (0, 1, 30, 32), (0, 20, 20, 0), 1500.0)


def dived(times_min: list[float], depths_m: list[float], **fields: object) -> DiveView:
    time_s = np.arange(0.0, times_min[-1] * 60 + 1, 10.0)
    profile = Profile(time_s, np.interp(time_s, np.array(times_min) * 60, depths_m))
    dive = Dive(began_at=AT, duration_min=times_min[-1], max_depth_m=max(depths_m))
    dive = replace(dive, **fields)  # type: ignore[arg-type]
    analysis = analyse(dive, profile, nothing_carried(dive), RULES)
    return DiveView(dive, profile, analysis, gas_use(dive, profile), (), RULES)


@pytest.mark.law
def test_the_line_of_a_plan_is_the_plan() -> None:
    """Every step's end is a point of it, and the gas is the sum of what the steps take."""
    conditions = PlanConditions(cylinders=(Cylinder(AIR, 12.0, 200.0),))
    dive = conditions.dive(AT, 1.01325)
    plan = planned([Leg(30.0, 20.0), Leg(12.0, 10.0)], dive, nothing_carried(dive), RULES, 20.0)
    line = line_of(plan)
    assert line.run_time_min == pytest.approx(plan.run_time_min)
    assert line.max_depth_m == 30.0
    assert line.gas_l == pytest.approx(sum(step.gas_l or 0.0 for step in plan.steps))
    assert set(zip(line.time_min, line.depth_m, strict=True)) >= {
        (step.ended_min, step.to_m) for step in plan.steps if step.minutes
    }


def test_a_dive_as_planned_says_so() -> None:
    told = planned_and_dived(LINE, dived([0, 1, 30, 32], [0, 20, 20, 0]))
    assert list(against_plan_words(told, METRIC)) == [
        "Greatest depth: as planned.",
        "Time: as planned.",
        f"Never more than {METRIC.depth(1.0)} deeper than the plan at the same time.",
    ]


def test_deeper_and_longer_are_told_with_when_and_how_much() -> None:
    """Five minutes at 24 m, a minute down to it and one up; the way up begins ten minutes late."""
    view = dived([0, 1, 10, 11, 16, 17, 40, 42], [0, 20, 20, 24, 24, 20, 20, 0])
    told = planned_and_dived(LINE, view)
    assert told.deeper_m == 4.0
    assert told.longer_min == 10.0
    assert told.most_deeper_m == pytest.approx(20.0)  # at 32 min the plan is at the surface
    assert told.most_deeper_at_s == pytest.approx(32 * 60)
    over_24_min, late_min = 5 + 2 * 0.75, 2 - 0.1
    assert told.minutes_deeper == pytest.approx(over_24_min + late_min, abs=0.5)
    words = list(against_plan_words(told, METRIC))
    assert words[0] == f"Greatest depth: {METRIC.depth(4.0)} deeper than planned."
    assert words[1] == "Time: 10 min longer than planned."
    assert words[2].endswith(f"at most {METRIC.depth(20.0)}, at 32:00.")


def test_both_are_laid_to_leave_the_surface_together() -> None:
    """A recorder that was switched on three minutes before the diver went down."""
    view = dived([0, 3, 4, 33, 35], [0, 0, 20, 20, 0])
    laid = planned_as_recording(LINE, view)
    assert laid.time_s[0] == pytest.approx(180.0, abs=10.0)
    assert planned_and_dived(LINE, view).minutes_deeper == 0.0
    assert planned_and_dived(LINE, view).longer_min == pytest.approx(3.0)


def test_gas_is_told_where_both_are_known() -> None:
    cylinders = (Cylinder(AIR, 12.0, 200.0, 60.0),)
    told = planned_and_dived(LINE, dived([0, 1, 30, 32], [0, 20, 20, 0], cylinders=cylinders))
    used_l = gas_use(*_of(cylinders)).used_l
    assert used_l is not None
    assert told.gas_more_l == pytest.approx(used_l - 1500.0)
    assert "more than planned" in list(against_plan_words(told, METRIC))[-1]
    unknown = replace(LINE, gas_l=None)
    assert (
        planned_and_dived(unknown, dived([0, 1, 30, 32], [0, 20, 20, 0], cylinders=cylinders)).gas_more_l
        is None
    )


def _of(cylinders: tuple[Cylinder, ...]) -> tuple[Dive, Profile | None]:
    view = dived([0, 1, 30, 32], [0, 20, 20, 0], cylinders=cylinders)
    return view.dive, view.profile


def test_a_dive_without_samples_has_depth_and_time_alone() -> None:
    view = dived([0, 1, 30, 32], [0, 20, 20, 0])
    told = planned_and_dived(LINE, replace(view, profile=None))
    assert told.minutes_deeper is None
    assert list(against_plan_words(told, METRIC)) == ["Greatest depth: as planned.", "Time: as planned."]


def test_a_plan_in_a_few_words() -> None:
    gas = METRIC.gas_volume(1500.0)
    assert (
        planned_words(LINE, METRIC) == f"{METRIC.depth(20.0)}, 32 min from the surface and back, {gas} of gas"
    )
    assert planned_words(replace(LINE, gas_l=None), METRIC).endswith("from the surface and back")


@pytest.mark.parametrize(
    ("times", "depths", "gas_l"),
    [
        ((0.0,), (0.0,), None),
        ((0.0, 1.0), (0.0,), None),
        ((0.0, 0.0), (0.0, 5.0), None),
        ((0.0, float("nan")), (0.0, 5.0), None),
        ((0.0, 1.0), (0.0, -5.0), None),
        ((0.0, 1.0), (0.0, 5.0), float("inf")),
    ],
)
def test_what_is_no_line_is_refused(
    times: tuple[float, ...], depths: tuple[float, ...], gas_l: float
) -> None:
    with pytest.raises(RefusedRecord, match="planned line"):
        PlannedLine(AT, times, depths, gas_l)
