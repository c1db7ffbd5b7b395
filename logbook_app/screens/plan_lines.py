"""The Plan room as words and lines, without a window. `plan_sheet` runs in the worker."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from logbook_app.analysis.dive_plan import DIVES_FOR_USUAL_GAS, DivePlan
from logbook_app.analysis.field_words import cylinder_size
from logbook_app.analysis.physics_sentences import gas_title, gas_words
from logbook_app.analysis.plan_words import (
    beyond_training,
    cylinder_words,
    plan_facts,
    run_time,
    step_words,
)
from logbook_app.analysis.section_of_dive import Section, section_of_dive
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import RefusedRecord
from logbook_app.language import _
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.screens import wording
from logbook_app.screens.next_dive_lines import Fact, NextDiveLines, next_dive_lines
from logbook_app.screens.plan_draft import PlanDraft, cylinders_of


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One step of the plan: the run time at its end, what is done, what is breathed."""

    until: str
    words: str
    gas: str


@dataclass(frozen=True, eq=False)
class PlanLines:
    """The plan, worked out.

    plan      what the card is written from
    gas       a sentence or more for each cylinder
    beyond    what needs training that this program cannot judge
    """

    plan: DivePlan
    section: Section
    steps: tuple[PlanLine, ...]
    facts: tuple[Fact, ...]
    gas: tuple[str, ...]
    fly: str
    beyond: str


@dataclass(frozen=True, eq=False)
class PlanSheet:
    """Everything the Plan room shows.

    gas       of the next dive
    held      the cylinders of the plan
    held_words   each of them in words
    usual     the minute volume of the last dives [L/min], None where none shows it
    lines     None where the plan was refused
    refusal   why, in one sentence
    """

    units: str
    ppo2_limit_bar: float
    surface_bar: float
    gas: BreathingGas
    gases: tuple[BreathingGas, ...]
    next_dive: NextDiveLines
    held: tuple[Cylinder, ...]
    held_words: tuple[str, ...]
    usual: float | None
    usual_words: str
    lines: PlanLines | None
    refusal: str


def plan_sheet(
    logbook: Any, now: datetime, at: datetime, gas: BreathingGas | None, best_for_m: float, draft: PlanDraft
) -> PlanSheet:
    """Return the page.

    now   by the clock on the dock
    at    when the dive would begin, in the same zone
    gas   of the next dive; None is that of the last one
    """
    settings, offered = logbook.settings(), logbook.suggestions()
    units = SpokenUnits(settings.units)
    held = draft.cylinders or cylinders_of(offered.last)
    table = logbook.next_dive_table(at, gas or offered.gas, best_for_m=best_for_m)
    usual = logbook.usual_minute_volume_l_min()
    lines, refusal = _worked_out(logbook, draft, held, at, units)
    return PlanSheet(
        units=settings.units,
        ppo2_limit_bar=settings.ppo2_limit_bar,
        surface_bar=table.limits.surface_bar,
        gas=table.gas,
        gases=offered.gases,
        next_dive=next_dive_lines(table, now, settings.ppo2_limit_bar, units),
        held=held,
        held_words=tuple(held_words(each, units) for each in held),
        usual=usual,
        usual_words=usual_words(draft, usual, units),
        lines=lines,
        refusal=refusal,
    )


def held_words(cylinder: Cylinder, units: SpokenUnits) -> str:
    """Return a cylinder of the plan: `Nitrox 32 · 12 L · 200 bar`."""
    volume = cylinder_size(cylinder, units) or _("volume not known")
    pressure = units.pressure(cylinder.start_bar) if cylinder.start_bar else _("pressure not known")
    if cylinder.volume_l and cylinder.start_bar and units.of.volume != "L":
        return f"{gas_title(cylinder.gas or AIR)} · {volume}"
    return f"{gas_title(cylinder.gas or AIR)} · {volume} · {pressure}"


def usual_words(draft: PlanDraft, usual_l_min: float | None, units: SpokenUnits) -> str:
    """Return where the minute volume comes from."""
    usual = None if usual_l_min is None else units.minute_volume(usual_l_min)
    if draft.minute_volume_l_min is not None:
        if usual is None:
            return _("Yours; no dive in the logbook shows it.")
        return _("Yours; the median of your last dives is {usual}.").format(usual=usual)
    if usual is None:
        return _("No dive in the logbook shows it; without it the plan has no gas.")
    return _("{usual}: the median of your last dives that show it, {most} at most.").format(
        usual=usual, most=DIVES_FOR_USUAL_GAS
    )


def _worked_out(
    logbook: Any, draft: PlanDraft, held: tuple[Cylinder, ...], at: datetime, units: SpokenUnits
) -> tuple[PlanLines | None, str]:
    try:
        return _lines(logbook.plan(draft.legs_on(held), draft.conditions(held, at)), at, units), ""
    except RefusedRecord as refusal:
        return None, str(refusal)


def _lines(plan: DivePlan, now: datetime, units: SpokenUnits) -> PlanLines:
    return PlanLines(
        plan=plan,
        section=section_of_dive(plan.dive, plan.profile, plan.analysis, units),
        steps=tuple(_step(plan, place, units) for place in range(len(plan.steps))),
        facts=tuple(Fact(label, value) for label, value in plan_facts(plan)),
        gas=tuple(_sentence("; ".join(cylinder_words(each, units))) for each in plan.cylinders),
        fly=_fly(plan, now),
        beyond=" ".join(beyond_training(plan)),
    )


def _step(plan: DivePlan, place: int, units: SpokenUnits) -> PlanLine:
    step = plan.steps[place]
    words = step_words(step, units)
    used = "" if step.gas_l is None else f" · {wording.unbroken(units.gas_volume(step.gas_l))}"
    gas = wording.unbroken(gas_words(plan.dive.cylinders[step.cylinder].gas or AIR))
    return PlanLine(run_time(step), words[0].upper() + words[1:], gas + used)


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:] + "."


def _fly(plan: DivePlan, now: datetime) -> str:
    if plan.fly.at is None:
        return _("Time to fly after it: the model does not tolerate this cabin.")
    when = wording.soon(plan.fly.at.astimezone(now.tzinfo), now)
    return _("Time to fly after it: from {when}, {rule}.").format(when=when, rule=plan.fly.governing_words)
