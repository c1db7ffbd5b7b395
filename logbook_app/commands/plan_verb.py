"""`leadline plan`: legs, the way up, the gas it takes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from logbook_app.analysis.dive_plan import CylinderPlan, DivePlan, Leg, PlanConditions, Step
from logbook_app.analysis.plan_words import (
    CAUTION,
    beyond_training,
    cylinder_words,
    plan_facts,
    run_time,
    step_words,
)
from logbook_app.analysis.planned_and_dived import line_of
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.commands.argument_types import Elevation, Gas, Instant
from logbook_app.commands.opened import as_json, opened, print_json, print_lines
from logbook_app.commands.report_json import fly_to_json
from logbook_app.dive.cylinder import Cylinder
from logbook_app.language import _
from logbook_app.physics.breathing_gas import AIR, BreathingGas


@click.command()
@click.option(
    "--leg",
    "legs",
    nargs=2,
    type=(float, float),
    multiple=True,
    required=True,
    metavar="M MIN",
    help="Depth in metres and minutes there, the way down included; once for each leg, in order.",
)
@click.option(
    "--gas", "gases", type=Gas(), multiple=True, help="Gas of each cylinder, the first for the legs."
)
@click.option(
    "--cylinder",
    "sizes",
    nargs=2,
    type=(float, float),
    multiple=True,
    metavar="L BAR",
    help="Volume and pressure of each cylinder, in the order of the gases.",
)
@click.option("--minute-volume", type=click.FloatRange(1, 100), help="L/min; default: of your last dives.")
@click.option("--at", type=Instant(), help="When it begins; default: now.")
@click.option("--elevation", type=Elevation(), help="Of the water's surface; default: where you are.")
@click.option(
    "--slate", type=click.Path(dir_okay=False, path_type=Path), help="Write the plan as a card, too (PDF)."
)
@click.option("--keep", is_flag=True, help="Keep it on the pre-dive card, for the dive that follows.")
@as_json
@click.pass_context
def plan(
    context: click.Context,
    legs: tuple[tuple[float, float], ...],
    gases: tuple[BreathingGas, ...],
    sizes: tuple[tuple[float, float], ...],
    minute_volume: float | None,
    at: datetime | None,
    elevation: float | None,
    slate: Path | None,
    keep: bool,
    as_json: bool,
) -> None:
    """Work out a simple plan for the next dive. A reckoning at the desk, not advice under water."""
    logbook = opened(context)
    conditions = PlanConditions(at, _cylinders(gases, sizes), minute_volume, elevation)
    made = logbook.plan([Leg(*leg) for leg in legs], conditions)
    if slate is not None:
        logbook.write_slate(slate, made)
    if keep:
        logbook.pre_dive.keep_line(line_of(made), made.dive.utc_offset_min)
    if as_json:
        print_json(plan_to_json(made))
    else:
        print_lines(plan_lines(made, SpokenUnits(logbook.settings().units)))


def plan_to_json(plan: DivePlan) -> dict[str, Any]:
    """Return a plan for JSON."""
    analysis = plan.analysis
    return {
        "began_at": plan.dive.began_local.isoformat(),
        "run_time_min": plan.run_time_min,
        "steps": [_step_to_json(step, plan) for step in plan.steps],
        "required_stops": [
            {"depth_m": stop.depth_m, "minutes": stop.minutes, "gas": stop.gas.name}
            for stop in plan.stops.stops
        ],
        "safety_stop_min": plan.safety_stop.minutes if plan.safety_stop else 0,
        "time_to_surface": {
            "time_s": plan.along.time_s.tolist(),
            "minutes": [None if m != m else m for m in plan.along.time_to_surface_min.tolist()],
        },
        "cylinders": [_cylinder_to_json(cylinder) for cylinder in plan.cylinders],
        "no_stop_least_min": analysis.no_stop_least_min,
        "ceiling_max_m": analysis.ceiling_max_m,
        "ppo2_max_bar": analysis.ppo2_max_bar,
        "density_max_g_l": analysis.density_max_g_l,
        "cns_fraction": analysis.cns_fraction,
        "otu": analysis.otu,
        "load_end": analysis.load_end,
        "fly": fly_to_json(plan.fly, plan.dive.utc_offset_min),
        "beyond_training": beyond_training(plan),
        "caution": _(CAUTION),
    }


def plan_lines(plan: DivePlan, units: SpokenUnits) -> Iterator[str]:
    """Yield a plan line by line: the steps, the figures, the gas, the cautions."""
    for step in plan.steps:
        gas = (plan.dive.cylinders[step.cylinder].gas or AIR).name
        used = "" if step.gas_l is None else units.gas_volume(step.gas_l)
        yield f"{run_time(step):>7}  {step_words(step, units):<30} {gas:<12} {used:>8}"
    yield ""
    facts = plan_facts(plan)
    width = max(len(heading) for heading, _words in facts)
    yield from (f"{heading:<{width}}  {words}" for heading, words in facts)
    yield _("Time to fly: {words} after it.").format(words=plan.fly.governing_words)
    yield ""
    if not plan.cylinders:
        yield _("How much gas it takes is not known: no dive shows your minute volume; give --minute-volume.")
    for cylinder in plan.cylinders:
        yield "; ".join(cylinder_words(cylinder, units)) + "."
    yield from beyond_training(plan)
    yield _(CAUTION)


def _cylinders(
    gases: tuple[BreathingGas, ...], sizes: tuple[tuple[float, float], ...]
) -> tuple[Cylinder, ...]:
    if len(sizes) > max(len(gases), 1):
        raise click.UsageError(_("There are more cylinders than gases; name the gas of each with --gas."))
    known = gases or (AIR,)
    filled = [Cylinder(gas, *size) for gas, size in zip(known, sizes, strict=False)]
    return (*filled, *(Cylinder(gas) for gas in known[len(sizes) :]))


def _step_to_json(step: Step, plan: DivePlan) -> dict[str, Any]:
    return {
        "doing": step.doing.value,
        "began_min": step.began_min,
        "minutes": step.minutes,
        "from_m": step.from_m,
        "to_m": step.to_m,
        "gas": (plan.dive.cylinders[step.cylinder].gas or AIR).name,
        "gas_l": step.gas_l,
    }


def _cylinder_to_json(plan: CylinderPlan) -> dict[str, Any]:
    return {
        "gas": plan.gas.name,
        "needed_l": plan.needed_l,
        "reserve_l": plan.reserve_l,
        "held_l": plan.held_l,
        "reserve_bar": plan.reserve_bar,
        "turn_bar": plan.turn_bar,
        "end_bar": plan.end_bar,
        "enough": plan.enough,
    }
