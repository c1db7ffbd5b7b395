"""What a plan says, in words: its lines, its gas, and where it goes beyond what this program can judge."""

from __future__ import annotations

from collections.abc import Iterator

from logbook_app.analysis.dive_plan import CylinderPlan, DivePlan, Doing, Step
from logbook_app.analysis.next_dive import LEAST_OXYGEN_BAR
from logbook_app.analysis.physics_sentences import gas_words
from logbook_app.analysis.spoken_units import SpokenUnits, percent, spoken_duration, spoken_time
from logbook_app.language import _, later, number
from logbook_app.physics.equivalent_depths import HIGHEST_PPO2_LIMIT_BAR
from logbook_app.physics.gas_density import HIGHEST_DENSITY_G_L

RECREATIONAL_DEPTH_M = 40.0
RECREATIONAL_PPO2_BAR = 1.4

CAUTION = later(
    "A reckoning at the desk, not advice under water: it knows nothing of cold, work, current or you. Your "
    "training, the local rules and a physician come first."
)
SHORT_CAUTION = later("A reckoning at the desk, not advice under water.")
_DOINGS = {
    Doing.DOWN: later("down to {depth}"),
    Doing.LEVEL: later("at {depth}"),
    Doing.UP: later("up to {depth}"),
    Doing.STOP: later("required stop at {depth}"),
    Doing.SAFETY_STOP: later("safety stop at {depth}"),
}


def step_words(step: Step, units: SpokenUnits) -> str:
    """Return what the diver does in a step."""
    return _(_DOINGS[step.doing]).format(depth=units.depth(step.to_m))


def beyond_training(plan: DivePlan) -> list[str]:
    """Return what of a plan needs training that this program cannot judge, a sentence each."""
    analysis, found = plan.analysis, []
    if analysis.max_depth_m > RECREATIONAL_DEPTH_M:
        found.append(_("It goes beyond 40 m."))
    if plan.stops.stops:
        found.append(_("The model requires stops on the way up."))
    if analysis.ppo2_max_bar > HIGHEST_PPO2_LIMIT_BAR + 1e-6:
        found.append(
            _("The oxygen pressure goes above 1.6 bar, beyond every published limit: change gas or depth.")
        )
    elif analysis.ppo2_max_bar > RECREATIONAL_PPO2_BAR + 1e-6:
        found.append(_("The oxygen pressure goes above 1.4 bar."))
    if float(analysis.series.ppo2_bar.min()) < LEAST_OXYGEN_BAR:
        found.append(_("The gas has too little oxygen to be breathed at its shallowest."))
    if analysis.density_max_g_l > HIGHEST_DENSITY_G_L:
        found.append(_("The gas is denser than the published guidance allows."))
    if not found:
        return []
    return [*found, _("That needs training which this program cannot judge; without it, plan less.")]


def cylinder_words(plan: CylinderPlan, units: SpokenUnits) -> Iterator[str]:
    """Yield what one cylinder has to give and when it is due."""
    name = gas_words(plan.gas)
    if not plan.needed_l and not plan.reserve_l:
        yield _("{gas}: not breathed in this plan").format(gas=name)
        return
    yield _("{gas}: {needed} for the plan, {reserve} shared reserve").format(
        gas=name, needed=units.gas_volume(plan.needed_l), reserve=units.gas_volume(plan.reserve_l)
    )
    if plan.held_l is None:
        yield _("its volume and pressure are not known, so no pressures follow")
        return
    if plan.enough:
        yield _("it is enough")
    else:
        yield _("it is NOT enough: the cylinder holds {held}").format(held=units.gas_volume(plan.held_l))
    turns = plan.turn_bar is not None and plan.reserve_l > 0  # by a gas of the way up alone nobody turns
    if turns and plan.reserve_bar is not None:
        yield _("the way up begins by {pressure}").format(pressure=units.pressure(plan.reserve_bar))
    if turns and plan.turn_bar is not None:
        yield _("turn at {pressure} where the way back is the way out").format(
            pressure=units.pressure(plan.turn_bar)
        )
    if plan.end_bar is not None:
        yield _("{pressure} left by the plan").format(pressure=units.pressure(plan.end_bar))


def plan_facts(plan: DivePlan) -> list[tuple[str, str]]:
    """Return the figures of a plan, a heading and words each."""
    analysis = plan.analysis
    longest = plan.along.longest
    to_surface = spoken_duration(longest.time_to_surface_min) if longest else _("beyond a day")
    return [
        (_("Run time"), spoken_duration(round(plan.run_time_min, 6))),
        (_("Required stops"), spoken_duration(plan.stops.stop_min) if plan.stops.stops else _("none")),
        (_("Longest way up"), to_surface),
        (_("Least no-stop time"), _no_stop(analysis.no_stop_least_min)),
        (_("Load at surfacing"), percent(analysis.load_end)),
        (_("Highest oxygen pressure"), number(analysis.ppo2_max_bar, ".2f") + " bar"),
        (_("Oxygen clock"), percent(analysis.cns_fraction)),
        (_("Oxygen units"), f"{analysis.otu:.0f} OTU"),
        (_("Gas density"), number(analysis.density_max_g_l, ".1f") + " g/L"),
    ]


def run_time(step: Step) -> str:
    """Return the run time at the end of a step: `18:00`."""
    return spoken_time(round(step.ended_min * 60))


def _no_stop(minutes: float | None) -> str:
    return _("no limit") if minutes is None else spoken_duration(minutes)
