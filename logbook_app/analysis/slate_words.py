"""A plan as a card has it: one line for each depth at which time is spent, and what the card rests on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from logbook_app.analysis.dive_plan import DivePlan, Doing, Step
from logbook_app.analysis.physics_sentences import gas_words
from logbook_app.analysis.plan_words import run_time
from logbook_app.analysis.spoken_times import moment
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.language import _, later, number
from logbook_app.physics.breathing_gas import AIR

_STOPS: Final = {
    Doing.STOP: later("{depth}, required stop"),
    Doing.SAFETY_STOP: later("{depth}, safety stop"),
}


@dataclass(frozen=True, slots=True)
class SlateLine:
    """One depth: how long there, the run time at which it ends, and what is breathed.

    changes   True where the gas is another than before
    """

    place: str
    minutes: str
    until: str
    gas: str
    changes: bool = False


def slate_lines(plan: DivePlan, units: SpokenUnits) -> Iterator[SlateLine]:
    """Yield the plan from its first depth to the surface; the way to a leg is in the leg's minutes."""
    steps, breathed = plan.steps, plan.steps[0].cylinder
    for at, step in enumerate(steps):
        following = steps[at + 1] if at + 1 < len(steps) else None
        changes, breathed = step.cylinder != breathed, step.cylinder
        gas = gas_words(plan.dive.cylinders[step.cylinder].gas or AIR)
        if step.doing is Doing.UP:
            if changes:
                place = _("{depth}, change of gas").format(depth=units.depth(step.from_m))
                began = run_time(steps[at - 1])
                yield SlateLine(place, "", began, gas, changes)
            if following is None:
                yield SlateLine(_("surface"), "", run_time(step), "")
            continue
        if step.doing is Doing.DOWN and following and following.doing is Doing.LEVEL:
            continue  # in the minutes of the depth that it leads to
        depth = units.depth(step.to_m)
        place = _(_STOPS[step.doing]).format(depth=depth) if step.doing in _STOPS else depth
        yield SlateLine(place, _minutes(steps, at), run_time(step), gas, changes)


def slate_start(plan: DivePlan) -> str:
    """Return when the plan begins, and that it holds for no other start."""
    return _("For a start on {moment}, after the dives in the logbook.").format(
        moment=moment(plan.dive.began_local)
    )


def slate_model(plan: DivePlan) -> str:
    """Return what the figures rest on, and how far they reach."""
    return _(
        "ZH-L16C with gradient factors {factors}. These figures hold for these depths, times and gases "
        "alone; deeper, longer or sooner is another dive."
    ).format(factors=plan.rules.factors.name)


def _minutes(steps: tuple[Step, ...], at: int) -> str:
    """Return the minutes at a depth; those of a leg with the way to it."""
    step = steps[at]
    way = steps[at - 1] if at and step.doing is Doing.LEVEL else None
    with_way = way is not None and way.doing in (Doing.DOWN, Doing.UP)
    minutes = step.minutes + (way.minutes if way and with_way else 0.0)
    return number(round(minutes, 1), "g") + " min"
